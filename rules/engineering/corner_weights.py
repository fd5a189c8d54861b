"""Corner weights: what four scales show, and the perch turns that bring the wanted cross weight.

Units: mm, kg, N, N/mm. Corners are always in the order left front, right front, left rear, right
rear. Raising a perch lifts the body at that corner; a positive move is up. The body is rigid and
stands on four linear wheel rates. A rigid body on four feet leaves just one load pattern free,
the warp: perches can move load along it and nothing else.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rules.engineering.ranges import above_zero, between, not_negative

_GRAVITY = 9.80665
_CROSS_FIRST = 100.0
"""How much more a millimetre of missing warp counts than one of missing height."""
_LEAST_MOVE = 1e-5
"""Weight of movement: breaks ties between moves that reach the goal, without shifting it."""

Array = NDArray[np.float64]


class Corners(NamedTuple):
    """One value for each corner; the function or field that holds it says what and the unit."""

    left_front: float
    right_front: float
    left_rear: float
    right_rear: float


@dataclass(frozen=True)
class Corner:
    """One corner of a car on its scales.

    `scale` kg, `spring_rate` N/mm, `motion_ratio` spring travel over wheel travel (0.3 to
    1.5), `thread_pitch` mm per turn, `room_down` and `room_up` mm of thread left for the
    perch each way. Raises ValueError outside these ranges.
    """

    scale: float
    spring_rate: float
    motion_ratio: float
    thread_pitch: float
    room_down: float
    room_up: float

    def __post_init__(self) -> None:
        above_zero(scale_reading=self.scale, spring_rate=self.spring_rate)
        above_zero(thread_pitch=self.thread_pitch)
        between(0.3, 1.5, motion_ratio=self.motion_ratio)
        not_negative(room_down=self.room_down, room_up=self.room_up)

    @property
    def wheel_rate(self) -> float:
        """Rate in N/mm at the wheel."""
        return self.spring_rate * self.motion_ratio**2


@dataclass(frozen=True)
class CarOnScales:
    """Four corners, the wheelbase and both tracks in mm.

    `front_bar` and `rear_bar` N/mm: load at one wheel per mm of difference between the two,
    for an anti-roll bar that is still connected. Disconnect the bars and leave these at zero.
    """

    corners: tuple[Corner, Corner, Corner, Corner]
    wheelbase: float
    front_track: float
    rear_track: float
    front_bar: float = 0.0
    rear_bar: float = 0.0

    def __post_init__(self) -> None:
        above_zero(
            wheelbase=self.wheelbase, front_track=self.front_track, rear_track=self.rear_track
        )
        not_negative(front_bar=self.front_bar, rear_bar=self.rear_bar)


class Shares(NamedTuple):
    """Total in kg and shares from 0 to 1. `cross` is right front with left rear.

    No perch can change `front`, nor `left` where both tracks are alike: only moving mass does.
    `cross` is the one share that perches set.
    """

    total: float
    cross: float
    front: float
    rear: float
    left: float


class Outcome(NamedTuple):
    """What perch moves bring: scale readings (kg), body height changes (mm), cross share."""

    scales: Corners
    height_changes: Corners
    cross: float


class PerchPlan(NamedTuple):
    """Perch moves (mm along the damper) and turns, what they bring, and what is still missing.

    `cross_missing` is wanted less reached share; `height_missing` the same in mm for each
    corner (zero where no height was wanted). `at_limit` tells which perches end on their thread.
    """

    moves: Corners
    turns: Corners
    outcome: Outcome
    cross_missing: float
    height_missing: Corners
    at_limit: tuple[bool, bool, bool, bool]


def weight_shares(scales: Sequence[float]) -> Shares:
    """Shares of the total from four scale readings in kg (above zero).

    Source: ratios of readings (computed); which diagonal is called cross is common practice.
    """
    left_front, right_front, left_rear, _ = scales
    for reading in scales:
        above_zero(scale_reading=reading)
    total = sum(scales)
    front = (left_front + right_front) / total
    return Shares(
        total,
        (right_front + left_rear) / total,
        front,
        1.0 - front,
        (left_front + left_rear) / total,
    )


def _corners(values: Array) -> Corners:
    return Corners(*(float(value) for value in values))


def _scales(car: CarOnScales) -> Corners:
    return Corners(*(corner.scale for corner in car.corners))


def _attitude(car: CarOnScales) -> Array:
    """Height of the body at each corner per unit of heave, pitch and roll."""
    half_base, front, rear = car.wheelbase / 2, car.front_track / 2, car.rear_track / 2
    return np.array(
        [
            [1.0, half_base, front],
            [1.0, half_base, -front],
            [1.0, -half_base, rear],
            [1.0, -half_base, -rear],
        ]
    )


def _stiffness(car: CarOnScales) -> tuple[Array, Array]:
    """Wheel rates of the springs alone, and of springs and bars, as matrices."""
    springs = np.diag([corner.wheel_rate for corner in car.corners])
    bars = np.zeros((4, 4))
    pair = np.array([[1.0, -1.0], [-1.0, 1.0]])
    bars[:2, :2], bars[2:, 2:] = car.front_bar * pair, car.rear_bar * pair
    return springs, springs + bars


def _effects(car: CarOnScales) -> tuple[Array, Array]:
    """Change of wheel load (N) and of body height (mm) at each corner per mm of perch move."""
    attitude, (springs, whole) = _attitude(car), _stiffness(car)
    at_wheel = np.diag([1.0 / corner.motion_ratio for corner in car.corners])
    squeeze = springs @ at_wheel
    # The weight does not change, so the added loads must balance: attitude.T @ loads = 0.
    turned = np.linalg.solve(attitude.T @ whole @ attitude, attitude.T @ squeeze)
    heights = attitude @ turned
    return squeeze - whole @ heights, heights


def predict(car: CarOnScales, moves: Sequence[float]) -> Outcome:
    """Scales, heights and cross share after perch moves in mm along each damper (up positive).

    Raises ValueError when a wheel would lift off its scale.

    Source: statics of a rigid body on four springs, one degree indeterminate (computed).
    """
    loads, heights = _effects(car)
    step = np.array(tuple(moves), dtype=np.float64)
    scales = np.array(_scales(car)) + loads @ step / _GRAVITY
    if float(scales.min()) <= 0.0:
        raise ValueError("These perch moves would lift a wheel off its scale.")
    reached = _corners(scales)
    return Outcome(reached, _corners(heights @ step), weight_shares(reached).cross)


def _cross_per_mm(car: CarOnScales) -> Array:
    """Change of the cross share per mm of perch move at each corner."""
    loads, _ = _effects(car)
    cross: Array = (loads[1] + loads[2]) / (_GRAVITY * sum(_scales(car)))
    return cross


def _limits(car: CarOnScales) -> tuple[Array, Array]:
    low = np.array([-corner.room_down for corner in car.corners])
    return low, np.array([corner.room_up for corner in car.corners])


def cross_range(car: CarOnScales) -> tuple[float, float]:
    """Lowest and highest cross share that the threads allow, heights left free.

    Source: a linear effect is extreme at the ends of the thread (computed).
    """
    now, effect, (low, high) = weight_shares(_scales(car)).cross, _cross_per_mm(car), _limits(car)
    ends = np.stack([effect * low, effect * high])
    return now + float(ends.min(axis=0).sum()), now + float(ends.max(axis=0).sum())


def _goal(car: CarOnScales, cross: float, heights: Sequence[float | None]) -> tuple[Array, Array]:
    """Rows and right-hand side of the least-squares problem, all in mm."""
    effect = _cross_per_mm(car)
    per_mm = float(np.abs(effect).max())
    _, lift = _effects(car)
    wanted = [
        (row, height) for row, height in zip(lift, heights, strict=True) if height is not None
    ]
    rows = np.vstack(
        [_CROSS_FIRST * effect / per_mm, *(row for row, _ in wanted), _LEAST_MOVE * np.eye(4)]
    )
    gap = _CROSS_FIRST * (cross - weight_shares(_scales(car)).cross) / per_mm
    return rows, np.array([gap, *(height for _, height in wanted), 0.0, 0.0, 0.0, 0.0])


def _solve_within(rows: Array, aims: Array, low: Array, high: Array) -> Array:
    """Least-squares solution inside a box, by trying every set of perches held at an end.

    Exact for four unknowns, and at most 81 small systems.
    """
    best, best_error = low, float("inf")
    for held in product((None, low, high), repeat=4):
        free = np.array([end is None for end in held])
        moves = np.array([0.0 if end is None else end[i] for i, end in enumerate(held)])
        if free.any():
            moves[free] = np.linalg.lstsq(rows[:, free], aims - rows @ moves, rcond=None)[0]
        if (moves < low - 1e-9).any() or (moves > high + 1e-9).any():
            continue
        error = float(np.sum((rows @ moves - aims) ** 2))
        if error < best_error:
            best, best_error = moves, error
        if free.all():
            break  # The free optimum lies inside the box: nothing can beat it.
    return best


def plan_perches(
    car: CarOnScales,
    cross: float,
    height_changes: Sequence[float | None] = (None, None, None, None),
) -> PerchPlan:
    """Perch turns that reach a cross share (0.3 to 0.7) and body height changes in mm.

    A height of None is free; among moves that reach the goal the smallest are taken. Four heights
    of a rigid body must lie in one plane; where they do not, the nearest plane is reached. Where
    the thread is too short, cross comes before height and the plan tells what is missing.

    Source: statics of a rigid body on four springs, least squares in the thread's range (computed).
    """
    between(0.3, 0.7, cross_share=cross)
    low, high = _limits(car)
    moves = _corners(_solve_within(*_goal(car, cross, height_changes), low, high))
    outcome = predict(car, moves)
    missing = [
        0.0 if wanted is None else wanted - reached
        for wanted, reached in zip(height_changes, outcome.height_changes, strict=True)
    ]
    first, second, third, fourth = (
        bool(move <= bottom + 1e-6 or move >= top - 1e-6)
        for move, bottom, top in zip(moves, low, high, strict=True)
    )
    turns = (move / corner.thread_pitch for move, corner in zip(moves, car.corners, strict=True))
    return PerchPlan(
        moves,
        Corners(*turns),
        outcome,
        cross - outcome.cross,
        Corners(*missing),
        (first, second, third, fourth),
    )
