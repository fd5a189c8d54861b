"""A spring stack on a damper: preload, static position, travel left, coil bind, ride height.

Units: mm, N, N/mm. Lengths are along the damper. Motion ratio is spring travel over wheel travel.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from rules.engineering.ranges import above_zero, between, not_negative, ordered
from rules.engineering.springs import SpringStack, stack_deflection, stack_load, stack_rates


@dataclass(frozen=True)
class Coilover:
    """A damper with its springs.

    `seat_gap` mm between the spring seats with the damper fully extended: raising the perch
    makes it smaller. `stroke` mm of the damper from full extension to its metal stop.
    `bump_stop` mm of free bump stop on the rod. Raises ValueError when the seats would meet
    within the stroke, or the springs would be at block before the damper moves.
    """

    stack: SpringStack
    seat_gap: float
    stroke: float
    bump_stop: float = 0.0

    def __post_init__(self) -> None:
        above_zero(seat_gap=self.seat_gap, stroke=self.stroke)
        not_negative(bump_stop=self.bump_stop)
        ordered("damper stroke", self.stroke, "gap between the spring seats", self.seat_gap)
        ordered("bump stop", self.bump_stop, "damper stroke", self.stroke)
        if self.seat_gap < self.stack.block_length:
            raise ValueError(
                f"The springs are {self.stack.block_length:g} mm long at block and do not go "
                f"between seats {self.seat_gap:g} mm apart."
            )

    @property
    def preload(self) -> float:
        """Squeeze in mm of the springs at full extension; zero when they are loose there."""
        return max(0.0, self.stack.free_length - self.seat_gap)

    @property
    def slack(self) -> float:
        """Gap in mm over loose springs at full extension; what a helper spring should take up."""
        return max(0.0, self.seat_gap - self.stack.free_length)

    @property
    def preload_force(self) -> float:
        """Force in N on the seats at full extension."""
        return stack_load(self.stack, self.preload)


class Settled(NamedTuple):
    """Where a coilover comes to rest under a load.

    `compression` mm from full extension, `stroke_share` of the stroke, `to_bump_stop` and
    `to_metal` mm of travel left (below zero: past it), `rate` N/mm at that point,
    `helper_closed` whether the first spring of a stack is at block.
    """

    compression: float
    stroke_share: float
    to_bump_stop: float
    to_metal: float
    rate: float
    helper_closed: bool


class HeightRange(NamedTuple):
    """Lowest and highest ride height in mm that a perch reaches."""

    lowest: float
    highest: float


def settle(coilover: Coilover, load: float) -> Settled:
    """Static position of a coilover under a spring load in N (above zero).

    A load below the preload force leaves the damper fully extended. The bump stop carries nothing
    here: a negative `to_bump_stop` says that the car would rest on it. Raises ValueError when
    the load closes every coil.

    Source: spring stack in static balance; F = k·(preload + x) (computed).
    """
    above_zero(load=load)
    stack = coilover.stack
    squeezed = stack_deflection(stack, load)
    compression = max(0.0, squeezed - (stack.free_length - coilover.seat_gap))
    rates = stack_rates(stack)
    closed = stack.helper is not None and max(squeezed, coilover.preload) >= rates.closing_travel
    return Settled(
        compression,
        compression / coilover.stroke,
        coilover.stroke - coilover.bump_stop - compression,
        coilover.stroke - compression,
        rates.after if closed else rates.before,
        closed,
    )


def bind_margin(coilover: Coilover, bump_stop_block: float = 0.0) -> float:
    """Spring length in mm left before block when the damper is fully compressed.

    `bump_stop_block` mm is the height of the crushed bump stop; zero is the worst case. Below
    zero the coils bind before the damper stops, which no spring or mount survives for long.

    Source: seat gap less travel less block length (computed).
    """
    between(0.0, coilover.stroke, bump_stop_block=bump_stop_block)
    shortest_gap = coilover.seat_gap - (coilover.stroke - bump_stop_block)
    return shortest_gap - coilover.stack.block_length


def ride_height_change(perch_move: float, motion_ratio: float) -> float:
    """Ride height in mm gained at the wheel by raising the perch `perch_move` mm.

    Holds while the damper is off its stops and the wheel load stays the same; raising one corner
    alone also shifts load (see corner weights). `motion_ratio` 0.3 to 1.5.

    Source: kinematics, dz = dp/MR (computed).
    """
    between(0.3, 1.5, motion_ratio=motion_ratio)
    between(-300.0, 300.0, perch_move=perch_move)
    return perch_move / motion_ratio


def ride_height_range(
    height: float, perch: float, lowest_perch: float, highest_perch: float, motion_ratio: float
) -> HeightRange:
    """Ride heights in mm within reach when the car stands at `height` with the perch at `perch`.

    Perch positions in mm up the thread.

    Source: `ride_height_change` at both ends of the thread (computed).
    """
    above_zero(ride_height=height)
    between(lowest_perch, highest_perch, perch=perch)
    return HeightRange(
        height + ride_height_change(lowest_perch - perch, motion_ratio),
        height + ride_height_change(highest_perch - perch, motion_ratio),
    )
