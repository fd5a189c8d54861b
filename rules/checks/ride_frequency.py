"""Do front and rear springs go together: ride frequencies against each other?"""

from __future__ import annotations

from typing import NamedTuple

from kb.statements import Axle
from rules.checking import Judgement, Sheet, car_check
from rules.checks.brake_parts import Roles, at_least, out_of_range
from rules.checks.spring_parts import engine_may_change, spring_size, sprung_mass
from rules.engineering.ride import (
    flat_ride_rear_frequency,
    ride_frequency,
    spring_rate_for,
    wheel_rate,
)
from rules.engineering.tolerance import Toleranced, extremes

SAMPLE_SPEED = 80.0
"""km/h for which the sheet shows the rear frequency that keeps both ends in step."""


FORMULA = (
    "f = sqrt(k·MR² / m) / (2·pi) of the main spring; rear over front within the shop's band"
)
SOURCE = (
    "McLean & Nelson, Engineering Mechanics, Ex. 19-2 p. 465 (textbook); the band is common "
    "practice, no source"
)
SPRINGS: Roles = (("front", "spring"), ("rear", "spring"))


@car_check("ride-frequency", SPRINGS, formula=FORMULA, source=SOURCE)
@out_of_range
def alone(sheet: Sheet) -> Judgement:
    """With the car's own engine, where no other can be ordered."""
    return None if engine_may_change(sheet) else _judge(sheet)


@car_check("ride-frequency-engine", (*SPRINGS, (None, "engine")), formula=FORMULA, source=SOURCE)
@out_of_range
def with_engine(sheet: Sheet) -> Judgement:
    """With the engine that is in."""
    return _judge(sheet) if engine_may_change(sheet) else None


def _judge(sheet: Sheet) -> Judgement:
    """Rear over front frequency; nothing is said where rates or motion ratios are not known."""
    front, rear = _corner(sheet, "front"), _corner(sheet, "rear")
    if front is None or rear is None:
        return None
    found = extremes(lambda f, r: r / f, front.frequency(), rear.frequency())
    low, high = float(sheet.limit("pitch_least")), float(sheet.limit("pitch_most"))
    for axle, corner in (("front", front), ("rear", rear)):
        sheet.note(f"{axle} wheel rate", f"{corner.wheel_rate:.1f} N/mm")
        sheet.note(f"{axle} ride frequency", f"{corner.frequency().nominal:.2f} Hz")
    _note_step(sheet, front.frequency().nominal)
    says = f"rear over front ride frequency {found.nominal:.2f}, inside {low:g} to {high:g} by"
    inside = extremes(lambda share: min(share - low, high - share), found)
    if inside.nominal < 0.0:
        aim = front.frequency().nominal * min(max(found.nominal, low), high)
        wanted = spring_rate_for(aim, rear.mass.nominal, rear.motion)
        sheet.note("nearest rear spring rate that goes with the front", f"{wanted:.1f} N/mm")
    return at_least(sheet, says, inside, 0.0, "", digits=2, measure="scale reading of each corner")


class _Corner(NamedTuple):
    """Spring rate in N/mm, sprung mass in kg, motion ratio of the spring."""

    rate: Toleranced
    mass: Toleranced
    motion: float

    @property
    def wheel_rate(self) -> float:
        """N/mm at the wheel, nominal."""
        return wheel_rate(self.rate.nominal, self.motion)

    def frequency(self) -> Toleranced:
        """Ride frequency in Hz."""
        return extremes(
            lambda rate, mass: ride_frequency(wheel_rate(rate, self.motion), mass),
            self.rate, self.mass,
        )


def _corner(sheet: Sheet, axle: Axle) -> _Corner | None:
    size, mass = spring_size(sheet, f"{axle} spring"), sprung_mass(sheet, axle)
    motion = sheet.fact("suspension.spring_motion_ratio", axle=axle)
    if size is None or mass is None or motion is None:
        return None
    return _Corner(size.rate, mass, float(motion))


def _note_step(sheet: Sheet, front: float) -> None:
    """The rear frequency with which both ends swing in step after a bump, at one speed."""
    base = sheet.fact("layout.wheelbase", optional=True)
    if base is not None:
        step = flat_ride_rear_frequency(front, base.value, SAMPLE_SPEED)
        sheet.note(f"rear frequency in step with the front at {SAMPLE_SPEED:g} km/h",
                   f"{step:.2f} Hz")
