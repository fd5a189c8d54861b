"""Springs and dampers as the wheel feels them: wheel rate, ride frequency, damping ratio.

Units: mm, kg, N, N/mm, km/h, Hz; damping in N·s/m. Motion ratio is spring (or damper) travel over
wheel travel: where a source has it the other way round, divide instead.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from rules.engineering.ranges import above_zero, between, not_negative

STANDARD_GRAVITY_MM = 9806.65
"""mm/s², by definition (CGPM 1901)."""

ROAD_DAMPING = (0.2, 0.4)
"""Damping ratios usual for a comfortable road car (common practice, no source)."""

SPORT_DAMPING = (0.4, 0.7)
"""Damping ratios usual for a sporting road car (common practice, no source)."""

_KMH_IN_MM_PER_S = 1e6 / 3600.0


class DampingRange(NamedTuple):
    """Lowest and highest damping ratio that an adjuster reaches."""

    lowest: float
    highest: float

    def overlap(self, wanted: tuple[float, float]) -> float:
        """Share (0 to 1) of the wanted band of damping ratios that the adjuster covers."""
        low, high = wanted
        if not 0.0 < low < high:
            raise ValueError(
                f"The wanted band must rise from above zero, but is {low:g} to {high:g}."
            )
        covered = min(high, self.highest) - max(low, self.lowest)
        return max(0.0, covered) / (high - low)


def wheel_rate(spring_rate: float, motion_ratio: float) -> float:
    """Rate in N/mm at the wheel of a spring of `spring_rate` N/mm; `motion_ratio` 0.3 to 1.5.

    Valid where the motion ratio hardly changes over the travel.

    Source: K = k·MR², equal work at spring and wheel (computed).
    """
    above_zero(spring_rate=spring_rate)
    between(0.3, 1.5, motion_ratio=motion_ratio)
    return spring_rate * motion_ratio**2


def spring_load(sprung_mass: float, motion_ratio: float) -> float:
    """Static load in N on the spring of a corner that carries `sprung_mass` kg.

    Source: F = m·g/MR, equal work at spring and wheel (computed).
    """
    above_zero(sprung_mass=sprung_mass)
    between(0.3, 1.5, motion_ratio=motion_ratio)
    return sprung_mass * STANDARD_GRAVITY_MM / 1000.0 / motion_ratio


def ride_frequency(rate: float, sprung_mass: float) -> float:
    """Undamped ride frequency in Hz of a corner: `rate` N/mm at the wheel, mass in kg.

    Give the wheel rate, or the wheel rate in series with the tyre rate for the ride rate.

    Source: f = sqrt(K/m)/(2·pi); McLean & Nelson, Engineering Mechanics, Ex. 19-2 p. 465
    (verified textbook).
    """
    above_zero(rate=rate, sprung_mass=sprung_mass)
    return math.sqrt(1000.0 * rate / sprung_mass) / (2.0 * math.pi)


def frequency_from_deflection(static_deflection: float) -> float:
    """Ride frequency in Hz from the static deflection in mm (load over rate, not height lost).

    Source: f = sqrt(g/delta)/(2·pi); Sarkar, Theory of Machines, Ch. 11 (verified textbook).
    """
    above_zero(static_deflection=static_deflection)
    return math.sqrt(STANDARD_GRAVITY_MM / static_deflection) / (2.0 * math.pi)


def spring_rate_for(frequency: float, sprung_mass: float, motion_ratio: float) -> float:
    """Spring rate in N/mm that gives a corner a ride frequency in Hz.

    Source: `ride_frequency` and `wheel_rate` solved for the spring (computed).
    """
    above_zero(frequency=frequency, sprung_mass=sprung_mass)
    between(0.3, 1.5, motion_ratio=motion_ratio)
    return (2.0 * math.pi * frequency / motion_ratio) ** 2 * sprung_mass / 1000.0


def flat_ride_rear_frequency(
    front_frequency: float, wheelbase: float, speed: float, cycles: float = 1.5
) -> float:
    """Rear frequency in Hz that brings both ends into step `cycles` after a bump.

    `wheelbase` mm, `speed` km/h. A guide, not a rule: it holds at one speed only. Raises
    ValueError where the rear wheels arrive after the front has already settled that far.

    Source: cycles/f_front = cycles/f_rear + L/v (computed); idea of M. Olley (from memory).
    """
    above_zero(front_frequency=front_frequency, wheelbase=wheelbase, speed=speed, cycles=cycles)
    left = cycles / front_frequency - wheelbase / (speed * _KMH_IN_MM_PER_S)
    if left <= 0.0:
        raise ValueError(
            f"At {speed:g} km/h the rear wheels meet the bump after {cycles:g} front cycles: "
            "no rear frequency brings both ends into step."
        )
    return cycles / left


def critical_damping(rate: float, sprung_mass: float) -> float:
    """Damping in N·s/m at the wheel that just stops a corner from swinging past.

    `rate` N/mm at the wheel, `sprung_mass` kg.

    Source: c = 2·sqrt(K·m); McLean & Nelson, Engineering Mechanics, Ex. 19-19 p. 478 (verified
    textbook).
    """
    above_zero(rate=rate, sprung_mass=sprung_mass)
    return 2.0 * math.sqrt(1000.0 * rate * sprung_mass)


def damping_ratio(damping: float, motion_ratio: float, rate: float, sprung_mass: float) -> float:
    """Damping ratio of a corner: `damping` N·s/m at the damper, `rate` N/mm at the wheel.

    `motion_ratio` 0.3 to 1.5 of the damper. Valid where force is about proportional to speed:
    take the slope of the damper's curve at low speed.

    Source: zeta = c·MR²/c_critical; McLean & Nelson, Engineering Mechanics, Ex. 19-19 p. 478
    (verified textbook).
    """
    not_negative(damping=damping)
    between(0.3, 1.5, motion_ratio=motion_ratio)
    return damping * motion_ratio**2 / critical_damping(rate, sprung_mass)


def damping_for_ratio(
    ratio: float, motion_ratio: float, rate: float, sprung_mass: float
) -> float:
    """Damping in N·s/m at the damper that gives a corner a damping ratio (above zero).

    `motion_ratio` 0.3 to 1.5 of the damper, `rate` N/mm at the wheel, `sprung_mass` kg.

    Source: inverse of `damping_ratio` (verified textbook).
    """
    above_zero(ratio=ratio)
    between(0.3, 1.5, motion_ratio=motion_ratio)
    return ratio * critical_damping(rate, sprung_mass) / motion_ratio**2


def damping_range(
    softest: float, firmest: float, motion_ratio: float, rate: float, sprung_mass: float
) -> DampingRange:
    """Damping ratios from the softest to the firmest setting of an adjuster, N·s/m at the damper.

    Source: `damping_ratio` at both ends (verified textbook).
    """
    between(0.0, firmest, softest_damping=softest)
    return DampingRange(
        damping_ratio(softest, motion_ratio, rate, sprung_mass),
        damping_ratio(firmest, motion_ratio, rate, sprung_mass),
    )
