"""A window of the plane of the checks, shown on paper at one scale for both axes."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from api.drawings.letters import width
from api.drawings.paper import (
    INNER,
    LINE_HEIGHT,
    MARGIN,
    SMALL,
    THIN,
    WIDTH,
    Paper,
    Spot,
    Style,
    spots_of,
    text_box,
)

_TOGETHER = 16.0
"""Arrows of a dimension shorter than this stand outside it."""
_TAIL, _PAD = 14.0, 17.0
"""How far such arrows reach out, and the room left for them around a picture."""
_AWAY = tuple(
    (reach, angle) for reach in (14.0, 22.0, 32.0, 44.0, 58.0, 75.0, 95.0, 120.0, 150.0)
    for angle in range(0, 360, 15)
)


@dataclass(frozen=True, slots=True)
class View:
    """A window in mm, x to the right and y upwards, whose upper left corner is put on paper.

    `scale` is in units of paper to the mm.
    """

    left: float
    bottom: float
    right: float
    top: float
    x: float
    y: float
    scale: float

    @property
    def width(self) -> float:
        """On paper."""
        return (self.right - self.left) * self.scale

    @property
    def height(self) -> float:
        """On paper."""
        return (self.top - self.bottom) * self.scale

    @property
    def frame(self) -> BaseGeometry:
        """The window on paper."""
        return shapely.box(self.x, self.y, self.x + self.width, self.y + self.height)

    def spot(self, point: Spot) -> Spot:
        """A point in mm as a spot on paper."""
        return (
            self.x + (point[0] - self.left) * self.scale,
            self.y + (self.top - point[1]) * self.scale,
        )

    def ends(self, line: BaseGeometry) -> tuple[Spot, Spot]:
        """Where a line in mm begins and ends, on paper."""
        first, last = line.coords[0], line.coords[-1]
        return self.spot((first[0], first[1])), self.spot((last[0], last[1]))

    def upright(self, x: float) -> BaseGeometry:
        """The upright line at `x` mm, over the whole window, on paper."""
        return self.on_paper(shapely.LineString([(x, self.bottom), (x, self.top)]))

    def on_paper(self, shape: BaseGeometry) -> BaseGeometry:
        """What the window shows of a shape in mm."""
        seen = shape.intersection(shapely.box(self.left, self.bottom, self.right, self.top))
        corner, size = np.array([self.x, self.y]), np.array([self.scale, -self.scale])
        return shapely.transform(seen, lambda p: corner + (p - [self.left, self.top]) * size)


def view_of(
    paper: Paper, shapes: Iterable[BaseGeometry], *, highest: float = 420.0
) -> View:
    """A window on shapes in mm, below what is on the paper: as large as goes, in the middle.

    Around the shapes is room for the arrows of a dimension that stand outside it.
    """
    x0, y0, x1, y1 = map(float, shapely.total_bounds(
        [shape for shape in shapes if not shape.is_empty]))
    scale = min((INNER - 2 * _PAD) / (x1 - x0), (highest - 2 * _PAD) / (y1 - y0))
    pad = _PAD / scale
    left = (WIDTH - (x1 - x0) * scale) / 2 - _PAD
    return View(x0 - pad, y0 - pad, x1 + pad, y1 + pad, left, paper.y, scale)


# -- dimensions --------------------------------------------------------------------------------


def dimension(paper: Paper, start: Spot, end: Spot, style: Style = THIN) -> None:
    """A dimension line between two spots, its arrows outside where there is little room."""
    long = math.dist(start, end)
    if long >= _TOGETHER:
        paper.line([start, end], style)
        paper.arrow(start, end)
        paper.arrow(end, start)
        return
    paper.line([start, end], style)
    ux, uy = _direction(start, end)
    before = start[0] - _TAIL * ux, start[1] - _TAIL * uy
    after = end[0] + _TAIL * ux, end[1] + _TAIL * uy
    paper.line([before, start])
    paper.line([end, after])
    paper.arrow(start, before)
    paper.arrow(end, after)


def _direction(start: Spot, end: Spot) -> Spot:
    long = math.dist(start, end)
    if long < 1e-9:
        return 1.0, 0.0
    return (end[0] - start[0]) / long, (end[1] - start[1]) / long


def middle(start: Spot, end: Spot) -> Spot:
    """The middle between two spots."""
    return (start[0] + end[0]) / 2, (start[1] + end[1]) / 2


def sides(paper: Paper, view: View) -> None:
    """Which way is in and which is out, below a window whose x runs outboard."""
    paper.text((view.x, paper.y + 8), "← inboard", SMALL)
    paper.text((view.x + view.width, paper.y + 8), "outboard →", SMALL, anchor="end")
    paper.y += 10


def scale_bar(paper: Paper, view: View) -> None:
    """A bar of round length below what is on the paper, and what it stands for."""
    steps = (1, 2, 5, 10, 20, 50, 100, 200, 500)
    length = next((s for s in steps if s * view.scale >= 30), steps[-1])
    paper.y += 14
    left, right = MARGIN, MARGIN + length * view.scale
    paper.line([(left, paper.y - 4), (right, paper.y - 4)], {"stroke-width": "2"})
    for x in (left, right):
        paper.line([(x, paper.y - 8), (x, paper.y)])
    paper.text((right + 6, paper.y), f"{length} mm, both ways at one scale", SMALL)
    paper.y += 2


# -- labels --------------------------------------------------------------------------------------


class Labels:
    """Puts words beside what they are about: inside the frame, over no other words.

    Of the places around, the nearest that hides least of what is drawn is taken.
    """

    def __init__(self, paper: Paper, frame: BaseGeometry, drawn: Iterable[BaseGeometry]) -> None:
        self.paper, self.frame = paper, frame
        self.drawn = shapely.union_all([_as_surface(shape) for shape in drawn])

    def within(self, spot: Spot, text: str) -> None:
        """A word in the middle of a surface, or beside it where others stand there."""
        left = spot[0] - width(text, SMALL) / 2, spot[1] + SMALL / 3
        box = text_box(left, text, SMALL)
        if self.frame.covers(box) and not any(box.intersects(b) for b in self.paper.boxes):
            self.paper.text(left, text, SMALL)
        else:
            self.put(spot, [text])

    def put(self, about: Spot, lines: list[str], *, bold: bool = False) -> None:
        """Lines of words, led to the spot they are about; left out where there is no room."""
        size = SMALL
        wide = max(width(line, size, bold=bold) for line in lines)
        high = size * LINE_HEIGHT * len(lines)
        found = self._place(about, wide, high)
        if found is None:
            return
        x, y = found
        nearest = shapely.shortest_line(
            shapely.box(x, y, x + wide, y + high), shapely.Point(about)
        )
        if nearest.length > 3:
            self.paper.line(spots_of(nearest), {"stroke-width": "0.6"})
        for number, line in enumerate(lines):
            foot = y + size * LINE_HEIGHT * number + size * 0.95
            self.paper.text((x, foot), line, size, bold=bold)

    def _place(self, about: Spot, wide: float, high: float) -> Spot | None:
        best: tuple[float, Spot] | None = None
        taken = shapely.union_all(self.paper.boxes) if self.paper.boxes else shapely.Point()
        for reach, angle in _AWAY:
            if best is not None and reach * 6.0 > best[0]:
                break
            x = about[0] + reach * math.cos(math.radians(angle))
            y = about[1] - reach * math.sin(math.radians(angle))
            x -= wide / 2 - wide / 2 * math.cos(math.radians(angle))
            y -= high / 2 + high / 2 * math.sin(math.radians(angle))
            box = shapely.box(x - 2, y - 1, x + wide + 2, y + high + 1)
            if not self.frame.covers(box) or taken.intersects(box):
                continue
            hidden = shapely.clip_by_rect(self.drawn, *box.bounds).area
            cost = reach * 6.0 + 4.0 * float(hidden)
            if best is None or cost < best[0]:
                best = cost, (x, y)
        return best[1] if best else None


def _as_surface(shape: BaseGeometry) -> BaseGeometry:
    return shape if shape.area else shape.buffer(1.5)


