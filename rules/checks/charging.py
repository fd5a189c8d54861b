"""Does the alternator keep up at idle with what was added?"""

from __future__ import annotations

from typing import Any

from rules.checking import Sheet, Verdict, check
from rules.engineering.electrics import Load, charging_balance

_ADDED = (("fuel-pump", "current"), ("radiator", "fan_current"))


@check(
    "charging-balance", tuple(kind for kind, _ in _ADDED),
    formula="alternator at hot idle - (load of the stock car - stock pump and fan + this pump and "
            "fan); when short: half the battery / shortage",
    source="sum of currents (computed); the time the battery has to last is common practice, no "
           "source",
)
def charging(sheet: Sheet) -> Verdict | None:
    """With everything on at hot idle the battery must last for the shop's idle time."""
    facts = {
        name: sheet.fact(f"charging.{name}", optional=True)
        for name in ("alternator", "load", "battery")
    }
    if not any(facts.values()):
        return None  # nobody has looked into this car's charging
    change = _change(sheet)
    if sheet.missing or None in facts.values() or change is None:
        unknown = (f"{name} of the car's charging" for name, fact in facts.items() if not fact)
        return sheet.not_known(*unknown, *sheet.missing)
    return _judge(sheet, facts["alternator"], facts["load"].value + change, facts["battery"])


def _change(sheet: Sheet) -> float | None:
    """Current in A that pump and fan draw beyond those of the stock car; None when not known."""
    change = 0.0
    for kind, name in _ADDED:
        stock, new = sheet.stock(kind, name), sheet.dimension(kind, name)
        if stock is None:
            sheet.missing.append(f"{name.replace('_', ' ')} of the stock {kind.replace('-', ' ')}")
        if stock is None or new is None:
            return None
        change += new.value - stock.value
    sheet.note("current added to the stock car", f"{change:+.1f} A")
    return change


def _judge(sheet: Sheet, alternator: Any, load: float, battery: Any) -> Verdict:
    usual, worst = (
        charging_balance(current, [Load(load)], battery.value)
        for current in (alternator.value, alternator.low)
    )
    details = {"margin": usual.spare, "required": 0.0, "worst_case": worst.spare, "unit": "A"}
    says = f"at hot idle the alternator gives {alternator}, {usual.drawn:.1f} A are drawn"
    if usual.minutes is None:
        return sheet.judge(True, f"{says}: it keeps up", **details)
    least = sheet.limit("idle_time")
    says = f"{says}: the battery is half down after {usual.minutes:.0f} min, {least} are asked for"
    return sheet.judge(usual.minutes >= least.value, says, **details)
