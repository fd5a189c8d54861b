"""Springs, helpers and dampers of an axle as the engineering functions take them.

Lengths are mm along the spring. Where a spring stands apart from its damper, damper travel is
turned into spring travel by their motion ratios.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

from kb.graph import graph_of, key_of, node
from kb.statements import Axle
from rules.checking import Sheet
from rules.checks.brake_parts import known, spread
from rules.engineering.coilovers import Coilover
from rules.engineering.ride import spring_load
from rules.engineering.springs import (
    Spring,
    SpringStack,
    block_length,
    coil_rate,
    least_gap_sum,
    stack_deflection,
)
from rules.engineering.tolerance import Toleranced, exactly, extremes

WIRE = ("wire", "mean_diameter", "active_coils", "total_coils")


class SpringSize(NamedTuple):
    """Free length, rate and block length of a spring, with tolerances."""

    free: Toleranced
    rate: Toleranced
    block: Toleranced


@dataclass(frozen=True)
class Strut:
    """A damper by what it gives the spring: travels and seat gaps, all in spring travel.

    `stop` is the free bump stop, `crushed` what is left of it at full compression; `per_damper`
    is spring travel over damper travel.
    """

    stroke: float
    stop: float
    crushed: float
    shortest: float
    longest: float
    per_damper: float

    def coilover(self, stack: SpringStack, load: float, bump_reserve: float) -> Coilover:
        """The strut with its perch set under a static `load` in N.

        The perch leaves `bump_reserve` (mm at the damper) to the bump stop, or stands at the end
        of its thread nearest to that: no other position leaves the coils more room.
        Raises ValueError where the load closes every coil or the springs do not go in.
        """
        compressed = self.stroke - self.stop - bump_reserve * self.per_damper
        wanted = compressed + stack.free_length - stack_deflection(stack, load)
        gap = min(max(wanted, self.shortest), self.longest)
        return Coilover(stack, gap, self.stroke, self.stop)


def spring_size(sheet: Sheet, role: str) -> SpringSize | None:
    """A spring as stated, or worked out from its wire; None, and noted, when not known."""
    free = known(sheet, role, "free_length")
    wire = None if role == "helper-spring" else wire_of(sheet, role)
    rate = _stated_or(sheet, role, "rate", wire and exactly(coil_rate(*wire[:3])))
    at_block = wire and exactly(block_length(wire[0], wire[3]))
    block = _stated_or(sheet, role, "block_length", at_block)
    if free is None or rate is None or block is None:
        return None
    return SpringSize(free, rate, block)


def _stated_or(
    sheet: Sheet, role: str, name: str, computed: Toleranced | None
) -> Toleranced | None:
    stated = sheet.dimension(role, name, optional=computed is not None)
    if stated is None and computed is not None:
        unit = "N/mm" if name == "rate" else "mm"
        sheet.note(f"{name.replace('_', ' ')} from its wire", f"{computed.nominal:.1f} {unit}")
        return computed
    return None if stated is None else spread(stated)


def wire_of(sheet: Sheet, role: str) -> tuple[float, float, float, float] | None:
    """Wire, mean diameter, active and total coils of a spring; None unless all are known."""
    found = [sheet.dimension(role, name, optional=True) for name in WIRE]
    if None in found:
        return None
    wire, mean, active, total = found
    return wire.value, mean.value, active, total


def coil_gap(sheet: Sheet) -> float:
    """Room in mm that all coils together must keep: the shop's, or more where the wire says so."""
    shop, wire = float(sheet.limit("coil_gap").value), wire_of(sheet, "spring")
    if wire is None:
        return shop
    least = least_gap_sum(*wire[:3])
    sheet.note("least sum of coil gaps by EN 13906-1", f"{least:.1f} mm")
    return max(shop, least)


def helper_of(sheet: Sheet) -> tuple[SpringSize, float] | None:
    """The helper spring and the thickness of its coupler; None, and noted, when not known."""
    size = spring_size(sheet, "helper-spring")
    coupler = sheet.dimension("helper-spring", "coupler", optional=True)
    return None if size is None else (size, coupler.value if coupler else 0.0)


