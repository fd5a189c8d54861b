"""Does the caliper have room inside the wheel?"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from kb.shapes import plain
from rules.checking import Judgement, Sheet, Verdict, check
from rules.checks.tyre_sizes import spread
from rules.engineering.caliper_in_wheel import caliper_clearance
from rules.engineering.sections import Points
from rules.engineering.tolerance import Toleranced
from rules.engineering.wheels import largest_usual_disc

_clearance = lru_cache(maxsize=4096)(caliper_clearance)


class Section(NamedTuple):
    """Caliper and wheel as `caliper_clearance` takes them, mm."""

    caliper: Points
    barrel: Points
    spokes: Points
    spacer: Toleranced | None
    caliper_tolerance: float
    wheel_tolerance: float


def section(sheet: Sheet) -> Section | None:
    """The shapes compared; None, and noted, where one is not known."""
    caliper = sheet.dimension("caliper", "outline")
    barrel, spokes = (sheet.dimension("wheel", name) for name in ("barrel", "spokes"))
    loose, off = (
        sheet.dimension(kind, name, optional=True)
        for kind, name in (("caliper", "outline_tolerance"), ("wheel", "profile_tolerance"))
    )
    spacer = sheet.dimension("spacer", "thickness") if sheet.has("spacer") else None
    if sheet.missing:
        return None
    return Section(
        plain(caliper), plain(barrel), plain(spokes), spread(spacer) if spacer else None,
        loose.value if loose else 0.0, off.value if off else 0.0,
    )


@check(
    "caliper-in-wheel", ("caliper", "wheel"), modifier="spacer",
    formula="radial: least of barrel less caliper; axial: least of spoke back less caliper, "
            "spacer added",
    source="geometry, interval extremes; clearances required are the shop's limits",
)
def caliper_in_wheel(sheet: Sheet) -> Judgement:
    """The caliper must clear the barrel and the spokes; a spacer moves the wheel outboard."""
    shapes = section(sheet)
    if shapes is None:
        return sheet.not_known()
    try:
        gap = _clearance(*shapes)
    except ValueError as error:
        return sheet.not_known(f"further profile of {sheet.name('wheel')} ({error})")
    radial, axial = sheet.limit("caliper_radial").value, sheet.limit("caliper_axial").value
    return (
        sheet.clearance("caliper to the barrel", *gap.radial, radial, aspect="radial"),
        sheet.clearance("caliper to the spokes", *gap.axial, axial, aspect="axial"),
    )


@check(
    "disc-in-wheel", ("brake-disc", "wheel"), informs=True,
    formula="largest usual disc = 25.4 x rim diameter code - 102 mm",
    source="common practice, no source: 17 inch wheels take discs up to about 330 mm",
)
def usual_disc(sheet: Sheet) -> Verdict | None:
    """Information: whether the disc is of a size that a wheel of this diameter usually admits.

    The caliper outline decides; this is a plausibility note and never refuses.
    """
    disc, rim = sheet.dimension("brake-disc", "diameter"), sheet.dimension("wheel", "rim")
    if sheet.missing:
        return None
    try:
        usual = largest_usual_disc(rim.diameter_code)
    except ValueError:
        return None
    word = "within" if disc.value <= usual else "above"
    says = (
        f"a disc of {disc} is {word} what a {rim.diameter_code:g} inch wheel usually admits "
        f"(about {usual:.0f} mm); the caliper's outline decides"
    )
    return sheet.verdict("fits", says)
