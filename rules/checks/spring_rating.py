"""Is the spring rated for the mass on this axle?"""

from __future__ import annotations

from rules.checking import Sheet, Verdict, check
from rules.checks.brake_parts import at_least, spread
from rules.engineering.tolerance import extremes


@check(
    "spring-rating", ("spring",),
    formula="least of axle mass - lower end and upper end - axle mass, of the spring's rated range",
    source="the spring maker's range of axle masses",
)
def spring_rating(sheet: Sheet) -> Verdict | None:
    """The axle's mass must lie in the range the spring is rated for. None: it has no such range."""
    low, high = (
        sheet.dimension("spring", name, optional=True)
        for name in ("axle_mass_from", "axle_mass_to")
    )
    if low is None or high is None:
        return None
    mass = sheet.fact("load.mass")
    if mass is None:
        return sheet.not_known()
    inside = extremes(lambda kg: min(kg - low.value, high.value - kg), spread(mass))
    return at_least(
        sheet, f"{sheet.name('spring')} is for {low} to {high} on the axle, which carries {mass}: "
        "inside the range by", inside, 0.0, "kg", digits=0, measure="mass on this axle",
    )
