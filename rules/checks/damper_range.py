"""Does the damper's adjuster reach the damping these springs want?"""

from __future__ import annotations

from rules.checking import Judgement, Sheet, check
from rules.checks.brake_parts import out_of_range
from rules.checks.spring_parts import spring_size, sprung_mass
from rules.engineering.ride import (
    ROAD_DAMPING,
    SPORT_DAMPING,
    DampingRange,
    damping_range,
    wheel_rate,
)


@check(
    "damping-range", ("damper", "spring"),
    formula="zeta = c·MR² / (2·sqrt(wheel rate · sprung mass)), full soft to full firm; it must "
            "overlap the shop's band",
    source="McLean & Nelson, Engineering Mechanics, Ex. 19-19 p. 478 (textbook); the bands are "
           "common practice, no source",
)
@out_of_range
def adjuster(sheet: Sheet) -> Judgement:
    """The adjuster's range against the wanted band; nothing is said of a damper not measured."""
    found = _range(sheet)
    if found is None:
        return None
    low, high = float(sheet.limit("damping_least")), float(sheet.limit("damping_most"))
    for name, band in (("road", ROAD_DAMPING), ("sport", SPORT_DAMPING)):
        span = f"{band[0]:g} to {band[1]:g}"
        sheet.note(f"of the {name} band ({span}) it covers", f"{found.overlap(band):.0%}")
    says = (
        f"{sheet.name('damper')} reaches damping ratios of {found.lowest:.2f} to "
        f"{found.highest:.2f} with {sheet.name('spring')}; wanted within {low:g} to {high:g}"
    )
    margin = min(found.highest - low, high - found.lowest)
    return sheet.judge(margin >= 0.0, says, margin=margin, worst_case=margin, required=0.0)


def _range(sheet: Sheet) -> DampingRange | None:
    soft, firm = (sheet.dimension("damper", name) for name in ("softest", "firmest"))
    size, mass = spring_size(sheet, "spring"), sprung_mass(sheet)
    spring, damper = (
        sheet.fact(f"suspension.{name}_motion_ratio") for name in ("spring", "damper")
    )
    if soft is None or firm is None or size is None or mass is None or None in (spring, damper):
        return None
    rate = wheel_rate(size.rate.nominal, spring)
    return damping_range(soft.value, firm.value, damper, rate, mass.nominal)
