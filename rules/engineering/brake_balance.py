"""Front and rear brakes against each other: axle loads, ideal split, lock order, UN R13-H rule.

Units: mm, kg, N, N·m. A braking rate z is deceleration over standard gravity, a grip is a
coefficient of friction between tyre and road. The car is a rigid body on two axles; pitch, air
forces and tyre load sensitivity are left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, NamedTuple

from rules.engineering.brakes import STANDARD_GRAVITY
from rules.engineering.ranges import above_zero, between, not_negative, ordered

Axle = Literal["front", "rear"]

GRIP_RANGE = (0.2, 0.8)
"""Grips over which UN R13-H Annex 5 asks for a least braking rate (from memory)."""

ORDER_RANGE = (0.15, 0.8)
"""Braking rates over which UN R13-H Annex 5 asks the front axle to lock first (from memory)."""


@dataclass(frozen=True)
class MassLayout:
    """Mass of a car in kg and where its centre lies, in mm.

    `centre_height` is above the road, `centre_from_front` behind the front axle. Raises
    ValueError for a mass or length of zero or less, or a centre outside the wheelbase.
    """

    mass: float
    wheelbase: float
    centre_height: float
    centre_from_front: float

    def __post_init__(self) -> None:
        above_zero(
            mass=self.mass,
            wheelbase=self.wheelbase,
            centre_height=self.centre_height,
            centre_from_front=self.centre_from_front,
        )
        ordered(
            "distance of the centre of mass from the front axle",
            self.centre_from_front,
            "wheelbase",
            self.wheelbase,
        )

    @classmethod
    def from_axles(
        cls, front_mass: float, rear_mass: float, wheelbase: float, centre_height: float
    ) -> MassLayout:
        """Layout from the masses in kg that the scales show under each axle on level ground.

        Source: moments about the front axle (computed).
        """
        above_zero(front_mass=front_mass, rear_mass=rear_mass)
        total = front_mass + rear_mass
        return cls(total, wheelbase, centre_height, wheelbase * rear_mass / total)

    @property
    def weight(self) -> float:
        """Weight in N."""
        return self.mass * STANDARD_GRAVITY

    @property
    def front_rest_share(self) -> float:
        """Share of the weight on the front axle at rest on the level."""
        return 1.0 - self.rear_rest_share

    @property
    def rear_rest_share(self) -> float:
        """Share of the weight on the rear axle at rest on the level."""
        return self.centre_from_front / self.wheelbase

    @property
    def transfer(self) -> float:
        """Share of the weight that moves to the front axle per unit of braking rate."""
        return self.centre_height / self.wheelbase


class AxlePair(NamedTuple):
    """One value for each axle; the function that returns it says what and in which unit."""

    front: float
    rear: float


class AdhesionRule(NamedTuple):
    """Outcome of the adhesion-utilisation rule for one loading of the car.

    `order_holds`: the front axle locks first over the range of the rule; it does up to
    `critical_rate`. `demand_holds`: the braking rate reached at each grip is high enough;
    `least_margin` is the smallest surplus of braking rate, met at `at_grip` on `axle`.
    """

    holds: bool
    order_holds: bool
    demand_holds: bool
    critical_rate: float
    least_margin: float
    at_grip: float
    axle: Axle


def axle_loads(layout: MassLayout, braking_rate: float = 0.0, grade: float = 0.0) -> AxlePair:
    """Load in N that each axle puts on the road.

    `braking_rate` a/g, negative when speeding up (-2 to 2); `grade` rise over run, positive
    with the nose uphill (-1 to 1). Raises ValueError when an axle would lift off.

    Source: moments about the tyre contacts; Meriam & Kraige, Engineering Mechanics: Dynamics,
    Sample Problem 6/1 p. 422 (equations verified in the textbook companion).
    """
    between(-2.0, 2.0, braking_rate=braking_rate)
    between(-1.0, 1.0, grade=grade)
    slope = math.atan(grade)
    # The tyre forces act at road level, so their sum times the height is what moves load.
    moved = layout.weight * (braking_rate - math.sin(slope)) * layout.transfer
    pressed = layout.weight * math.cos(slope)
    loads = AxlePair(
        pressed * layout.front_rest_share + moved, pressed * layout.rear_rest_share - moved
    )
    if min(loads) <= 0.0:
        lifted = "front" if loads.front <= 0.0 else "rear"
        raise ValueError(
            f"At a braking rate of {braking_rate:g} on a grade of {grade:g} the {lifted} axle "
            "would lift off the road."
        )
    return loads


def ideal_forces(layout: MassLayout, braking_rate: float) -> AxlePair:
    """Brake forces in N that use the grip of both axles alike, at a rate from 0 to 2.

    Source: force on each axle = z · dynamic load; Bevan, The Theory of Machines, Ch. 8 Ex. 6
    p. 264 (verified textbook).
    """
    not_negative(braking_rate=braking_rate)
    loads = axle_loads(layout, braking_rate)
    return AxlePair(braking_rate * loads.front, braking_rate * loads.rear)


def ideal_front_share(layout: MassLayout, braking_rate: float) -> float:
    """Front share (0 to 1) of the brake force that uses both axles alike; rises with the rate.

    Source: as `ideal_forces` (verified textbook).
    """
    not_negative(braking_rate=braking_rate)
    return axle_loads(layout, braking_rate).front / layout.weight


def installed_front_share(
    front_torque: float, rear_torque: float, front_tyre_radius: float, rear_tyre_radius: float
) -> float:
    """Front share of the brake force from the disc torques in N·m and tyre radii in mm.

    Both torques at the same line pressure, so without a pressure-reducing valve to the rear.

    Source: force at the road = torque / rolling radius (computed).
    """
    not_negative(front_torque=front_torque, rear_torque=rear_torque)
    above_zero(front_tyre_radius=front_tyre_radius, rear_tyre_radius=rear_tyre_radius)
    above_zero(sum_of_brake_torques=front_torque + rear_torque)
    front = front_torque / front_tyre_radius
    return front / (front + rear_torque / rear_tyre_radius)


def grip_used(layout: MassLayout, front_share: float, braking_rate: float) -> AxlePair:
    """Grip that each axle needs at a braking rate, for a fixed `front_share` (0 to 1).

    Source: adhesion utilised k = brake force / dynamic axle load, as 49 CFR 571.135 S4 defines
    the curves (verified primary); formula computed.
    """
    between(0.0, 1.0, front_share=front_share)
    not_negative(braking_rate=braking_rate)
    loads = axle_loads(layout, braking_rate)
    force = braking_rate * layout.weight
    return AxlePair(front_share * force / loads.front, (1.0 - front_share) * force / loads.rear)


def critical_rate(layout: MassLayout, front_share: float) -> float:
    """Braking rate at which both axles lock together; above it the rear axle locks first.

    Below zero means that the rear axle locks first at every rate.

    Source: equal grip used on both axles, z = (share - lr/L)/(h/L) (computed).
    """
    between(0.0, 1.0, front_share=front_share)
    return (front_share - layout.front_rest_share) / layout.transfer


def first_to_lock(layout: MassLayout, front_share: float, braking_rate: float) -> Axle | None:
    """Axle that locks first at a braking rate, or None where both lock together.

    Source: sign of (z - critical rate) (computed).
    """
    not_negative(braking_rate=braking_rate)
    critical = critical_rate(layout, front_share)
    if math.isclose(braking_rate, critical, abs_tol=1e-9):
        return None
    return "front" if braking_rate < critical else "rear"


def lock_rates(layout: MassLayout, front_share: float, grip: float) -> AxlePair:
    """Braking rate at which each axle reaches the grip (0 to 2) of the road; inf if never.

    Source: `grip_used` solved for z; Bevan, The Theory of Machines, Ch. 8 Ex. 6 p. 264
    (verified textbook).
    """
    between(0.0, 1.0, front_share=front_share)
    above_zero(grip=grip)
    between(0.0, 2.0, grip=grip)
    front_lead = front_share - grip * layout.transfer
    front = grip * layout.front_rest_share / front_lead if front_lead > 0.0 else math.inf
    rear_lead = 1.0 - front_share + grip * layout.transfer
    rear = grip * layout.rear_rest_share / rear_lead if front_share < 1.0 else math.inf
    return AxlePair(front, rear)


def rate_before_lock(layout: MassLayout, front_share: float, grip: float) -> float:
    """Highest braking rate on a road of this grip with every wheel still turning.

    Source: the smaller of the two `lock_rates` (verified textbook).
    """
    return min(lock_rates(layout, front_share, grip))


def least_rate_required(grip: float) -> float:
    """Least braking rate that UN R13-H Annex 5 asks for at a grip from 0.2 to 0.8.

    Source: z >= 0.1 + 0.7·(k - 0.2), UN R13-H Annex 5, category M1 (from memory).
    """
    between(*GRIP_RANGE, grip=grip)
    return 0.1 + 0.7 * (grip - 0.2)


def _tightest_grips(layout: MassLayout, front_share: float) -> list[float]:
    """Grips where the surplus of an axle over the rule can be smallest.

    The rear curve is concave in the grip and so tightest at an end of the range; the front curve
    is convex and can also be tightest where its slope is that of the rule, 0.7.
    """
    low, high = GRIP_RANGE
    inner = (front_share - math.sqrt(layout.front_rest_share * front_share / 0.7)) / layout.transfer
    return [low, high] + ([inner] if low < inner < high else [])


def check_adhesion_rule(layout: MassLayout, front_share: float) -> AdhesionRule:
    """Judge a fixed front share against the adhesion-utilisation rule for one loading.

    Run it for the car as driven alone and fully laden. The rule does not bind a car whose
    anti-lock system meets the anti-lock annex; it is still worth knowing there.

    Source: UN R13-H Annex 5, category M1 (from memory); extremes found in closed form (computed).
    """
    critical = critical_rate(layout, front_share)
    margins: list[tuple[float, float, Axle]] = []
    for grip in _tightest_grips(layout, front_share):
        reached = lock_rates(layout, front_share, grip)
        required = least_rate_required(grip)
        margins.append((reached.front - required, grip, "front"))
        margins.append((reached.rear - required, grip, "rear"))
    margin, grip, axle = min(margins)
    order, demand = critical >= ORDER_RANGE[1], margin >= 0.0
    return AdhesionRule(order and demand, order, demand, critical, margin, grip, axle)
