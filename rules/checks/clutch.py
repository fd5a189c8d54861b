"""Does the clutch hold the engine's torque, and is the torque stated for the engine believable?"""

from __future__ import annotations

from rules.checking import Sheet, Verdict, check
from rules.checks.reserves import with_reserve
from rules.engineering.drivetrain import clutch_capacity, torque_from_power

ROUNDING = 0.02
"""Share by which a stated torque may fall short of power over speed: both are rounded figures."""


@check(
    "clutch-torque", ("engine", "clutch"),
    formula="T = faces · friction · clamp · mean radius (uniform wear), or as stated; "
            "T >= engine torque · reserve",
    source="Khurmi & Gupta, Theory of Machines, Ex. 10.23 p. 303 (textbook); the reserve of 1.2 to "
           "1.5 is common practice, no source",
)
def clutch_torque(sheet: Sheet) -> Verdict:
    """The clutch must hold the engine's torque with the shop's reserve, once it is bedded in."""
    engine = sheet.dimension("engine", "torque")
    capacity = _worked_out(sheet) or _stated(sheet)
    if engine is None or capacity is None:
        return sheet.not_known()
    holds, least = capacity
    reserve = sheet.limit("clutch_reserve")
    asked = engine.value * reserve
    says = (
        f"{sheet.name('clutch')} holds {holds:.0f} N·m; {sheet.name('engine')} gives "
        f"{engine.value:.0f} N·m and asks for {asked:.0f} with the reserve of {reserve:g}"
    )
    return with_reserve(
        sheet, says, holds - asked, least - engine.high * reserve, "N·m",
        f"torque that {sheet.name('clutch')} holds, from its maker",
    )


def _stated(sheet: Sheet) -> tuple[float, float] | None:
    """Torque in N·m as the maker states it, nominal and least."""
    torque = sheet.dimension("clutch", "torque")
    return (torque.value, torque.low) if torque else None


def _worked_out(sheet: Sheet) -> tuple[float, float] | None:
    """Torque in N·m from the clutch's own dimensions, nominal and least; None without them all."""
    names = ("clamp", "friction", "faces", "lining_outer", "lining_inner")
    clamp, friction, faces, outer, inner = (
        sheet.dimension("clutch", name, optional=True) for name in names
    )
    if None in (clamp, friction, faces, outer, inner):
        return None
    found = clutch_capacity(clamp.value, friction, faces, outer.value / 2, inner.value / 2)
    least = clutch_capacity(clamp.low, friction, faces, outer.low / 2, inner.low / 2)
    sheet.note("torque the clutch holds when new", f"{found.new:.0f} N·m")
    sheet.note("torque the clutch holds bedded in", f"{found.bedded:.0f} N·m")
    return found.bedded, least.bedded


@check(
    "engine-figures", ("engine",),
    formula="stated torque >= power / speed of that power",
    source="P = T·omega (computed): an engine gives at least that torque at that speed",
)
def engine_figures(sheet: Sheet) -> Verdict | None:
    """A stated torque below what the power needs at its own speed is a mistake in one of them."""
    power, speed, torque = (
        sheet.dimension("engine", name, optional=True)
        for name in ("power", "power_speed", "torque")
    )
    if None in (power, speed, torque):
        return None
    least = torque_from_power(power.value, speed.value)
    details = {"margin": torque.value - least, "required": 0.0, "unit": "N·m"}
    says = f"{power} at {speed} takes {least:.0f} N·m there; {torque.value:.0f} is stated"
    if torque.value >= least * (1 - ROUNDING):
        return sheet.judge(True, says, **details)
    return sheet.verdict(
        "not_known", f"{says}: one of them is wrong",
        measure=(f"power and torque of {sheet.name('engine')}, from its maker",), **details,
    )
