"""The sheet a drawing is made on: 360 units wide, y downwards, written as SVG.

At a width of 360 px one unit is one pixel, so letters keep a size that can be read on a telephone.
Everything is said by presentation attributes: no style sheet, no script, nothing fetched. Lines are
told apart by their dashes and surfaces by their hatching, so that nothing hangs on colour.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from xml.etree import ElementTree as Xml

import shapely
from shapely.geometry.base import BaseGeometry

from api.drawings.letters import FAMILY, clean, width, wrapped

WIDTH, MARGIN = 360.0, 10.0
INNER = WIDTH - 2 * MARGIN
SMALL, USUAL, LARGE = 10.0, 11.0, 14.0
LINE_HEIGHT = 1.3

Spot = tuple[float, float]
Style = Mapping[str, str]

THIN: Style = {"stroke-width": "0.8"}
SOLID: Style = {"stroke-width": "1.6"}
HEAVY: Style = {"stroke-width": "2.6"}
DASHED: Style = {"stroke-width": "1.2", "stroke-dasharray": "6 3"}
DOTTED: Style = {"stroke-width": "1.4", "stroke-dasharray": "1.5 2.5"}
CHAIN: Style = {"stroke-width": "0.8", "stroke-dasharray": "10 3 2 3"}

_INK, _PAPER = "#111", "#fff"
_HATCH = 5.0


class Paper:
    """A drawing in the making. `y` is how far down it is filled."""

    def __init__(self, name: str, title: str, about: str) -> None:
        self.name, self.title = name, clean(title)
        self.y = MARGIN
        self.boxes: list[BaseGeometry] = []
        """The boxes of all texts so far, in which no other may be put."""
        self._root = Xml.Element("g", {
            "fill": "none", "stroke": _INK, "font-family": FAMILY, "stroke-linejoin": "round",
        })
        self.say(title, LARGE, bold=True)
        self.say(about, SMALL)
        self.y += 4

    # -- marks ----------------------------------------------------------------------------------

    def line(self, spots: Sequence[Spot], style: Style = THIN) -> None:
        """A line through spots."""
        Xml.SubElement(self._root, "path", {"d": f"M{_path(spots)}", **style})

    def area(
        self, shape: BaseGeometry, style: Style = SOLID, fill: str = "none", *, name: str = "",
        scale: float = 0.0,
    ) -> None:
        """A shape in units of the paper: its surfaces filled and outlined, its lines drawn.

        With a `name` it says what it is and its scale in units to the mm, so that it can be
        measured.
        """
        if name:
            style = {**style, "data-shape": name, "data-scale": f"{scale:.6f}"}
        for piece in pieces(shape):
            if isinstance(piece, shapely.Polygon):
                rings = [piece.exterior, *piece.interiors]
                path = "".join(f"M{_path(spots_of(ring)[:-1])}Z" for ring in rings)
                Xml.SubElement(self._root, "path", {
                    "d": path, "fill": fill, "fill-rule": "evenodd", **style,
                })
            elif isinstance(piece, shapely.LineString):
                self.line(spots_of(piece), style)

    def hatch(self, shape: BaseGeometry, *, falling: bool = False, step: float = _HATCH) -> None:
        """Thin lines over a surface, rising to the right or falling."""
        if shape.is_empty:
            return
        left, top, right, bottom = shape.bounds
        high, slope = bottom - top, -1.0 if falling else 1.0
        count = int((right - left + high) / step) + 2
        starts = [left - high + step * i for i in range(count)]
        rules = shapely.multilinestrings([
            [(x, bottom), (x + high, top)] if slope > 0 else [(x, top), (x + high, bottom)]
            for x in starts
        ])
        strokes = [
            f"M{_path(spots_of(piece))}" for piece in pieces(rules.intersection(shape))
            if isinstance(piece, shapely.LineString)
        ]
        if strokes:
            Xml.SubElement(self._root, "path", {"d": "".join(strokes), "stroke-width": "0.5"})

    def arrow(self, tip: Spot, from_: Spot) -> None:
        """The head of an arrow at `tip`, coming from a spot."""
        (x, y), (dx, dy) = tip, (tip[0] - from_[0], tip[1] - from_[1])
        long = (dx * dx + dy * dy) ** 0.5 or 1.0
        ux, uy = dx / long, dy / long
        back = (x - 6 * ux, y - 6 * uy)
        corners = [tip, (back[0] - 2 * uy, back[1] + 2 * ux), (back[0] + 2 * uy, back[1] - 2 * ux)]
        Xml.SubElement(self._root, "path", {
            "d": f"M{_path(corners)}Z", "fill": _INK, "stroke": "none"})

    def text(
        self, spot: Spot, text: str, size: float = USUAL, *, bold: bool = False,
        anchor: str = "start",
    ) -> None:
        """A text on one line, its foot at the spot; its box is taken."""
        self.boxes.append(text_box(spot, text, size, bold=bold, anchor=anchor))
        written = Xml.SubElement(self._root, "text", {
            "x": _number(spot[0]), "y": _number(spot[1]), "font-size": _number(size),
            "fill": _INK, "stroke": _PAPER, "stroke-width": "2.5", "paint-order": "stroke",
            **({"font-weight": "bold"} if bold else {}),
            **({"text-anchor": anchor} if anchor != "start" else {}),
        })
        written.text = clean(text)

    # -- what stands below one another ------------------------------------------------------------

    def say(self, text: str, size: float = USUAL, *, bold: bool = False, indent: float = 0.0,
            room: float | None = None, most: int = 6) -> None:
        """A paragraph below what there is, in as many lines as it takes."""
        for line in wrapped(text, size, room or INNER - indent, bold=bold, most=most):
            self.y += size * LINE_HEIGHT
            self.text((MARGIN + indent, self.y - size * 0.3), line, size, bold=bold)

    def key(
        self, text: str, style: Style = THIN, *, hatched: bool | None = None,
        outlined: bool = False,
    ) -> None:
        """A line of the key: a sample of a line, or of a surface (hatched falling or not), words.
        """
        middle = self.y + SMALL * LINE_HEIGHT / 2
        swatch = shapely.box(MARGIN, middle - 4, MARGIN + 24, middle + 4)
        if hatched is not None:
            self.hatch(swatch, falling=hatched)
        if hatched is not None or outlined:
            self.area(swatch, style)
        else:
            self.line([(MARGIN, middle), (MARGIN + 24, middle)], style)
        self.say(text, SMALL, indent=32)

    def columns(self, rows: Sequence[Sequence[str]], edges: Sequence[float]) -> None:
        """A table in small letters, its head first: each column from its edge to the next one's."""
        rooms = [end - edge - 4 for edge, end in pairwise([*edges, WIDTH - MARGIN])]
        for number, row in enumerate(rows):
            cells = [
                wrapped(text, SMALL, room, bold=number == 0, most=2)
                for text, room in zip(row, rooms, strict=True)
            ]
            for left, lines in zip(edges, cells, strict=True):
                for below, line in enumerate(lines, 1):
                    foot = self.y + below * SMALL * LINE_HEIGHT - 3
                    self.text((left, foot), line, SMALL, bold=number == 0)
            self.y += max(map(len, cells)) * SMALL * LINE_HEIGHT
            if number == 0:
                self.line([(MARGIN, self.y + 0.5), (WIDTH - MARGIN, self.y + 0.5)])
                self.y += 2

    # -- the whole ------------------------------------------------------------------------------

    def svg(self, alt: str) -> str:
        """The drawing as a document, which says in words what it shows."""
        high = _number(self.y + MARGIN)
        root = Xml.Element("svg", {
            "xmlns": "http://www.w3.org/2000/svg", "viewBox": f"0 0 {_number(WIDTH)} {high}",
            "width": _number(WIDTH), "height": high, "role": "img",
            "aria-labelledby": f"title-{self.name} desc-{self.name}",
        })
        Xml.SubElement(root, "title", {"id": f"title-{self.name}"}).text = self.title
        Xml.SubElement(root, "desc", {"id": f"desc-{self.name}"}).text = clean(alt)
        Xml.SubElement(root, "rect", {"width": _number(WIDTH), "height": high, "fill": _PAPER})
        root.append(self._root)
        return Xml.tostring(root, encoding="unicode")


def text_box(
    spot: Spot, text: str, size: float = USUAL, *, bold: bool = False, anchor: str = "start"
) -> BaseGeometry:
    """About the room a text takes."""
    long = width(clean(text), size, bold=bold)
    left = spot[0] - {"start": 0.0, "middle": long / 2, "end": long}[anchor]
    return shapely.box(left, spot[1] - size * 0.8, left + long, spot[1] + size * 0.25)


def pieces(shape: BaseGeometry) -> Iterator[BaseGeometry]:
    """The single surfaces and lines a shape is made of."""
    if shape.is_empty:
        return
    if hasattr(shape, "geoms"):
        for inner in shape.geoms:
            yield from pieces(inner)
    else:
        yield shape


def spots_of(line: BaseGeometry) -> list[Spot]:
    """The corners of a line."""
    return [(float(x), float(y)) for x, y in shapely.get_coordinates(line)]


def _path(spots: Sequence[Spot]) -> str:
    return "L".join(f"{_number(spot[0])},{_number(spot[1])}" for spot in spots)


def _number(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
