"""An old part beside the one that takes its place, at one scale."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from api.drawings.drawing import Drawing, Sketch, Value
from api.drawings.figures import KEYS, Figure, Span, part_figure, wheel_figure
from api.drawings.paper import INNER, MARGIN, SMALL, THIN, Paper, Spot
from api.drawings.scene import Scene
from api.drawings.view import View, dimension, scale_bar
from rules import answers as a
from rules.checks.tyre_room import mounted_on, stock_on
from rules.engineering.wheel_room import WheelAndTyre

_COLUMN = INNER / 2 - 6
_SPAN, _SIDE = 26.0, 52.0
"""Room on paper for a dimension below or above a figure, and to the left or right of it."""
_TAIL = 16.0
"""Room for the arrows of a short dimension that stand outside it."""
_HIGHEST = 230.0


@dataclass(frozen=True, slots=True)
class _Pair:
    """Two parts, or sets of parts, of which the new one takes the place of the old."""

    name: str
    title: str
    kind: str
    old_name: str
    new_name: str
    old: Figure
    new: Figure
    rows: tuple[a.BesideRow, ...]


def besides(scene: Scene) -> Iterator[Sketch]:
    """One drawing for each place, or set of places, where both old and new are measured."""
    for pair in (*_wheels(scene), *_parts(scene)):
        yield _Drawn(scene, pair)


def _wheels(scene: Scene) -> Iterator[_Pair]:
    """Wheel and tyre together; both axles once where they are the same."""
    found: dict[tuple[WheelAndTyre, WheelAndTyre], list[str]] = {}
    parts: dict[tuple[WheelAndTyre, WheelAndTyre], tuple[str, ...]] = {}
    for judged in scene.judged("tyre-edges") if scene.possible else ():
        sheet = scene.sheet(judged)
        new, old = mounted_on(sheet), stock_on(sheet)
        if new and old and new != old:
            found.setdefault((old, new), []).append(str(judged.axle or "all"))
            parts.setdefault((old, new), judged.parts)
    for (old, new), axles in found.items():
        mine = [b for b in scene.package.beside if b.new in parts[old, new]
                and any(place.startswith(tuple(axles)) for place in b.places)]
        yield _Pair(
            name=f"beside-wheels-{'-'.join(axles)}",
            title=f"{' and '.join(axles)} wheels, old and new".capitalize(), kind="wheel",
            old_name=_listed(b.old_name for b in mine),
            new_name=_listed(map(scene.name, parts[old, new])),
            old=wheel_figure(old), new=wheel_figure(new),
            rows=tuple(
                row.model_copy(update={"name": f"{scene.known.parts[b.new].kind}: {row.name}"})
                for b in mine for row in b.rows
            ),
        )


def _parts(scene: Scene) -> Iterator[_Pair]:
    for both in scene.package.beside:
        old, new = scene.known.parts[both.old], scene.known.parts[both.new]
        figures = part_figure(old.dimensions), part_figure(new.dimensions)
        if figures[0] is None or figures[1] is None:
            continue
        where = " and ".join(map(scene.at.place_name, both.places))
        yield _Pair(
            name=f"beside-{'-'.join(both.places)}", title=f"{where}, old and new".capitalize(),
            kind=new.kind, old_name=both.old_name, new_name=both.new_name, old=figures[0],
            new=figures[1], rows=both.rows,
        )


class _Drawn:
    """Two figures in two columns, their foot on one line."""

    def __init__(self, scene: Scene, pair: _Pair) -> None:
        self.scene, self.pair = scene, pair
        self.name, self.title = pair.name, pair.title

    def drawing(self) -> Drawing:
        pair = self.pair
        paper = Paper(self.name, self.title, self.scene.car)
        self._heads(paper)
        scale = self._scale()
        views = [
            self._column(paper, figure, scale, MARGIN + number * (INNER / 2 + 6), name)
            for number, (figure, name) in enumerate(((pair.old, "old"), (pair.new, "new")))
        ]
        paper.y += self._high(scale) + 4
        scale_bar(paper, views[0])
        for text, style in KEYS[pair.kind]:
            paper.key(text, style)
        paper.y += 6
        rows = [[row.name, row.old or "?", row.new or "?", _change(row)] for row in pair.rows]
        paper.columns([["? not known", "old", "new", "change"], *rows],
                      [MARGIN, 140.0, 212.0, 286.0])
        caption = f"{pair.new_name} in place of {pair.old_name}, at one scale."
        alt = f"{self.title}: {caption} {' '.join(self._says())}"
        return Drawing(
            self.name, self.title, caption, alt, tuple(self._values()), paper.svg(alt)
        )

    def _heads(self, paper: Paper) -> None:
        """What is old and what is new, each over its column."""
        top, lowest = paper.y, paper.y
        for number, (word, name) in enumerate(
            (("Old", self.pair.old_name), ("New", self.pair.new_name))
        ):
            paper.y = top
            paper.say(f"{word}: {name}", SMALL, bold=bool(number), room=_COLUMN,
                      indent=number * (INNER / 2 + 6), most=5)
            lowest = max(lowest, paper.y)
        paper.y = lowest + 6

    # -- figures --------------------------------------------------------------------------------

    def _figures(self) -> tuple[Figure, Figure]:
        return self.pair.old, self.pair.new

    def _scale(self) -> float:
        """The largest at which both fit their columns with their dimensions."""
        across = max(f.bounds[2] - f.bounds[0] for f in self._figures())
        return min((_COLUMN - self._left() - self._right()) / across, _HIGHEST / self._tall())

    def _tall(self) -> float:
        """From the lowest point of both to the highest, mm."""
        return (max(f.bounds[3] for f in self._figures())
                - min(f.bounds[1] for f in self._figures()))

    def _high(self, scale: float) -> float:
        return self._tall() * scale + self._above() + self._below()

    def _room(self, side: str) -> int:
        """How many dimensions stand outside one another on a side."""
        return max(
            (span.level + 1 for f in self._figures() for span in f.spans if span.side == side),
            default=0,
        )

    def _left(self) -> float:
        return _SIDE * self._room("left")

    def _right(self) -> float:
        return _SIDE * self._room("right") or _TAIL

    def _above(self) -> float:
        return _SPAN * self._room("above")

    def _below(self) -> float:
        return _SPAN * self._room("below")

    def _column(self, paper: Paper, figure: Figure, scale: float, left: float, name: str) -> View:
        low, high = (min(f.bounds[1] for f in self._figures()),
                     max(f.bounds[3] for f in self._figures()))
        x0, _, x1, _ = figure.bounds
        free = _COLUMN - self._left() - self._right() - (x1 - x0) * scale
        view = View(x0, low, x1, high, left + self._left() + free / 2, paper.y + self._above(),
                    scale)
        for shape in figure.solid:
            paper.hatch(view.on_paper(shape), step=6)
        for number, (shape, style) in enumerate(figure.lines):
            paper.area(view.on_paper(shape), style, name=f"{name}-{number}", scale=scale)
        for span in figure.spans:
            self._span(paper, view, figure, span)
        return view

    def _span(self, paper: Paper, view: View, figure: Figure, span: Span) -> None:
        x0, y0, x1, y1 = figure.bounds
        out = 10.0 + span.level * _SPAN
        if span.side in ("below", "above"):
            edge = view.spot((0.0, y0 if span.side == "below" else y1))[1]
            y = edge + out if span.side == "below" else edge - out
            start, end = (view.spot((at, 0.0))[0] for at in (span.start, span.end))
            _measure(paper, (start, edge), (start, y), (end, edge), (end, y))
            foot = y + 12 if span.side == "below" else y - 5
            paper.text(((start + end) / 2, foot), span.text, SMALL, anchor="middle")
            return
        edge = view.spot((x0 if span.side == "left" else x1, 0.0))[0]
        x = edge - 10 if span.side == "left" else edge + 10
        start, end = (view.spot((0.0, at))[1] for at in (span.start, span.end))
        _measure(paper, (edge, start), (x, start), (edge, end), (x, end))
        anchor, beside = ("end", x - 3) if span.side == "left" else ("start", x + 3)
        paper.text((beside, (start + end) / 2 + 3), span.text, SMALL, anchor=anchor)

    # -- words ----------------------------------------------------------------------------------

    def _says(self) -> Iterator[str]:
        for row in self.pair.rows:
            change = f" ({row.change})" if row.change else ""
            yield f"{row.name}: {row.old or 'not known'}, {row.new or 'not known'}{change}."

    def _values(self) -> Iterator[Value]:
        for word, figure in zip(("old", "new"), self._figures(), strict=True):
            for span in figure.spans:
                yield Value(f"{span.name}, {word}", abs(span.end - span.start), "mm")


def _measure(paper: Paper, edge: Spot, start: Spot, other: Spot, end: Spot) -> None:
    """A dimension line with the thin lines that lead to what it measures."""
    paper.line([edge, start], {**THIN, "stroke-width": "0.5"})
    paper.line([other, end], {**THIN, "stroke-width": "0.5"})
    dimension(paper, start, end)


def _change(row: a.BesideRow) -> str:
    """The change from old to new; that there is none, in a word."""
    return "same" if row.old == row.new else row.change or ""


def _listed(names: Iterable[str]) -> str:
    return " with ".join(dict.fromkeys(names))


