"""A part by its dimensions, as it is put beside another one at the same scale."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import shapely
from shapely.geometry.base import BaseGeometry

from api.drawings.paper import CHAIN, DASHED, SOLID, THIN, Style
from kb.dimensions import Dimensions
from kb.kinds.brakes import BrakeDisc, Caliper
from kb.kinds.suspension import Damper, Spring
from kb.shapes import plain
from rules.engineering.sections import outline
from rules.engineering.springs import block_length
from rules.engineering.wheel_room import WheelAndTyre
from rules.engineering.wheels import FLANGE_HEIGHT, tyre_edges

Side = Literal["below", "above", "left", "right"]
_APART = 60.0
"""Between two views of one part, mm."""
_ROUND = 32


@dataclass(frozen=True, slots=True)
class Span:
    """A dimension on one side of a figure, from a place to a place along that side, mm.

    `level` counts outwards from the figure; `text` is what is written beside it.
    """

    name: str
    side: Side
    start: float
    end: float
    text: str
    level: int = 0


@dataclass(slots=True)
class Figure:
    """Shapes in mm, y upwards: outlines, what of them is hatched, and the dimensions beside them.
    """

    lines: list[tuple[BaseGeometry, Style]] = field(default_factory=list)
    solid: list[BaseGeometry] = field(default_factory=list)
    spans: list[Span] = field(default_factory=list)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top."""
        left, bottom, right, top = shapely.total_bounds([shape for shape, _ in self.lines])
        return float(left), float(bottom), float(right), float(top)


def wheel_figure(mounted: WheelAndTyre) -> Figure:
    """Tyre and rim from the side, and from the front with the face of the hub."""
    radius, seat = mounted.overall_diameter.nominal / 2, mounted.rim_diameter / 2
    wide, spacer = mounted.section_width.nominal, mounted.spacer.nominal
    reach = tyre_edges(wide, mounted.offset.nominal, spacer)
    # From the front the hub face is where the wheel turns: inboard is to the left.
    face = radius + _APART + reach.inboard
    tyre = shapely.box(face - reach.inboard, -radius, face + reach.outboard, radius)
    rim = mounted.rim_width / 2
    middle = face - mounted.offset.nominal + spacer
    return Figure(
        lines=[
            (_circle(radius), SOLID), (_circle(seat + FLANGE_HEIGHT), THIN), (tyre, SOLID),
            (shapely.box(middle - rim, -seat, middle + rim, seat), DASHED),
            (shapely.LineString([(face, -radius * 1.06), (face, radius * 1.06)]), CHAIN),
        ],
        solid=[_circle(radius).difference(_circle(seat + FLANGE_HEIGHT))],
        spans=[
            Span("overall diameter", "below", -radius, radius, f"Ø {2 * radius:.0f} mm"),
            Span("reach inboard of the hub face", "below", face - reach.inboard, face,
                 f"{reach.inboard:.0f}"),
            Span("reach outboard of the hub face", "below", face, face + reach.outboard,
                 f"{reach.outboard:.0f}", 1),
            Span("section width", "above", face - reach.inboard, face + reach.outboard,
                 f"{wide:.0f} mm"),
        ],
    )


def part_figure(dimensions: Dimensions) -> Figure | None:
    """A part by its dimensions; None where its kind is not drawn or too little is known."""
    for kind, draw in _FIGURES.items():
        if isinstance(dimensions, kind):
            return draw(dimensions)
    return None


def _disc(disc: Any) -> Figure | None:
    if not disc.diameter or not disc.thickness:
        return None
    radius, thick = disc.diameter.value / 2, disc.thickness.value
    edge = shapely.box(radius + _APART / 2, -radius, radius + _APART / 2 + thick, radius)
    figure = Figure(
        lines=[(_circle(radius), SOLID), (edge, SOLID)], solid=[edge],
        spans=[
            Span("diameter", "below", -radius, radius, f"Ø {disc.diameter.value:g} mm"),
            Span("thickness", "above", edge.bounds[0], edge.bounds[2], f"{thick:g} mm"),
        ],
    )
    if disc.centre_bore:
        figure.lines.append((_circle(disc.centre_bore.value / 2), THIN))
    if disc.bolt_circle:
        figure.lines.append((_circle(disc.bolt_circle.diameter / 2), CHAIN))
    return figure


