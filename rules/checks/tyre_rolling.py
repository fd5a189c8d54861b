"""What other tyres do to speedometer, odometer and gearing."""

from __future__ import annotations

from rules.checking import Sheet, Verdict, check
from rules.checks.tyre_sizes import diameter, new_parts, stock_parts
from rules.engineering.gearing import (
    engine_speed,
    road_speed,
    rolling_circumference,
    turns_per_km,
    tyre_change,
)

_CRUISE = 100.0
"""The road speed, km/h, at which engine speeds are compared."""


def _rolling(sheet: Sheet) -> tuple[float, float | None] | None:
    """Rolling circumference of the tyre and of the stock one, mm; None where not known."""
    try:
        new, old = diameter(new_parts(sheet)), diameter(stock_parts(sheet))
    except ValueError:
        return None
    if new is None:
        return None
    return (
        rolling_circumference(new.nominal), rolling_circumference(old.nominal) if old else None
    )


@check(
    "tyre-circumference", ("tyre",),
    formula="circumference = 3.05 x overall diameter; |change against stock| <= the shop's limit",
    source="factor 3.05: ETRTO general notes, from memory; limit common practice, no source",
)
def circumference(sheet: Sheet) -> Verdict | None:
    """The tyre must roll about as far as stock, or speedometer and driver aids go wrong."""
    rolling = _rolling(sheet)
    if rolling is None:
        return None if sheet.missing else sheet.not_known(f"diameter of {sheet.name('tyre')}")
    new, old = rolling
    if old is None:
        return None
    most = sheet.limit("circumference_change")
    change = tyre_change(old, new)
    share = 100.0 * change.true_speed
    sheet.note("rolling circumference", f"{new:.0f} mm, stock {old:.0f} mm")
    sheet.note("turns in a kilometre", f"{turns_per_km(new):.1f}, stock {turns_per_km(old):.1f}")
    sheet.note("distance counted over the same road", f"{100.0 * change.odometer:+.2f} %")
    sheet.note("engine speed at the same road speed", f"{100.0 * change.engine_speed:+.2f} %")
    says = f"true speed {share:+.2f} % at the same speedometer reading, up to {most:g} % allowed"
    margin = most - abs(share)
    return sheet.judge(margin >= -1e-9, says, margin=margin, required=0.0, unit="%")


@check(
    "tyre-gearing", ("tyre",), informs=True,
    formula="road speed at 1000 /min = 1000 x 60 x circumference / (final drive x gear)",
    source="arithmetic; factor 3.05 of the circumference from memory",
)
def gearing(sheet: Sheet) -> Verdict | None:
    """Information, on the driven axle: road speed in top gear, and engine speed at 100 km/h."""
    driven = sheet.fact("driveline.driven", optional=True)
    if sheet.axle and driven not in (None, "both", sheet.axle):
        return None
    final, gear = sheet.fact("driveline.final_drive"), sheet.fact("driveline.top_gear")
    rolling = _rolling(sheet)
    if sheet.missing or not final or not gear or rolling is None:
        return None
    new, old = rolling
    says = f"{road_speed(new, final, gear):.1f} km/h per 1000 /min in top gear, {_CRUISE:g} km/h at"
    says += f" {engine_speed(new, final, gear, _CRUISE):.0f} /min"
    if old is not None:
        sheet.note("stock, per 1000 /min", f"{road_speed(old, final, gear):.1f} km/h")
        turns = engine_speed(old, final, gear, _CRUISE)
        says += f" (stock {turns:.0f} /min)"
    return sheet.verdict("fits", says)
