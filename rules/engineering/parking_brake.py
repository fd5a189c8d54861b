"""Parking brake: what holds a car on a grade, and what the lever gives.

Units: mm, kg, N, N·m. A grade is rise over run (0.20 is 20 %), not a sine.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from rules.engineering.brake_balance import Axle, MassLayout, axle_loads
from rules.engineering.brakes import STANDARD_GRAVITY
from rules.engineering.ranges import above_zero, between, not_negative

REQUIRED_GRADE = 0.20
"""Grade on which a laden car must hold (UN R13-H Annex 3 paragraph 2.3, from memory)."""

MOST_HAND_FORCE = 400.0
"""N at the hand lever in that test (UN R13-H Annex 3, from memory)."""

MOST_FOOT_FORCE = 500.0
"""N at the foot pedal in that test (UN R13-H Annex 3, from memory)."""


class GradeHold(NamedTuple):
    """Torque per wheel (N·m) and grip that hold a car on a grade, what is spare, and verdict."""

    torque_needed: float
    torque_spare: float
    grip_needed: float
    grip_spare: float
    holds: bool


def grade_force(mass: float, grade: float) -> float:
    """Force in N that pulls a car of `mass` kg down a grade from 0 to 1.

    Source: component of the weight, m·g·sin(atan(grade)) (computed).
    """
    above_zero(mass=mass)
    between(0.0, 1.0, grade=grade)
    return mass * STANDARD_GRAVITY * math.sin(math.atan(grade))


def holding_torque(mass: float, grade: float, tyre_radius: float, wheels: int = 2) -> float:
    """Torque in N·m that each of the braked `wheels` must hold; `tyre_radius` in mm.

    Source: grade force times the tyre radius, shared by the braked wheels (computed).
    """
    above_zero(tyre_radius=tyre_radius, wheels=wheels)
    return grade_force(mass, grade) * tyre_radius / 1000.0 / wheels


def grip_needed(layout: MassLayout, grade: float, axle: Axle, nose_up: bool) -> float:
    """Grip that the one braked axle needs to hold the car on a grade from 0 to 1.

    Source: grade force over the load of that axle on the grade (computed).
    """
    loads = axle_loads(layout, grade=grade if nose_up else -grade)
    load = loads.rear if axle == "rear" else loads.front
    return grade_force(layout.mass, grade) / load


def lever_clamp_force(
    lever_force: float, lever_ratio: float, arm_ratio: float, efficiency: float, brakes: int = 2
) -> float:
    """Clamp force in N of each of the `brakes` that one parking lever pulls through cables.

    `lever_force` N, `lever_ratio` and `arm_ratio` force gains at the lever and at the
    caliper's arm (screw or cam included), `efficiency` of the cable run, 0 to 1. An equaliser
    splits the cable force evenly.

    Source: levers in series (computed).
    """
    not_negative(lever_force=lever_force)
    above_zero(lever_ratio=lever_ratio, arm_ratio=arm_ratio, brakes=brakes)
    between(0.0, 1.0, efficiency=efficiency)
    return lever_force * lever_ratio * arm_ratio * efficiency / brakes


def hold_on_grade(
    layout: MassLayout,
    grade: float,
    axle: Axle,
    nose_up: bool,
    wheel_torque: float,
    tyre_radius: float,
    road_grip: float,
) -> GradeHold:
    """Judge whether the two parking brakes of one axle hold a car on a grade.

    `wheel_torque` N·m that each brake holds, `tyre_radius` mm, `road_grip` coefficient of
    the road. Give the laden mass. Both the brake and the tyre must be strong enough.

    Source: `holding_torque` and `grip_needed` (computed).
    """
    not_negative(wheel_torque=wheel_torque)
    above_zero(road_grip=road_grip)
    torque = holding_torque(layout.mass, grade, tyre_radius)
    grip = grip_needed(layout, grade, axle, nose_up)
    torque_spare, grip_spare = wheel_torque - torque, road_grip - grip
    holds = torque_spare >= 0.0 and grip_spare >= 0.0
    return GradeHold(torque, torque_spare, grip, grip_spare, holds)