def strut_of(sheet: Sheet) -> Strut | None:
    """The damper of this axle as its spring sees it; None, and noted, when not known."""
    names = ("travel", "bump_stop", "shortest_seat_gap", "longest_seat_gap")
    stroke, stop, shortest, longest = (known(sheet, "damper", name) for name in names)
    crushed = sheet.dimension("damper", "bump_stop_crushed", optional=True)
    spring, damper = (
        sheet.fact(f"suspension.{name}_motion_ratio") for name in ("spring", "damper")
    )
    if not (stroke and stop and shortest and longest and spring and damper):
        return None
    per = spring / damper
    left = crushed.value * per if crushed else 0.0
    return Strut(
        stroke.nominal * per, stop.nominal * per, left, shortest.nominal, longest.nominal, per
    )


def engine_may_change(sheet: Sheet) -> bool:
    """Whether another engine can be ordered for this car: only then is the engine compared too."""
    engines = graph_of(sheet.catalogue).into(node("kind", "engine"), "is")
    return any(_is_other_engine(sheet, key_of(edge.node)) for edge in engines)


def _is_other_engine(sheet: Sheet, part_id: str) -> bool:
    part = sheet.catalogue.parts[part_id]
    listed = not part.fits or any(sheet.baseline.applies(fits) for fits in part.fits)
    return part.orderable and listed and not sheet.baseline.is_fitted(part_id)


def axle_mass(sheet: Sheet, axle: Axle | None = None) -> Toleranced | None:
    """Mass in kg on an axle with the engine that is in; None, and noted, when not known."""
    mass = sheet.fact("load.mass", axle=axle)
    more = _engine_change(sheet, axle)
    if mass is None or more is None:
        return None
    return extremes(lambda kg: kg + more, spread(mass))


def _engine_change(sheet: Sheet, axle: Axle | None) -> float | None:
    """What another engine than the factory's adds to an axle in kg; None when not known."""
    if not sheet.has("engine") or sheet.is_stock("engine"):
        return 0.0
    new = sheet.parts["engine"][1]
    old = sheet.catalogue.parts[sheet.baseline.fitted_of(sheet.catalogue.parts, "engine")[0]]
    share = sheet.fact("suspension.engine_share", axle=axle)
    sheet.missing += [f"mass of {part.name}" for part in (new, old) if part.mass is None]
    if share is None or new.mass is None or old.mass is None:
        return None
    more = float(share * (new.mass.value - old.mass.value))
    sheet.note("change of engine, on this axle", f"{more:+.0f} kg")
    return more


def sprung_mass(sheet: Sheet, axle: Axle | None = None) -> Toleranced | None:
    """Mass in kg that one corner's spring carries; None, and noted, when not known."""
    mass, unsprung = axle_mass(sheet, axle), sheet.fact("suspension.unsprung_mass", axle=axle)
    if mass is None or unsprung is None:
        return None
    return extremes(lambda whole, off: (whole - off) / 2.0, mass, spread(unsprung))


def corner_load(sheet: Sheet) -> Toleranced | None:
    """Static load in N on one spring of this axle; None, and noted, when not known."""
    mass, ratio = sprung_mass(sheet), sheet.fact("suspension.spring_motion_ratio")
    if mass is None or ratio is None:
        return None
    return extremes(lambda kg: spring_load(kg, ratio), mass)


def stack_of(
    main: tuple[float, float, float], helper: tuple[SpringSize, float] | None
) -> SpringStack:
    """The springs from free length, rate and block length of the main one, helper nominal."""
    spring = Spring(*main)
    if helper is None:
        return SpringStack(spring)
    size, coupler = helper
    second = Spring(size.free.nominal, size.rate.nominal, size.block.nominal)
    return replace(SpringStack(spring), helper=second, coupler=coupler)