def _caliper(caliper: Any) -> Figure | None:
    if not caliper.outline:
        return None
    shape = outline(plain(caliper.outline))
    left, bottom, right, top = shape.bounds
    face = shapely.LineString([(0.0, bottom - 8), (0.0, top + 8)])
    return Figure(
        lines=[(shape, SOLID), (face, CHAIN)], solid=[shape],
        spans=[
            Span("width", "below", left, right, f"{right - left:.0f} mm"),
            Span("height", "right", bottom, top, f"{top - bottom:.0f} mm"),
        ],
    )


def _spring(spring: Any) -> Figure | None:
    if not spring.free_length:
        return None
    inner = spring.inner_diameter or (
        spring.mean_diameter and spring.wire
        and spring.mean_diameter.value - spring.wire.value
    )
    if not inner:
        return None
    wide, free = float(getattr(inner, "value", inner)), spring.free_length.value
    figure = Figure(
        lines=[(shapely.box(0.0, 0.0, wide, free), SOLID), (_coil(wide, free), THIN)],
        spans=[
            Span("free length", "right", 0.0, free, f"{free:g} mm"),
            Span("inner diameter", "below", 0.0, wide, f"{wide:g} inside"),
        ],
    )
    closed = _block(spring)
    if closed:
        figure.lines.append((shapely.LineString([(-12.0, closed), (wide + 8.0, closed)]), DASHED))
        figure.spans.append(
            Span("length with its coils closed", "left", 0.0, closed, f"{closed:g}")
        )
    return figure


def _block(spring: Any) -> float | None:
    if spring.block_length:
        return float(spring.block_length.value)
    if spring.wire and spring.total_coils:
        return block_length(spring.wire.value, float(spring.total_coils))
    return None


def _coil(wide: float, free: float) -> BaseGeometry:
    turns = 12
    return shapely.LineString(
        [(wide if n % 2 else 0.0, free * n / turns) for n in range(turns + 1)]
    )


def _damper(damper: Any) -> Figure | None:
    longest, travel = damper.longest_seat_gap, damper.travel
    if not longest or not travel:
        return None
    gap = shapely.box(0.0, 0.0, 40.0, longest.value)
    way = shapely.box(70.0, 0.0, 90.0, travel.value)
    figure = Figure(
        lines=[(gap, SOLID), (way, SOLID)],
        spans=[
            Span("longest gap between the seats", "left", 0.0, longest.value,
                 f"{longest.value:g}"),
            Span("travel", "right", 0.0, travel.value, f"{travel.value:g} mm"),
        ],
    )
    shortest = damper.shortest_seat_gap
    if shortest and not math.isclose(shortest.value, longest.value):
        reach = shapely.box(0.0, shortest.value, 40.0, longest.value)
        figure.lines.append((reach, DASHED))
        figure.solid.append(reach)
    if damper.bump_stop:
        stop = shapely.box(70.0, 0.0, 90.0, damper.bump_stop.value)
        figure.lines.append((stop, THIN))
        figure.solid.append(stop)
    return figure


def _circle(radius: float) -> BaseGeometry:
    return shapely.Point(0.0, 0.0).buffer(radius, quad_segs=_ROUND)


_FIGURES: Mapping[type[Dimensions], Callable[[Any], Figure | None]] = {
    BrakeDisc: _disc, Caliper: _caliper, Spring: _spring, Damper: _damper,
}

KEYS: Mapping[str, tuple[tuple[str, Style], ...]] = {
    "wheel": (
        ("tyre", SOLID), ("rim, between its bead seats", DASHED),
        ("face of the hub, with the reach inboard and outboard of it in mm", CHAIN),
    ),
    "brake-disc": (("disc, from the side and on edge", SOLID), ("bolt circle", CHAIN)),
    "caliper": (("caliper, in section", SOLID), ("face of the hub", CHAIN)),
    "spring": (("free, no load", SOLID), ("length with its coils closed", DASHED)),
    "damper": (
        ("left: gap between the spring seats at full droop; right: travel", SOLID),
        ("reach of the perch", DASHED), ("bump stop, within the travel", THIN),
    ),
}
"""What the lines of each kind's figure mean."""
