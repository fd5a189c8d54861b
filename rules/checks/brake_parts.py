"""What a set of brake parts does per bar of line pressure. Read by the brake checks.

Torques are N·m of one wheel per bar, lengths mm. Everything that is missing is noted on the sheet.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import wraps
from typing import Any, NamedTuple

from kb.statements import Axle
from rules.checking import Judgement, Sheet, Verdict
from rules.engineering import brakes
from rules.engineering.tolerance import Toleranced, exactly, extremes
from rules.engineering.tyres import design_diameter

Roles = tuple[tuple[Axle | None, str], ...]
FRONT_DISC: Roles = (("front", "caliper"), ("front", "brake-disc"), ("front", "brake-pad"))
REAR_DISC: Roles = (("rear", "caliper"), ("rear", "brake-disc"), ("rear", "brake-pad"))
REAR_DRUM: Roles = (("rear", "brake-drum"), ("rear", "brake-shoe"), ("rear", "wheel-cylinder"))
TYRES: Roles = (("front", "tyre"), ("rear", "tyre"))
MASTER: Roles = ((None, "master-cylinder"),)

EDGE = Toleranced(0.0, 0.0, 0.0)
"""A pad whose gap to the disc's edge is not stated is taken to be flush with it."""


class Pistons(NamedTuple):
    """Diameters of one side's pistons, mm, and whether the other side has as many."""

    one_side: tuple[Toleranced, ...]
    both_sides: bool

    def at(self, end: str) -> list[float]:
        """All diameters at one end of their tolerance: low, nominal or high."""
        return [getattr(diameter, end) for diameter in self.one_side]


def spread(value: object) -> Toleranced:
    """A quantity of the catalogue, or a plain number, with its tolerance."""
    if isinstance(value, int | float):
        return exactly(float(value))
    low, nominal, high = (float(getattr(value, end)) for end in ("low", "value", "high"))
    return Toleranced(low, nominal, high)


def known(sheet: Sheet, role: str, name: str) -> Toleranced | None:
    """A dimension with its tolerance; None, and noted as missing, when it is not known."""
    value = sheet.dimension(role, name)
    return None if value is None else spread(value)


def pistons(sheet: Sheet, role: str) -> Pistons | None:
    """The pistons of a caliper; None when not known."""
    mounting = sheet.dimension(role, "mounting")
    listed = sheet.dimension(role, "piston_diameters", optional=True)
    if listed is None:
        count, diameter = (
            sheet.dimension(role, name) for name in ("pistons_per_side", "piston_diameter")
        )
        listed = None if count is None or diameter is None else (diameter,) * count
    if mounting is None or not listed:
        return None
    return Pistons(tuple(map(spread, listed)), mounting == "fixed")


def clamp_per_bar(sheet: Sheet, role: str) -> Toleranced | None:
    """Force in N on one pad per bar; None when not known."""
    found = pistons(sheet, role)
    if found is None:
        return None
    low, nominal, high = (
        brakes.clamp_force(1.0, found.at(end)) for end in ("low", "nominal", "high")
    )
    return Toleranced(low, nominal, high)


def bedded_radius(diameter: float, height: float, gap: float) -> float:
    """Effective radius in mm of bedded pads. Source: `brakes.effective_radius_bedded`."""
    return brakes.effective_radius_bedded(*brakes.pad_radii(diameter, height, gap))


def effective_radius(
    sheet: Sheet, disc: str, pad: str, height: str = "height", gap: str = "edge_gap"
) -> Toleranced | None:
    """Effective radius in mm of bedded pads on their disc; None when not known.

    Raises ValueError when the pads would reach the centre of the disc.
    """
    across, tall = known(sheet, disc, "diameter"), known(sheet, pad, height)
    edge = sheet.dimension(pad, gap, optional=True)
    if across is None or tall is None:
        return None
    return extremes(bedded_radius, across, tall, EDGE if edge is None else spread(edge))


