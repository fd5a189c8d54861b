"""A wheel and tyre in the room the vehicle leaves for it.

The frame is that of `sections`: x outboard of the hub face, y from the wheel axis, mm. Each
part around the wheel is entered as the hub sees it in the state looked at: ride height, full
compression, full lock.
"""

import math
from dataclasses import dataclass, field
from typing import NamedTuple

from shapely import LineString, Point, box, union_all
from shapely.geometry.base import BaseGeometry

from rules.engineering.guards import not_negative, positive, within
from rules.engineering.sections import Points, grown, outline, signed_clearance
from rules.engineering.tolerance import Toleranced, exactly
from rules.engineering.wheels import BOTH_FLANGES, FLANGE_HEIGHT, RIM_DEPTH

_ARC_STEPS = 16
_SHARP = 1e-3
"""A radius below this, mm, cannot be drawn in whole; a sharp corner only reaches farther."""


class Clearance(NamedTuple):
    """A gap in mm, as drawn and in the worst case of the tolerances; negative is overlap."""

    nominal: float
    worst: float


@dataclass(frozen=True)
class WheelAndTyre:
    """What is needed to draw a tyre on its wheel, all in mm.

    `rim_diameter` and `rim_width` are nominal, without flanges; `offset` is positive when the
    mounting face lies outboard of the rim centre; `shoulder_radius` rounds the corners of the
    tread. A radius of 0, the default, is the cautious choice when it has not been measured.

    Raises ValueError for a size that is not positive, a rim outside 200 to 700 mm, a tyre no
    larger than its rim, a negative spacer or radius, or a radius larger than the section allows.
    """

    section_width: Toleranced
    overall_diameter: Toleranced
    rim_diameter: float
    rim_width: float
    offset: Toleranced
    spacer: Toleranced = field(default_factory=lambda: exactly(0.0))
    shoulder_radius: float = 0.0

    def __post_init__(self) -> None:
        positive("section width", self.section_width.low)
        within("rim diameter", self.rim_diameter, 200.0, 700.0)
        positive("rim width", self.rim_width)
        not_negative("spacer thickness", self.spacer.low)
        height = (self.overall_diameter.low - self.rim_diameter) / 2.0
        positive("height of the tyre above its rim", height)
        not_negative("shoulder radius", self.shoulder_radius)
        if self.shoulder_radius > min(height, self.section_width.low / 2.0):
            raise ValueError(
                f"shoulder radius {self.shoulder_radius:g} is larger than the tyre section allows"
            )


def _tyre(left: float, right: float, bottom: float, top: float, radius: float) -> BaseGeometry:
    if radius < _SHARP:
        return box(left, bottom, right, top)
    # A little more radius keeps the straight pieces of the drawn arc outside the true one.
    reach = radius / math.cos(math.pi / (4.0 * _ARC_STEPS))
    shoulders = (Point(x, top - radius) for x in (left + radius, right - radius))
    drawn = [shoulder.buffer(reach, quad_segs=_ARC_STEPS) for shoulder in shoulders]
    seat = LineString([(left, bottom), (right, bottom)])
    return union_all([*drawn, seat]).convex_hull.intersection(box(left, bottom, right, top))


def _envelope(
    wheel: WheelAndTyre,
    centres: tuple[float, float],
    width: float,
    diameter: float,
) -> BaseGeometry:
    low, high = centres
    seat = wheel.rim_diameter / 2.0
    flange = (wheel.rim_width + BOTH_FLANGES) / 2.0
    half = width / 2.0
    tyre = _tyre(low - half, high + half, seat, diameter / 2.0, wheel.shoulder_radius)
    rim = box(low - flange, seat - RIM_DEPTH, high + flange, seat + FLANGE_HEIGHT)
    return union_all([tyre, rim])


def nominal_envelope(wheel: WheelAndTyre) -> BaseGeometry:
    """Return the section of tyre and rim as drawn, mm.

    The tyre is a rectangle of its section width and overall diameter, rounded at the tread by
    the shoulder radius. The rim is a rectangle from the depth of its well to its flanges, which
    can stand wider than a narrow tyre. What lies inside the barrel is not drawn: compare parts
    in there with the profile of the wheel, as for a caliper.
    Source: geometry; rim allowances common practice and ISO 4000-2, from memory.
    """
    centre = wheel.spacer.nominal - wheel.offset.nominal
    return _envelope(
        wheel, (centre, centre), wheel.section_width.nominal, wheel.overall_diameter.nominal
    )


def largest_envelope(wheel: WheelAndTyre) -> BaseGeometry:
    """Return all that tyre and rim may cover within the tolerances, mm.

    It joins the largest tyre at every offset and spacer allowed, so it holds the nominal one.
    Source: geometry, interval extremes.
    """
    centres = (wheel.spacer.low - wheel.offset.high, wheel.spacer.high - wheel.offset.low)
    return _envelope(wheel, centres, wheel.section_width.high, wheel.overall_diameter.high)


def farthest(wheel: WheelAndTyre) -> tuple[float, float, float, float]:
    """Return how far `largest_envelope` reaches: inboard, down, outboard and up, all in mm.

    Each is a coordinate counted outwards, so the larger the farther. The shoulders of the tyre
    are taken as square.
    Source: geometry, interval extremes.
    """
    inmost = wheel.spacer.low - wheel.offset.high
    outmost = wheel.spacer.high - wheel.offset.low
    half = max(wheel.section_width.high, wheel.rim_width + BOTH_FLANGES) / 2.0
    seat = wheel.rim_diameter / 2.0
    top = max(wheel.overall_diameter.high / 2.0, seat + FLANGE_HEIGHT)
    return half - inmost, RIM_DEPTH - seat, outmost + half, top


def room_clearance(
    wheel: WheelAndTyre,
    keep_out: Points,
    keep_out_tolerance: float = 0.0,
) -> Clearance:
    """Return the gap between a wheel with its tyre and one part around it, mm.

    `keep_out` holds the corners of the part as the hub sees it in the state looked at;
    `keep_out_tolerance` is how far each corner may lie off in x and in y, mm. Negative is the
    shortest move that would part the two.
    Raises ValueError for an outline that encloses no area or a negative tolerance.
    Source: geometry, interval extremes.
    """
    part = outline(keep_out)
    grown_part = grown(part, keep_out_tolerance, keep_out_tolerance)
    nominal = signed_clearance(nominal_envelope(wheel), part)
    worst = signed_clearance(largest_envelope(wheel), grown_part)
    # Both shapes only grow, so this minimum removes nothing but rounding noise.
    return Clearance(nominal, min(nominal, worst))
