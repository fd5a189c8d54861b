"""Brake hose length against wheel travel and steering lock, as plain geometry.

Units: mm and degrees. Axes of the car: x forward, y to the left, z up. The wheel end moves
straight up and down with the wheel and turns with it about an upright steering axis; good for
travel up to about 120 mm each way and a steering axis within about 15 degrees of upright.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from rules.engineering.ranges import above_zero, between, ordered


class Point(NamedTuple):
    """A point in the axes of the car, mm."""

    x: float
    y: float
    z: float


@dataclass(frozen=True)
class HoseRoute:
    """Where a hose is held, at ride height with the wheel straight ahead.

    `steer_x` and `steer_y` place the steering axis; they do not matter where lock is zero.
    """

    body_end: Point
    wheel_end: Point
    steer_x: float
    steer_y: float


class HoseReach(NamedTuple):
    """Longest and shortest straight distance between the ends, mm, and where the longest is.

    `longest_rise` is wheel travel in mm from ride height (compression positive),
    `longest_steer` the steering angle in degrees (left positive).
    """

    longest: float
    longest_rise: float
    longest_steer: float
    shortest: float


def hose_span(route: HoseRoute, rise: float, steer: float) -> float:
    """Straight distance in mm between the hose ends at one wheel travel and steering angle.

    `rise` -200 to 200 mm, `steer` -60 to 60 degrees, left positive.

    Source: rotation about an upright axis and distance of two points (computed).
    """
    between(-200.0, 200.0, rise=rise)
    between(-60.0, 60.0, steering_angle=steer)
    arm_x = route.wheel_end.x - route.steer_x
    arm_y = route.wheel_end.y - route.steer_y
    cos, sin = math.cos(math.radians(steer)), math.sin(math.radians(steer))
    moved = Point(
        route.steer_x + arm_x * cos - arm_y * sin,
        route.steer_y + arm_x * sin + arm_y * cos,
        route.wheel_end.z + rise,
    )
    return math.dist(moved, route.body_end)


def _turning_points(route: HoseRoute, lock: float) -> list[float]:
    """Angles where the span is greatest or least: both locks, and in line with the body end."""
    toward_body = math.atan2(route.body_end.y - route.steer_y, route.body_end.x - route.steer_x)
    toward_wheel = math.atan2(route.wheel_end.y - route.steer_y, route.wheel_end.x - route.steer_x)
    aligned = math.degrees(toward_body - toward_wheel)
    inner = (math.remainder(aligned + half, 360.0) for half in (0.0, 180.0))
    return [-lock, lock, *(angle for angle in inner if -lock < angle < lock)]


def hose_reach(route: HoseRoute, compression: float, droop: float, lock: float) -> HoseReach:
    """Longest and shortest span over all wheel travel and steering.

    `compression` and `droop` are wheel travel in mm from ride height (0 to 200), `lock` the
    steering angle in degrees each way (0 to 60; zero for a wheel that does not steer). A hose
    must be longer than the longest span by the slack that its maker or the shop asks for.

    Source: extremes of `hose_span` in closed form (computed).
    """
    between(0.0, 200.0, compression=compression, droop=droop)
    between(0.0, 60.0, lock=lock)
    level = min(max(route.body_end.z - route.wheel_end.z, -droop), compression)
    spans = [
        (hose_span(route, rise, steer), rise, steer)
        for rise in (-droop, level, compression)
        for steer in _turning_points(route, lock)
    ]
    longest, rise, steer = max(spans)
    return HoseReach(longest, rise, steer, min(spans)[0])


def hose_bow(hose_length: float, span: float) -> float:
    """Farthest in mm that a slack hose can stray from the line between its ends.

    No point of the hose can lie outside this, so it bounds what the hose can touch.

    Source: half of the minor axis of the ellipse with the ends as foci (computed).
    """
    above_zero(hose_length=hose_length, span=span)
    if span != hose_length:
        ordered("span", span, "hose length", hose_length)
    return math.sqrt(hose_length**2 - span**2) / 2.0
