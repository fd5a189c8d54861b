"""Does the wheel go on the hub, and is it centred there?"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from kb.matching import same
from kb.statements import Comparison, Need
from kb.units import Quantity, parse_amount
from rules.checking import Sheet, Verdict, check
from rules.checks.tyre_sizes import spread
from rules.engineering.hubs import Ring, bore_play, centring_ring, hole_spacing
from rules.engineering.hubs import bolt_circle as circle_through
from rules.engineering.tolerance import Toleranced, exactly, extremes

ROUNDING = 0.05
"""Two stated circles are one when they differ by no more, mm: 114.3 is also written 114.30."""
TELLS_APART = 0.35
"""A measured circle is known when it is surely no further off, mm: half the least difference
between circles in use (114.3 and 115). Common practice, no source."""


class _Circle(NamedTuple):
    """A bolt circle: number of holes, diameter in mm, and whether it was worked out."""

    holes: int
    diameter: Toleranced
    worked_out: bool = False


def _circle(sheet: Sheet, whose: str, read: Callable[..., Any]) -> _Circle | None:
    """The circle stated, else the one through holes of a measured spacing."""
    stated = read("bolt_circle", optional=True)
    if stated:
        return _Circle(stated.holes, exactly(stated.diameter))
    holes, apart = read("holes", optional=True), read("hole_spacing", optional=True)
    if not holes or not apart:
        sheet.missing.append(f"bolt circle, or number and spacing of the holes, of {whose}")
        return None
    found = extremes(lambda spacing: circle_through(spacing, holes), spread(apart))
    sheet.note(f"bolt circle of {whose} from its hole spacing", _millimetres(found))
    return _Circle(holes, found, worked_out=True)


def _millimetres(value: Toleranced) -> str:
    slack = (value.high - value.low) / 2
    return f"{value.nominal:.2f}" + (f" ± {slack:.2f}" if slack else "") + " mm"


@check(
    "wheel-bolt-circle", ("wheel",), mounts=("wheel",),
    formula="same number of holes on the same circle; circle = hole spacing / sin(pi / holes)",
    source="chord of a circle; common practice, no source: holes must line up with the studs",
)
def bolt_circle(sheet: Sheet) -> Verdict:
    """The wheel's bolt circle must be the hub's; either may be known by its hole spacing."""
    try:
        wheel = _circle(sheet, sheet.name("wheel"), _of_wheel(sheet))
        hub = _circle(sheet, "the car's hub", _of_hub(sheet))
    except ValueError as error:
        return sheet.not_known(f"number and spacing of the holes ({error})")
    if wheel is None or hub is None:
        return sheet.not_known()
    if wheel.holes != hub.holes:
        return sheet.judge(False, f"the wheel has {wheel.holes} holes, the hub {hub.holes} studs")
    return _same_circle(sheet, wheel, hub)


def _of_wheel(sheet: Sheet) -> Callable[..., Any]:
    return lambda name, optional: sheet.dimension("wheel", name, optional=optional)


def _of_hub(sheet: Sheet) -> Callable[..., Any]:
    return lambda name, optional: sheet.fact(f"hub.{name}", optional=optional)


def _same_circle(sheet: Sheet, wheel: _Circle, hub: _Circle) -> Verdict:
    apart = extremes(lambda a, b: a - b, wheel.diameter, hub.diameter)
    off, most_off = abs(apart.nominal), max(abs(apart.low), abs(apart.high))
    least_off = max(0.0, apart.low, -apart.high)
    allowed = TELLS_APART if wheel.worked_out or hub.worked_out else ROUNDING
    says = (
        f"the wheel's bolt circle is {_named(wheel)}, the hub's is {_named(hub)} "
        f"({hole_spacing(hub.diameter.nominal, hub.holes):.1f} mm between neighbouring studs)"
    )
    details: dict[str, Any] = {
        "margin": allowed - off, "required": 0.0, "worst_case": allowed - most_off, "unit": "mm",
    }
    if most_off <= allowed + 1e-9:
        return sheet.judge(True, f"bolt circle {_named(wheel)} on hub {_named(hub)}", **details)
    if least_off > allowed:
        return sheet.judge(False, says, **details)
    return sheet.verdict(
        "not_known", f"{says}: too coarse to tell",
        measure=("hole spacing of wheel and hub, with a caliper gauge",), **details,
    )


def _named(circle: _Circle) -> str:
    return f"{circle.holes} x {circle.diameter.nominal:.5g}"


@check(
    "wheel-centre-bore", ("wheel",),
    formula="bore - spigot: below 0 does not go on; up to the shop's play fits; more asks for a "
            "centring ring",
    source="common practice, no source: a wheel is centred on the spigot, with a ring where larger",
)
def centre_bore(sheet: Sheet) -> Verdict:
    """A smaller bore does not go on; a larger one asks for a ring of just that size."""
    bore, spigot = sheet.dimension("wheel", "centre_bore"), sheet.fact("hub.spigot")
    if sheet.missing:
        return sheet.not_known()
    most = sheet.limit("bore_play").value
    play = extremes(bore_play, spread(bore), spread(spigot))
    details: dict[str, Any] = {
        "margin": play.nominal, "required": 0.0, "worst_case": play.low, "unit": "mm",
    }
    if same(bore, spigot):
        return sheet.judge(True, f"the bore of {bore} centres on the hub's {spigot}", **details)
    if play.nominal < 0:
        return sheet.judge(
            False, f"the bore of {bore} does not go over the hub's {spigot}", **details
        )
    if play.low < -ROUNDING / 1000:
        return sheet.verdict(
            "not_known", f"the bore of {bore} may be too small for the hub's {spigot}",
            measure=(f"centre bore of {sheet.name('wheel')} and spigot of the hub",), **details,
        )
    # A hair more than the limit, so that the unit of entry never decides.
    ring = centring_ring(bore.value, spigot.value, most + ROUNDING / 1000)
    if ring is None:
        return sheet.judge(True, f"the bore of {bore} centres on the hub's {spigot}", **details)
    sheet.note("wall of the ring", f"{ring.wall:.2f} mm")
    says = f"the bore of {bore} is larger than the hub's {spigot}: it takes a centring ring"
    return sheet.judge(True, says, needs=(_need(ring, bore, spigot),), **details)


def _need(ring: Ring, bore: Quantity, spigot: Quantity) -> Need:
    """The need of a ring that fills the gap between bore and spigot."""
    size = {
        "outer_diameter": Comparison(equals=f"{ring.outer:.6g} mm"),
        "inner_diameter": Comparison(equals=f"{ring.inner:.6g} mm"),
    }
    why = f"it centres the {bore.value:g} mm bore on the {spigot.value:g} mm hub"
    return Need(
        kind="centring-ring", match=size, each=parse_amount("1"), why=why, basis="computed"
    )
