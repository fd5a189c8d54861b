"""Points, profiles and outlines in a plane, read from texts such as "-20, 118 mm".

All lie in the half-plane fixed to the hub: x outboard of the face the wheel sits on, y from the
wheel axis. What turns with the wheel is entered as a profile, what stands still as an outline.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated

from pydantic import AfterValidator

from kb.errors import shown
from kb.texts import text_type
from kb.units import parse_quantity

_POINT = re.compile(r"\s*([^,]{1,40}?)\s*,\s*([^,]{1,40}?)\s*")
_BARE = re.compile(r"[+-]?[0-9.]+")
_UNIT = re.compile(r"[A-Za-z].*")
_FARTHEST = 2000.0
_MOST = 200


@dataclass(frozen=True, slots=True)
class PlanePoint:
    """A point, mm: x outboard of the hub face, y from the wheel axis."""

    x: float
    y: float

    def __str__(self) -> str:
        return f"{self.x:.6g}, {self.y:.6g} mm"


def parse_point(text: str) -> PlanePoint:
    """Reads "-20, 118 mm"; one unit may stand for both. Raises ValueError saying what is wrong."""
    match = _POINT.fullmatch(text)
    if not match:
        raise ValueError(f"{shown(text)} is not a point, such as '-20, 118 mm'")
    first, second = match.groups()
    unit = _UNIT.search(second)
    if unit and _BARE.fullmatch(first):
        first = f"{first} {unit[0]}"
    x, y = parse_quantity(first, "length"), parse_quantity(second, "length")
    if x.tolerance or y.tolerance:
        raise ValueError(f"{shown(text)} has a tolerance; state one for the whole shape instead")
    if y.value < 0 or max(abs(x.value), y.value) > _FARTHEST:
        raise ValueError(
            f"{shown(text)} is out of range: y is a distance from the wheel axis, below 2000 mm"
        )
    return PlanePoint(x.value, y.value)


class _Reads:
    """Says what a shape is, as `text_type` does for single texts."""

    def __init__(self, what: str) -> None:
        self.reads = tuple, what


def _with_length(points: tuple[PlanePoint, ...]) -> tuple[PlanePoint, ...]:
    """A profile needs two different points."""
    if not 2 <= len(set(points)) <= _MOST:
        raise ValueError(f"expected a line: two different points or more, up to {_MOST}")
    return points


def _with_area(points: tuple[PlanePoint, ...]) -> tuple[PlanePoint, ...]:
    """An outline encloses an area and does not cross itself."""
    from shapely import Polygon  # imported on first use: few files hold outlines

    if not 3 <= len(points) <= _MOST:
        raise ValueError(f"expected an outline: three points or more, up to {_MOST}")
    shape = Polygon([(point.x, point.y) for point in points])
    if not shape.is_valid or shape.area <= 0:
        raise ValueError("expected an outline that encloses an area and does not cross itself")
    return points


Point = Annotated[PlanePoint, text_type(PlanePoint, parse_point, "point with its unit",
                                        "-20, 118 mm")]
Profile = Annotated[
    tuple[Point, ...], AfterValidator(_with_length), _Reads("profile")
]
Outline = Annotated[
    tuple[Point, ...], AfterValidator(_with_area), _Reads("outline")
]


def plain(points: tuple[PlanePoint, ...]) -> tuple[tuple[float, float], ...]:
    """The points as pairs of numbers, mm."""
    return tuple((point.x, point.y) for point in points)
