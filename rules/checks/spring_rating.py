"""Is the spring rated for the mass on this axle?"""

from __future__ import annotations

from rules.checking import Sheet, Verdict, check
from rules.checks.brake_parts import at_least
from rules.checks.spring_parts import axle_mass, engine_may_change
from rules.engineering.tolerance import extremes

FORMULA = (
    "least of axle mass - lower end and upper end - axle mass, of the spring's rated range; "
    "another engine adds its share of the difference in engine mass"
)
SOURCE = "the spring maker's range of axle masses"


@check("spring-rating", ("spring",), formula=FORMULA, source=SOURCE)
def alone(sheet: Sheet) -> Verdict | None:
    """With the car's own engine, where no other can be ordered."""
    return None if engine_may_change(sheet) else _rated(sheet)


@check("spring-rating-engine", ("spring", "engine"), formula=FORMULA, source=SOURCE)
def with_engine(sheet: Sheet) -> Verdict | None:
    """With the engine that is in: another one changes the mass on the axle."""
    return _rated(sheet) if engine_may_change(sheet) else None


def _rated(sheet: Sheet) -> Verdict | None:
    """The axle's mass must lie in the range the spring is rated for. None: it has no such range."""
    low, high = (
        sheet.dimension("spring", name, optional=True)
        for name in ("axle_mass_from", "axle_mass_to")
    )
    if low is None or high is None:
        return None
    mass = axle_mass(sheet)
    if mass is None:
        return sheet.not_known()
    inside = extremes(lambda kg: min(kg - low.value, high.value - kg), mass)
    return at_least(
        sheet, f"{sheet.name('spring')}, for {low} to {high} on the axle, which carries "
        f"{mass.nominal:.0f} kg: inside that range", inside, 0.0, "kg", digits=0,
        measure="mass on this axle",
    )
