"""What stands around a wheel, as the hub sees it in one state of the suspension."""

from __future__ import annotations

from typing import NamedTuple

import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from api.drawings.paper import HEAVY, Paper
from kb.kinds.wheel import Obstacle
from rules import answers as a
from rules.checks.moves import STILL, Move
from rules.checks.tyre_room import Seen, gap_of
from rules.engineering.sections import outline, shortest_way
from rules.engineering.wheel_room import Clearance, WheelAndTyre, nominal_envelope


class Near(NamedTuple):
    """An obstacle as the hub sees it in one state, and its gap to tyre and rim."""

    key: str
    obstacle: Obstacle
    shape: BaseGeometry
    way: LineString
    gap: Clearance
    line: a.CheckLine | None


def near_of(
    mounted: WheelAndTyre, key: str, obstacle: Obstacle, seen: Seen, line: a.CheckLine | None,
    move: Move = STILL,
) -> Near:
    """An obstacle beside tyre and rim, with the verdict on it; after a move, where `seen` shows it.
    """
    shape = outline(seen.corners)
    way = shortest_way(nominal_envelope(mounted), shape)
    return Near(key, obstacle, shape, way, gap_of(mounted, seen, obstacle, move), line)


def draw_obstacle(
    paper: Paper, shape: BaseGeometry, tyre: BaseGeometry, name: str, scale: float
) -> None:
    """A part of the car; where it is struck, it is grey."""
    paper.hatch(shape, falling=True, step=4)
    paper.area(shape, HEAVY, name=name, scale=scale)
    struck = shapely.intersection(shape, tyre)
    if struck.area:
        paper.area(struck, HEAVY, fill="#aaa")


