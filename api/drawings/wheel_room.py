"""Wheel and tyre in the room the car leaves them, one drawing for each state of the suspension.

Where work on the car gives room, the gap is shown large before and after it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import shapely
from shapely.affinity import translate
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from api.drawings.drawing import Drawing, Sketch, Value
from api.drawings.paper import (
    CHAIN,
    DASHED,
    DOTTED,
    HEAVY,
    INNER,
    LINE_HEIGHT,
    MARGIN,
    SMALL,
    SOLID,
    THIN,
    WIDTH,
    Paper,
)
from api.drawings.scene import SAID, Judged, Scene, gap_said, say_verdicts, verdict
from api.drawings.view import Labels, View, dimension, middle, scale_bar, sides, view_of
from kb.kinds.wheel import Obstacle
from rules import answers as a
from rules.checking import Sheet
from rules.checks.tyre_room import Seen, gap_of, mounted_on, states_of, stock_on
from rules.engineering.sections import outline, shortest_way
from rules.engineering.wheel_room import (
    Clearance,
    WheelAndTyre,
    largest_envelope,
    nominal_envelope,
)

_STATES = ("ride-height", "full-compression", "full-droop", "full-lock")
_CLOSE = 18.0
"""Half of what the pictures before and after some work show, mm."""


class Near(NamedTuple):
    """An obstacle as the hub sees it in one state, and its gap to tyre and rim."""

    key: str
    obstacle: Obstacle
    shape: BaseGeometry
    way: LineString
    gap: Clearance
    line: a.CheckLine | None


class Relief(NamedTuple):
    """Work in the package that gives room beside an obstacle, mm."""

    work: str
    effect: str
    by: float


def wheel_rooms(scene: Scene) -> Iterator[Sketch]:
    """One drawing for each axle and state in which something near the wheel is measured."""
    for judged in scene.judged("tyre-room"):
        sheet = scene.sheet(judged)
        mounted = mounted_on(sheet)
        room = scene.at.baseline.fact("room.obstacles", judged.axle)
        if mounted is None or room is None:
            continue
        near: dict[str, list[Near]] = {}
        missing: dict[str, list[str]] = {}
        for key, obstacle in room.value.items():
            for seen in states_of(sheet, obstacle):
                if seen.missing:
                    missing.setdefault(seen.state, []).append(seen.missing)
                    continue
                found = _near(mounted, key, obstacle, seen, judged.aspect(key))
                near.setdefault(seen.state, []).append(found)
        for state in _STATES:
            if state in near:
                unknown = missing.get(state, [])
                yield _Drawn(scene, judged, sheet, mounted, state, near[state], unknown)


def _near(
    mounted: WheelAndTyre, key: str, obstacle: Obstacle, seen: Seen, line: a.CheckLine | None
) -> Near:
    shape = outline(seen.corners)
    way = shortest_way(nominal_envelope(mounted), shape)
    return Near(key, obstacle, shape, way, gap_of(mounted, seen, obstacle), line)


class _Drawn:
    """Tyre and rim in one state."""

    def __init__(
        self, scene: Scene, judged: Judged, sheet: Sheet, mounted: WheelAndTyre, state: str,
        near: list[Near], missing: list[str],
    ) -> None:
        self.missing = missing
        self.scene, self.judged, self.sheet, self.mounted = scene, judged, sheet, mounted
        self.near = sorted(near, key=lambda n: n.gap)
        self.tyre, self.most = nominal_envelope(mounted), largest_envelope(mounted)
        stock = stock_on(sheet)
        self.stock = nominal_envelope(stock) if stock else None
        self.required = float(sheet.limit("tyre_room").value)
        where = f"{judged.axle} " if judged.axle else ""
        words = state.replace("-", " ")
        self.title = f"{where}wheel at {words}".capitalize()
        self.name = f"room-{judged.axle or 'wheel'}-{state}"

    def drawing(self) -> Drawing:
        about = f"{self.scene.names(self.judged)}. {self.scene.car}"
        paper = Paper(self.name, self.title, about)
        ways = [near.way for near in self.near]
        view = view_of(paper, [self.most, *ways, *(near.shape for near in self.near)])
        self._draw(paper, view)
        paper.y += view.height + 4
        sides(paper, view)
        scale_bar(paper, view)
        self._key(paper)
        for near in self.near:
            for relief in self._reliefs(near):
                self._before_and_after(paper, near, relief)
        paper.y += 4
        if self._lines():
            paper.say("The check, over all states of the suspension:", SMALL)
        say_verdicts(paper, map(verdict, self._lines()))
        alt = f"{self.title}: {about}. {' '.join(self._says())}"
        return Drawing(
            self.name, self.title, self._caption(), alt, tuple(self._values()), paper.svg(alt)
        )

    # -- the picture ----------------------------------------------------------------------------

    def _draw(self, paper: Paper, view: View) -> None:
        tyre, most = view.on_paper(self.tyre), view.on_paper(self.most)
        paper.hatch(tyre, step=9)
        paper.area(tyre, SOLID, name="tyre", scale=view.scale)
        paper.area(most, DASHED)
        if self.stock is not None:
            paper.area(view.on_paper(self.stock), DOTTED)
        face = view.upright(0.0)
        paper.area(face, CHAIN)
        shapes = [view.on_paper(near.shape) for near in self.near]
        for near, shape in zip(self.near, shapes, strict=True):
            _obstacle(paper, shape, tyre, near.key, view.scale)
        ways = [view.ends(near.way) for near in self.near]
        for start, end in ways:
            dimension(paper, start, end)
        drawn = [tyre.boundary, most.boundary, *shapes, face, *map(LineString, ways)]
        labels = Labels(paper, view.frame, drawn)
        for number, (near, (start, end)) in enumerate(zip(self.near, ways, strict=True)):
            said = [near.obstacle.name, gap_said(near.gap.nominal)]
            labels.put(middle(start, end), said, bold=number == 0)
        inside = self.tyre.representative_point()
        labels.within(view.spot((inside.x, inside.y)), "tyre and rim")
        labels.put(view.spot((0.0, view.bottom + 8 / view.scale)), ["hub face"])

    def _key(self, paper: Paper) -> None:
        m = self.mounted
        paper.key(
            f"tyre and rim: {m.section_width.nominal:.1f} mm wide, "
            f"{m.overall_diameter.nominal:.0f} mm high, offset {m.offset.nominal:g} mm"
            + (f", spacer {m.spacer.nominal:g} mm" if m.spacer.nominal else ""),
            SOLID, hatched=False,
        )
        paper.key("the most they may cover within their tolerances", DASHED)
        if self.stock is not None:
            paper.key("stock tyre on the stock wheel", DOTTED)
        paper.key("part of the car, as the hub sees it", HEAVY, hatched=True)
        paper.key("face of the hub; the wheel turns about an axis below", CHAIN)
        paper.y += 4
        paper.columns([
            ["Gap in mm", "as drawn", "worst", "required"],
            *([n.obstacle.name, f"{n.gap.nominal:.1f}", f"{n.gap.worst:.1f}",
               f"{self.required:.1f}"] for n in self.near),
        ], [MARGIN, 190, 245, 290])
        for missing in self.missing:
            paper.say(f"Not drawn, since not measured: {missing}.", bold=True)
        paper.y += 4

    # -- before and after -----------------------------------------------------------------------

    def _reliefs(self, near: Near) -> Iterator[Relief]:
        if near.line is None or near.line.verdict != "fits_with_work":
            return
        done = {work.step for work in self.scene.package.work}
        for step, by in self.sheet.reliefs(near.key):
            if (step in done or not self.scene.possible) and near.gap.worst < self.required:
                work = self.scene.known.work[step]
                yield Relief(work.name, work.effect, by)

    def _before_and_after(self, paper: Paper, near: Near, relief: Relief) -> None:
        """The gap large: as it is, and with the obstacle moved off by what the check counts on."""
        paper.say(f"Work: {relief.work}, gives {relief.by:g} mm", bold=True)
        paper.say(f"Effect: {relief.effect}.", SMALL)
        half = INNER / 2 - 6
        (x, y), (u, v) = near.way.coords
        long = near.way.length or 1.0
        away = (u - x) / long * relief.by, (v - y) / long * relief.by
        centre = (x + u + away[0]) / 2, (y + v + away[1]) / 2
        reach = max(_CLOSE, (near.gap.nominal + relief.by) * 0.75)
        moved = translate(near.shape, *away)
        top = paper.y + SMALL * LINE_HEIGHT
        for left, word, shape in (
            (MARGIN, "before", near.shape), (WIDTH - MARGIN - half, "after", moved)
        ):
            paper.text((left, top - 3), word, SMALL, bold=True)
            view = View(
                centre[0] - reach, centre[1] - reach * 0.8, centre[0] + reach,
                centre[1] + reach * 0.8, left, top, half / reach / 2,
            )
            gained = relief.by if word == "after" else 0.0
            self._close(paper, view, shape, near.gap.nominal + gained)
        paper.y = top + view.height + 2
        scale_bar(paper, view)
        gap = near.gap
        paper.key("how near the obstacle may come, its own tolerance apart", CHAIN)
        paper.say("After: moved straight away from tyre and rim, as the check counts it.", SMALL)
        paper.say(
            f"Before: {gap.nominal:.1f} mm, worst case {gap.worst:.1f}. After: "
            f"{gap.nominal + relief.by:.1f} mm, worst case {gap.worst + relief.by:.1f}. "
            f"Required {self.required:.1f}. Measure after the work."
        )

    def _close(self, paper: Paper, view: View, shape: BaseGeometry, gap: float) -> None:
        tyre = view.on_paper(self.tyre)
        paper.hatch(tyre, step=9)
        paper.area(tyre, SOLID)
        paper.area(view.on_paper(self.most), DASHED)
        paper.area(view.on_paper(self.most.buffer(self.required)), CHAIN)
        _obstacle(paper, view.on_paper(shape), tyre, "", view.scale)
        way = shortest_way(self.tyre, shape)
        start, end = view.ends(way)
        dimension(paper, start, end)
        paper.area(view.frame, THIN)
        labels = Labels(paper, view.frame, [tyre, view.on_paper(shape)])
        labels.put(middle(start, end), [gap_said(gap)], bold=True)

    # -- the words ------------------------------------------------------------------------------

    def _lines(self) -> list[a.CheckLine]:
        return list(dict.fromkeys(near.line for near in self.near if near.line))

    def _says(self) -> list[str]:
        unknown = [f"Not measured: {missing}." for missing in self.missing]
        return [*(verdict(line) for line in self._lines()), *unknown]

    def _caption(self) -> str:
        near = self.near[0]
        said = "room enough"
        if near.line and near.gap.worst < self.required:
            said = SAID[near.line.verdict].lower()
        return (
            f"Tightest: {near.obstacle.name}, {said}; {near.gap.nominal:.1f} mm, worst case "
            f"{near.gap.worst:.1f}, required {self.required:.1f}."
        )

    def _values(self) -> Iterator[Value]:
        for near in self.near:
            yield Value(f"gap to the {near.obstacle.name}", near.gap.nominal, "mm")
            yield Value(f"gap to the {near.obstacle.name}, worst case", near.gap.worst, "mm")
        yield Value("gap required", self.required, "mm")
        yield Value("section width", self.mounted.section_width.nominal, "mm")
        yield Value("overall diameter", self.mounted.overall_diameter.nominal, "mm")


def _obstacle(
    paper: Paper, shape: BaseGeometry, tyre: BaseGeometry, name: str, scale: float
) -> None:
    """A part of the car; where it is struck, it is grey."""
    paper.hatch(shape, falling=True, step=4)
    paper.area(shape, HEAVY, name=name, scale=scale)
    struck = shapely.intersection(shape, tyre)
    if struck.area:
        paper.area(struck, HEAVY, fill="#aaa")


