"""Do the drive shafts carry the torque, and do they stay well below their critical speed?"""

from __future__ import annotations

from typing import Any

from rules.checking import Sheet, Verdict, check
from rules.checks.reserves import with_reserve
from rules.checks.tyre_sizes import diameter, new_parts
from rules.engineering.drivetrain import (
    critical_speed,
    propshaft_speed,
    shaft_torque,
    tube_torque,
)
from rules.engineering.gearing import rolling_circumference
from rules.engineering.tolerance import Toleranced

SHAFTS = 2
"""Half shafts that an open differential shares the torque between."""
N_PER_MM2 = 0.1
"""One bar, as a stress."""
SLENDER = 10.0
"""Length over diameter from which the formula for a critical speed holds."""


@check(
    "shaft-torque", ("engine", "gearbox", "drive-shaft"),
    formula="engine torque · first gear · final drive / 2 · reserve <= torque of the shaft; "
            "of a bar: allowed shear · pi · (D⁴ - d⁴) / (16 · D)",
    source="gear ratios and torsion of a round bar (computed; textbook formula from memory); "
           "the reserve is common practice, no source",
)
def torque(sheet: Sheet) -> Verdict:
    """Each half shaft must carry half of what first gear makes of the engine's torque."""
    engine = sheet.dimension("engine", "torque")
    first, final = sheet.dimension("gearbox", "first_gear"), _final_drive(sheet)
    carries = _carries(sheet)
    if None in (engine, first, final, carries):
        return sheet.not_known()
    reserve = sheet.limit("shaft_reserve")
    sent = shaft_torque(engine.value, first * final, SHAFTS)
    worst = shaft_torque(engine.high, first * final, SHAFTS)
    sheet.note("torque in each shaft, first gear", f"{sent:.0f} N·m")
    says = (
        f"{sheet.name('drive-shaft')} carries {carries[0]:.0f} N·m; first gear sends it "
        f"{sent:.0f}, {sent * reserve:.0f} with the reserve of {reserve:g}"
    )
    return with_reserve(
        sheet, says, carries[0] - sent * reserve, carries[1] - worst * reserve, "N·m",
        f"torque that {sheet.name('drive-shaft')} carries, from its maker",
    )


def _final_drive(sheet: Sheet) -> Any:
    """That of the car where the gearbox is its stock one, else that of the gearbox."""
    stock = sheet.is_stock("gearbox")
    of_car = sheet.fact("driveline.final_drive", optional=True) if stock else None
    return of_car or sheet.dimension("gearbox", "final_drive")


def _carries(sheet: Sheet) -> Any:
    """Torque in N·m the shaft carries, nominal and least: as stated, or from its section."""
    section = [
        sheet.dimension("drive-shaft", name, optional=True)
        for name in ("outer_diameter", "inner_diameter", "allowed_shear")
    ]
    stated = sheet.dimension("drive-shaft", "torque", optional=None not in section)
    if stated is not None:
        return stated.value, stated.low
    if None in section:
        return None
    outer, inner, shear = section
    return (
        tube_torque(outer.value, inner.value, shear.value * N_PER_MM2),
        tube_torque(outer.low, inner.high, shear.low * N_PER_MM2),
    )


@check(
    "shaft-speed", ("drive-shaft", "tyre"),
    formula="top speed / rolling circumference <= share · (60/2pi)·(pi/L)²·sqrt(E·I/(rho·A))",
    source="simply supported uniform steel beam (textbook formula, from memory); the share of 0.7 "
           "to 0.75 is common practice, no source",
)
def speed(sheet: Sheet) -> Verdict | None:
    """A shaft turns with its wheel and must not come near its critical speed."""
    outer, inner, length = (
        sheet.dimension("drive-shaft", name, optional=True)
        for name in ("outer_diameter", "inner_diameter", "length")
    )
    if None in (outer, inner, length):
        return None
    top, tyre = sheet.fact("driveline.top_speed"), _tyre_diameter(sheet)
    if top is None or tyre is None:
        return sheet.not_known()
    turns = propshaft_speed(top.value, rolling_circumference(tyre.nominal), final_drive=1.0)
    worst = propshaft_speed(top.high, rolling_circumference(tyre.low), final_drive=1.0)
    # A shorter bar than the formula is made for turns safely faster than the shortest it covers.
    critical = critical_speed(outer.value, inner.value, max(length.value, SLENDER * outer.value))
    most = critical * sheet.limit("shaft_speed_share")
    says = (
        f"{sheet.name('drive-shaft')} turns at {turns:.0f} rpm at {top}; its critical speed is "
        f"{critical:.0f}, of which {most:.0f} may be used"
    )
    return with_reserve(
        sheet, says, most - turns, most - worst, "rpm",
        f"rolling circumference of {sheet.name('tyre')}",
    )


def _tyre_diameter(sheet: Sheet) -> Toleranced | None:
    """Overall diameter of the tyre, mm; None, and noted, when it is not known."""
    try:
        return diameter(new_parts(sheet))
    except ValueError:  # a size the standard does not cover
        sheet.missing.append(f"overall diameter of {sheet.name('tyre')}")
        return None