def pad_ring(sheet: Sheet) -> brakes.PadRadii | None:
    """The ring that the pads of one axle rub, nominal; None when not known.

    Raises ValueError when the pads would reach the centre of the disc.
    """
    across, tall = known(sheet, "brake-disc", "diameter"), known(sheet, "brake-pad", "height")
    gap = sheet.dimension("brake-pad", "edge_gap", optional=True)
    if across is None or tall is None:
        return None
    return brakes.pad_radii(across.nominal, tall.nominal, gap.value if gap else 0.0)


def axle_torque(sheet: Sheet, axle: str) -> Toleranced | None:
    """Torque in N·m of one wheel of an axle per bar of its own line pressure, or None.

    Raises ValueError where the parts cannot work together.
    """
    prefix = f"{axle} "
    if sheet.has(f"{prefix}wheel-cylinder"):
        return _drum(sheet, prefix)
    clamp = clamp_per_bar(sheet, f"{prefix}caliper")
    friction = known(sheet, f"{prefix}brake-pad", "friction")
    radius = effective_radius(sheet, f"{prefix}brake-disc", f"{prefix}brake-pad")
    if clamp is None or friction is None or radius is None:
        return None
    return extremes(brakes.disc_torque, clamp, friction, radius)


def _drum(sheet: Sheet, prefix: str) -> Toleranced | None:
    bore = known(sheet, f"{prefix}wheel-cylinder", "bore")
    factor = known(sheet, f"{prefix}brake-shoe", "brake_factor")
    drum = known(sheet, f"{prefix}brake-drum", "diameter")
    if bore is None or factor is None or drum is None:
        return None
    push = Toleranced(*(brakes.clamp_force(1.0, [d]) for d in (bore.low, bore.nominal, bore.high)))
    return extremes(brakes.drum_torque, push, factor, drum)


def tyre_radius(sheet: Sheet, axle: Axle) -> float | None:
    """Radius in mm of the tyre in a role of this axle, else of the stock tyre; None if not known.

    Half the design diameter: the few per cent by which a loaded tyre is smaller are the same on
    both axles.
    """
    role = f"{axle} tyre"
    if sheet.has(role):
        size = sheet.dimension(role, "size")
    else:
        size = stock_on(sheet, axle, "tyre", "size")
    if size is None:
        return None
    radius = design_diameter(size.width, size.aspect, size.rim_code) / 2.0
    sheet.note(f"radius of the {axle} tyre", f"{radius:g} mm")
    return radius


def stock_on(sheet: Sheet, axle: Axle, kind: str, name: str) -> Any:
    """A dimension of the stock part of a kind on an axle of the car, or None."""
    parts = sheet.catalogue.parts
    for part in sheet.baseline.fitted_of(parts, kind, axle):
        return getattr(parts[part].dimensions, name, None)
    return None


def at_least(
    sheet: Sheet, what: str, found: Toleranced, required: float, unit: str, *,
    digits: int = 1, aspect: str = "", measure: str = "",
) -> Verdict:
    """A verdict on a value that must reach `required` even in its worst case.

    Where only the tolerances decide, what to measure is `measure`, or the value itself.
    """
    nominal, worst, least = (f"{n:.{digits}f}" for n in (found.nominal, found.low, required))
    says = f"{what}: {f'{nominal} {unit}'.rstrip()}, worst case {worst}, required {least}"
    details = {
        "margin": found.nominal, "worst_case": found.low, "required": required, "unit": unit,
        "aspect": aspect,
    }
    if _reaches(found.low, required):
        return sheet.verdict("fits", says, **details)
    if _reaches(found.nominal, required):
        gap = (measure or what,)
        return sheet.verdict("not_known", f"{says}: only measuring tells", measure=gap, **details)
    return sheet.verdict("does_not_fit", says, **details)


def _reaches(value: float, required: float) -> bool:
    return value >= required or math.isclose(value, required, rel_tol=1e-9, abs_tol=1e-9)


def out_of_range(judge: Callable[[Sheet], Judgement]) -> Callable[[Sheet], Judgement]:
    """Let a check answer "not known" where a value lies outside what its formulas are good for."""

    @wraps(judge)
    def careful(sheet: Sheet) -> Judgement:
        try:
            return judge(sheet)
        except ValueError as error:
            return sheet.verdict("not_known", f"not known: {error}", measure=(str(error),))

    return careful
