"""How the tests read a drawing: as XML, as shapes in mm, as the boxes of its texts."""

from __future__ import annotations

import re
from xml.etree import ElementTree as Xml

import shapely
from shapely.geometry.base import BaseGeometry

from api.drawings.drawing import Drawing
from api.drawings.paper import text_box

SVG = "{http://www.w3.org/2000/svg}"


class Drawn:
    """The document of a drawing."""

    def __init__(self, drawing: Drawing) -> None:
        self.root = Xml.fromstring(drawing.svg)
        _, _, self.width, self.height = map(float, self.root.attrib["viewBox"].split())

    def texts(self) -> list[str]:
        """All words, in the order in which they are written."""
        return [text.text or "" for text in self.root.iter(f"{SVG}text")]

    def boxes(self) -> list[tuple[str, BaseGeometry]]:
        """Each text with about the room it takes."""
        return [
            (text.text or "", text_box(
                (float(text.attrib["x"]), float(text.attrib["y"])), text.text or "",
                float(text.attrib["font-size"]), bold="font-weight" in text.attrib,
                anchor=text.attrib.get("text-anchor", "start"),
            )) for text in self.root.iter(f"{SVG}text")
        ]

    def overlaps(self) -> list[tuple[str, str]]:
        """Texts that lie over each other."""
        boxes = self.boxes()
        return [
            (one, other) for i, (one, box) in enumerate(boxes) for other, second in boxes[:i]
            if box.intersection(second).area > 0.5
        ]

    def outside(self) -> list[str]:
        """What lies outside the view box: texts by their words, lines by their points."""
        view = shapely.box(0, 0, self.width, self.height)
        texts = [text for text, box in self.boxes() if not view.covers(box)]
        paths = [path.attrib["d"] for path in self.root.iter(f"{SVG}path")]
        return texts + [d for d in paths if not view.covers(shapely.MultiPoint(_spots(d)))]

    def shape(self, name: str) -> BaseGeometry:
        """A named shape in mm, from where it happens to be drawn."""
        found = [p for p in self.root.iter(f"{SVG}path") if p.attrib.get("data-shape") == name]
        shapes = []
        for path in found:
            d, scale = path.attrib["d"], float(path.attrib["data-scale"])
            spots = [(x / scale, y / scale) for x, y in _spots(d)]
            shapes.append(shapely.Polygon(spots) if "Z" in d else shapely.LineString(spots))
        return shapely.union_all(shapes)


def _spots(d: str) -> list[tuple[float, float]]:
    numbers = [float(n) for n in re.findall(r"-?[\d.]+", d)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))
