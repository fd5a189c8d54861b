"""The springs of a corner between their seats: at full droop, on the ground, at full bump, closed.

All side by side on one foot and at one scale, so that the steps between them are the travel.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

import shapely
from shapely.geometry.base import BaseGeometry

from api.drawings.drawing import Drawing, Sketch, Value
from api.drawings.paper import DASHED, HEAVY, MARGIN, SMALL, SOLID, THIN, WIDTH, Paper, Spot
from api.drawings.scene import Judged, Scene, say_verdicts, verdict
from api.drawings.view import Labels, View, dimension, middle, scale_bar
from rules.checks.spring_on_damper import Springs, springs_of
from rules.engineering.coilovers import Coilover, bind_margin, settle
from rules.engineering.springs import spring_lengths, stack_load

CHECKS = ("spring-on-damper", "spring-on-damper-engine")
_USUAL_WIDTH, _USUAL_COILS = 70.0, 6.0
_PITCH, _FIRST = 82.0, 50.0
"""Units between the middles of two columns, and to that of the first."""


class _State(NamedTuple):
    """The springs in one state: the gap between the seats, and the length of each spring, mm."""

    name: str
    gap: float
    lengths: tuple[float, ...]
    load: float


def spring_travels(scene: Scene) -> Iterator[Sketch]:
    """One drawing for each axle whose springs and damper are known and go together."""
    for judged in scene.judged(*CHECKS):
        if judged.aspect("seat"):
            continue  # the spring does not sit on the damper
        try:
            springs = springs_of(scene.sheet(judged))
            if springs is None:
                continue
            yield _Drawn(scene, judged, springs)
        except ValueError:
            continue  # the springs do not go between the seats at all: the check says so


class _Drawn:
    """The springs of one axle in four states."""

    def __init__(self, scene: Scene, judged: Judged, springs: Springs) -> None:
        self.scene, self.judged, self.springs = scene, judged, springs
        self.coilover = springs.at_rest()
        self.rest = settle(self.coilover, springs.load.nominal)
        self.bind = bind_margin(self.coilover, springs.strut.crushed)
        self.states = list(self._states(self.coilover))
        where = f"{judged.axle} " if judged.axle else ""
        self.title = f"{where}springs and their travel".capitalize()
        self.name = f"springs-{judged.axle or 'car'}"

    def _states(self, coilover: Coilover) -> Iterator[_State]:
        bump = coilover.stroke - self.springs.strut.crushed
        for name, travel in (
            ("full droop", 0.0), ("on the ground", self.rest.compression), ("full bump", bump),
        ):
            yield self._state(name, coilover.seat_gap - travel)
        yield self._state("coils closed", coilover.stack.block_length)

    def _state(self, name: str, gap: float) -> _State:
        """The springs as they stand in a gap, pressed no further than their coils let them."""
        stack = self.coilover.stack
        squeezed = min(max(stack.free_length - gap, 0.0), stack.travel)
        return _State(name, gap, spring_lengths(stack, squeezed), stack_load(stack, squeezed))

    def drawing(self) -> Drawing:
        about = f"{self.scene.names(self.judged)}. {self.scene.car}"
        paper = Paper(self.name, self.title, about)
        high = max(state.gap for state in self.states) + 14
        low = -14.0
        scale = min((_PITCH - 16) / max(self._width(), 55.0), 290 / (high - low), 1.1)
        view = View(0.0, low, WIDTH / scale, high, 0.0, paper.y, scale)
        self._draw(paper, view)
        paper.y += view.height + 4
        for number, state in enumerate(self.states):
            paper.text((_middle(number), paper.y + 6), state.name, SMALL, bold=True,
                       anchor="middle")
        paper.y += 10
        scale_bar(paper, view)
        self._key(paper)
        alt = f"{self.title}: {about}. {' '.join(self._says())}"
        caption = (
            f"Room before the coils close at full bump: {self.bind:.1f} mm, required "
            f"{self.springs.gap:.1f}."
        )
        return Drawing(
            self.name, self.title, caption, alt, tuple(self._values()), paper.svg(alt)
        )

    def _draw(self, paper: Paper, view: View) -> None:
        drawn: list[BaseGeometry] = []
        for number, state in enumerate(self.states):
            drawn += self._column(paper, view, number, state)
        tops = [view.spot((0.0, state.gap))[1] for state in self.states]
        steps: list[tuple[Spot, Spot]] = []
        for number, (upper, lower) in enumerate(pairwise(tops)):
            between = _middle(number) + _PITCH / 2
            for x, y in ((_middle(number), upper), (_middle(number + 1), lower)):
                paper.line([(min(x, between), y), (max(x, between), y)], DASHED)
            dimension(paper, (between, upper), (between, lower))
            steps.append(((between, upper), (between, lower)))
        labels = Labels(paper, shapely.box(MARGIN, view.y, WIDTH - MARGIN, view.y + view.height),
                        [*drawn, *(shapely.LineString(step) for step in steps)])
        for (start, end), text, bold in zip(steps, self._steps(), (False, False, True),
                                            strict=True):
            labels.put(middle(start, end), text, bold=bold)

    def _steps(self) -> list[list[str]]:
        droop, ground, bump, _ = (state.gap for state in self.states)
        closed = "before closed" if self.bind >= 0 else "closed too soon"
        return [
            [f"{droop - ground:.1f} mm", "of droop"],
            [f"{ground - bump:.1f} mm", "of bump,", f"{self.rest.to_bump_stop:.1f} mm to",
             "the stop"],
            [f"{abs(self.bind):.1f} mm", closed],
        ]

    def _column(self, paper: Paper, view: View, number: int, state: _State) -> list[BaseGeometry]:
        """The springs of one state between their seats, the main one below."""
        x = _middle(number) / view.scale
        half = self._width() / 2
        names = self._names()
        foot, drawn = 0.0, []
        for name in ("main", "helper"):
            if name not in names:
                continue
            length = state.lengths[names.index(name)]
            closed = length <= self.coilover.stack.springs[names.index(name)].block_length + 1e-6
            body = view.on_paper(shapely.box(x - half, foot, x + half, foot + length))
            if closed:
                paper.hatch(body, falling=True, step=3)
            else:
                _coils(paper, body, self._coils(name))
            paper.area(body, THIN, name=f"{name}-{number}", scale=view.scale)
            drawn.append(body)
            foot += length
            if name == "main" and self.coilover.stack.coupler:
                ring = shapely.box(x - half, foot, x + half, foot + self.coilover.stack.coupler)
                paper.area(view.on_paper(ring), THIN, fill="#777")
                foot += self.coilover.stack.coupler
        for height, sort in ((0.0, "foot"), (state.gap, "seat")):
            seat = shapely.LineString([(x - half - 4, height), (x + half + 4, height)])
            paper.area(view.on_paper(seat), HEAVY, name=f"{sort}-{number}", scale=view.scale)
        return drawn

    def _names(self) -> list[str]:
        """Which spring of the stack is which."""
        stack = self.coilover.stack
        return ["main" if spring is stack.main else "helper" for spring in stack.springs]

    def _width(self) -> float:
        """Over the coils, mm; of a usual spring where it is not known."""
        sheet = self.springs.sheet
        inner, wire, mean = (
            sheet.dimension("spring", name, optional=True)
            for name in ("inner_diameter", "wire", "mean_diameter")
        )
        if mean and wire:
            return float(mean.value + wire.value)
        return float(inner.value) + (2 * wire.value if wire else 10.0) if inner else _USUAL_WIDTH

    def _coils(self, name: str) -> float:
        sheet = self.springs.sheet
        total = sheet.dimension("spring", "total_coils", optional=True) if name == "main" else None
        return float(total) if total else _USUAL_COILS

    # -- words ----------------------------------------------------------------------------------

    def _key(self, paper: Paper) -> None:
        if self.springs.helper is not None:
            paper.key("main spring below, coupler ring, helper spring above", THIN, outlined=True)
        paper.key("coils closed", THIN, hatched=True)
        paper.key("spring seats; widths and number of coils for show", HEAVY)
        paper.y += 4
        edges = [MARGIN, 100.0, 165.0, 230.0, 292.0]
        heads = ["Along the spring", "droop", "ground", "bump", "closed"]
        rows = [heads, ["seat gap, mm", *(f"{state.gap:.1f}" for state in self.states)]]
        for name in self._names():
            at = self._names().index(name)
            rows.append([f"{name}, mm", *(f"{s.lengths[at]:.1f}" for s in self.states)])
        rows.append(["load, N", *(f"{state.load:.0f}" for state in self.states)])
        paper.columns(rows, edges)
        paper.y += 4
        per = self.springs.strut.per_damper
        if abs(per - 1.0) > 1e-6:
            paper.say(f"1 mm at the damper is {per:.3f} mm along the spring.", SMALL)
        say_verdicts(paper, self._says())

    def _says(self) -> list[str]:
        spring = self.springs.sheet.name("spring")
        return [verdict(line, spring) for line in self.judged.lines]

    def _values(self) -> Iterator[Value]:
        for state in self.states:
            yield Value(f"seat gap, {state.name}", state.gap, "mm")
        yield Value("room before the coils close", self.bind, "mm")
        yield Value("room before the coils close, required", self.springs.gap, "mm")
        yield Value("load on the ground", self.springs.load.nominal, "N")
        yield Value("rate on the ground", self.rest.rate, "N/mm")


def _middle(number: int) -> float:
    """The middle of a column on paper."""
    return _FIRST + _PITCH * number


def _coils(paper: Paper, body: BaseGeometry, count: float) -> None:
    """A spring as it is drawn from the side: a line up and down between its edges."""
    left, top, right, bottom = body.bounds
    turns = max(round(2 * count), 2)
    step = (bottom - top) / turns
    spots = [(left if n % 2 else right, bottom - step * n) for n in range(turns + 1)]
    paper.line(spots, SOLID)


