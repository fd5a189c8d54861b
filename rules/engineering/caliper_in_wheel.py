"""A brake caliper inside a wheel: radial room to the barrel, axial room to the spokes.

The frame is that of `sections`. The caliper outline is measured from the hub face. The wheel's
profiles are measured from its mounting face, which a spacer moves outboard.
"""

from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from rules.engineering.guards import not_negative
from rules.engineering.sections import Points, grown, outline, profile
from rules.engineering.tolerance import Toleranced, exactly
from rules.engineering.wheel_room import Clearance

Numbers = NDArray[np.float64]


class CaliperClearance(NamedTuple):
    """Room around a caliper in mm; negative is overlap.

    `radial` is to the inside of the barrel, `axial` to the back of the spokes.
    """

    radial: Clearance
    axial: Clearance


class Gap(NamedTuple):
    """A gap as drawn: its length in mm, and its ends, from the caliper to the wheel."""

    length: float
    caliper: tuple[float, float]
    wheel: tuple[float, float]


class CaliperGaps(NamedTuple):
    """The least radial and axial gap of a caliper in a wheel."""

    radial: Gap
    axial: Gap


class _Direction(NamedTuple):
    """Which coordinate runs along the wheel's surface and which one is the gap."""

    surface: str
    along: int
    across: int


_RADIAL = _Direction("barrel profile", along=0, across=1)
_AXIAL = _Direction("spoke profile", along=1, across=0)


def _cuts(shape: BaseGeometry, places: Numbers, way: _Direction) -> Numbers:
    # The bounds of the shape along a straight line across the wheel's surface at each place.
    ends = shapely.get_coordinates(shape)[:, way.across]
    lines = np.empty((len(places), 2, 2))
    lines[:, :, way.along] = places[:, None]
    lines[:, 0, way.across], lines[:, 1, way.across] = ends.min() - 1.0, ends.max() + 1.0
    return np.asarray(shapely.bounds(shapely.intersection(shapely.linestrings(lines), shape)))


def _closed_at(surface: BaseGeometry, other: BaseGeometry, way: _Direction) -> float:
    # How far along the surface the other one stands across it, seen from where it ends.
    points = shapely.get_coordinates(surface)
    end = points[points[:, way.along].argmax(), way.across]
    met = _cuts(other, np.array([end]), _AXIAL if way is _RADIAL else _RADIAL)[0, way.along + 2]
    return float(other.bounds[way.along + 2] if np.isnan(met) else met)


def _stretch(
    body: BaseGeometry, surface: BaseGeometry, other: BaseGeometry, way: _Direction
) -> tuple[float, float]:
    # A surface need only run to where the other one closes the wheel: a caliper that goes
    # beyond has already struck the other one, and the gap to that one says so.
    first = body.bounds[way.along]
    last = min(body.bounds[way.along + 2], _closed_at(surface, other, way))
    begins, ends = surface.bounds[way.along], surface.bounds[way.along + 2]
    if begins > first or ends < last or last < first:
        raise ValueError(
            f"the {way.surface} is known from {begins:.1f} to {ends:.1f} mm; "
            f"the caliper needs it from {first:.1f} to {max(first, last):.1f} mm"
        )
    return first, last


def _least_gap(
    body: BaseGeometry, surface: BaseGeometry, other: BaseGeometry, way: _Direction
) -> Gap:
    # Both borders are straight between corners, so the least gap lies at a corner of one.
    first, last = _stretch(body, surface, other, way)
    corners = shapely.get_coordinates([body, surface])[:, way.along]
    places = corners[(first <= corners) & (corners <= last)]
    places = np.unique(np.concatenate((places, (first, last))))
    inner = _cuts(body, places, way)[:, way.across + 2]
    outer = _cuts(surface, places, way)[:, way.across]
    at = int((outer - inner).argmin())
    ends = ((float(places[at]), float(side[at])) for side in (inner, outer))
    start, end = ((x, y) if way is _RADIAL else (y, x) for x, y in ends)
    return Gap(float(outer[at] - inner[at]), start, end)


def caliper_clearance(
    caliper: Points,
    barrel: Points,
    spokes: Points,
    spacer: Toleranced | None = None,
    caliper_tolerance: float = 0.0,
    wheel_tolerance: float = 0.0,
) -> CaliperClearance:
    """Return the radial and axial room between a caliper and the wheel around it, mm.

    `caliper` holds the corners of its outline (x from the hub face, y from the axis); `barrel`
    and `spokes` the points of the wheel's inside, x from its mounting face. `spacer` in mm moves
    the wheel outboard. The two tolerances say how far each corner may lie off in x and in y.
    Each profile must run past the caliper as far as it may lie within its tolerance, but no
    further than where it meets the other one.

    Raises ValueError when a profile is too short (naming the stretch to measure), an outline
    encloses no area, or a tolerance or spacer is negative.
    Source: geometry, interval extremes.
    """
    thickness = exactly(0.0) if spacer is None else spacer
    not_negative("spacer thickness", thickness.low)
    slack = not_negative("caliper tolerance", caliper_tolerance)
    slack += not_negative("wheel tolerance", wheel_tolerance)
    # A spacer moves the wheel out, which is the same as moving the caliper in.
    body = outline(caliper)
    seen = translate(body, -thickness.nominal)
    reach = (thickness.high - thickness.low) / 2.0
    spread = grown(translate(body, -(thickness.high + thickness.low) / 2.0), slack + reach, slack)
    inside, back = profile(barrel), profile(spokes)
    return CaliperClearance(
        _clearance(seen, spread, inside, back, _RADIAL),
        _clearance(seen, spread, back, inside, _AXIAL),
    )


def _clearance(
    seen: BaseGeometry,
    spread: BaseGeometry,
    surface: BaseGeometry,
    other: BaseGeometry,
    way: _Direction,
) -> Clearance:
    nominal = _least_gap(seen, surface, other, way).length
    # The spread holds the drawn outline, so this minimum removes nothing but rounding noise.
    return Clearance(nominal, min(nominal, _least_gap(spread, surface, other, way).length))


def caliper_gaps(
    caliper: Points, barrel: Points, spokes: Points, spacer: Toleranced | None = None
) -> CaliperGaps:
    """Return where the nominal gaps of `caliper_clearance` are, in the wheel's own frame.

    x is measured from the wheel's mounting face, so a spacer has moved the caliper inboard.
    Arguments and errors as there.
    Source: geometry, interval extremes.
    """
    thickness = spacer.nominal if spacer else 0.0
    seen = translate(outline(caliper), -thickness)
    inside, back = profile(barrel), profile(spokes)
    return CaliperGaps(
        _least_gap(seen, inside, back, _RADIAL), _least_gap(seen, back, inside, _AXIAL)
    )
