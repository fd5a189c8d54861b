"""Wheel and tyre in the room the car leaves them, one drawing for each state of the suspension.

Where work on the car gives room, the gap is shown large before and after it.
"""

from __future__ import annotations

from collections.abc import Iterator

from shapely.geometry import LineString

from api.drawings.drawing import Drawing, Sketch, Value
from api.drawings.obstacles import Near, draw_obstacle, near_of
from api.drawings.paper import (
    CHAIN,
    DASHED,
    DOTTED,
    HEAVY,
    MARGIN,
    SMALL,
    SOLID,
    Paper,
)
from api.drawings.relief import Envelopes, Relief, before_and_after
from api.drawings.scene import SAID, Judged, Scene, gap_said, say_verdicts, verdict
from api.drawings.view import Labels, View, dimension, middle, scale_bar, sides, view_of
from rules import answers as a
from rules.checking import Sheet
from rules.checks.moves import Move, moves_of
from rules.checks.tyre_room import mounted_on, states_of, stock_on
from rules.engineering.wheel_room import (
    WheelAndTyre,
    largest_envelope,
    nominal_envelope,
)

_STATES = ("ride-height", "full-compression", "full-droop", "full-lock")


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
                found = near_of(mounted, key, obstacle, seen, judged.aspect(key))
                near.setdefault(seen.state, []).append(found)
        for state in _STATES:
            if state in near:
                unknown = missing.get(state, [])
                yield _Drawn(scene, judged, sheet, mounted, state, near[state], unknown)


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
        self.state = state
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
        wheel = Envelopes(self.tyre, self.most, self.required)
        for near in self.near:
            for relief in self._reliefs(near):
                before_and_after(paper, wheel, near, relief)
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
            draw_obstacle(paper, shape, tyre, near.key, view.scale)
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

    def _reliefs(self, near: Near) -> Iterator[Relief]:
        if near.line is None or near.line.verdict != "fits_with_work":
            return
        if near.gap.worst >= self.required:
            return
        done = {work.step for work in self.scene.package.work}
        for move in moves_of(self.sheet, near.key):
            after = self._after(near, move)
            helps = not self.scene.possible and after.gap.worst >= self.required
            (step,) = move.steps
            if step in done or helps:
                work = self.scene.known.work[step]
                yield Relief(work.name, work.effect, move.said, after)

    def _after(self, near: Near, move: Move) -> Near:
        """An obstacle in this state where a work step leaves it."""
        (seen,) = (
            seen for seen in states_of(self.sheet, near.obstacle, move) if seen.state == self.state
        )
        return near_of(self.mounted, near.key, near.obstacle, seen, near.line, move)

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
