"""Plane sections and how far apart they are.

Every section lies in one half-plane fixed to the hub: x is the distance outboard of the hub
face, y the distance from the wheel axis, both in mm. A wheel turns about that axis, so the
shortest way from its surface to any point stays in the half-plane of that point. A part that
surrounds the wheel may therefore be entered by these two distances alone, wherever it sits
around the axis, and the clearance found here is the true one in space.
"""

import math
from collections.abc import Sequence
from typing import cast

import shapely
from shapely import LineString, Point, Polygon
from shapely.affinity import rotate, scale, translate
from shapely.geometry.base import BaseGeometry

Points = Sequence[tuple[float, float]]

_ORIGIN = Point(0.0, 0.0)


def outline(points: Points) -> Polygon:
    """Return the closed shape through `points` (mm, mm); the last joins the first.

    Raises ValueError for fewer than three points, numbers that are not finite, a border that
    crosses itself, or no area.
    Source: geometry.
    """
    _check_points("an outline", points, 3)
    shape = Polygon(points)
    if not shape.is_valid or shape.area <= 0.0:
        raise ValueError("an outline must enclose an area and must not cross itself")
    return shape


def profile(points: Points) -> LineString:
    """Return the open line through `points` (mm, mm).

    Raises ValueError for fewer than two points, numbers that are not finite, or no length.
    Source: geometry.
    """
    _check_points("a profile", points, 2)
    line = LineString(points)
    if line.length <= 0.0:
        raise ValueError("a profile must have a length")
    return line


def _check_points(what: str, points: Points, least: int) -> None:
    if len(points) < least:
        raise ValueError(f"{what} needs at least {least} points, not {len(points)}")
    if not all(math.isfinite(number) for point in points for number in point):
        raise ValueError(f"{what} must have finite numbers only")


def _convex_parts(shape: BaseGeometry) -> list[BaseGeometry]:
    if math.isclose(shape.convex_hull.area, shape.area, rel_tol=1e-12):
        return [shape]
    return list(shapely.constrained_delaunay_triangles(shape).geoms)


def _sum_of_convex(a: BaseGeometry, b: BaseGeometry) -> BaseGeometry:
    # All sums of corners at once: this is the innermost step of every clearance.
    first, second = shapely.get_coordinates(a), shapely.get_coordinates(b)
    sums = (first[:, None, :] + second[None, :, :]).reshape(-1, 2)
    return cast(BaseGeometry, shapely.convex_hull(shapely.multipoints(sums)))


def sweep(shape: BaseGeometry, by: BaseGeometry) -> BaseGeometry:
    """Return every place the points of `shape` can reach when moved by a vector of `by`.

    Both in mm. Shapes need not be convex: the sum of a union is the union of the sums.
    Source: Minkowski sum (textbook geometry).
    """
    sums = [_sum_of_convex(p, q) for p in _convex_parts(shape) for q in _convex_parts(by)]
    return shapely.union_all(sums)


def grown(shape: BaseGeometry, along_x: float, along_y: float) -> BaseGeometry:
    """Return all a shape may cover when it lies up to this far off each way, mm.

    This is exact for two independent tolerances. Raises ValueError for a negative tolerance.
    Source: Minkowski sum with a rectangle (textbook geometry).
    """
    if not (along_x >= 0.0 and along_y >= 0.0):
        raise ValueError(f"a tolerance must be zero or more, not {along_x:g} and {along_y:g}")
    return sweep(shape, shapely.box(-along_x, -along_y, along_x, along_y))


def signed_clearance(a: BaseGeometry, b: BaseGeometry) -> float:
    """Return the distance between two shapes, mm; negative is the depth of an overlap.

    The depth is the shortest move, in any direction, that would part the two shapes.
    Source: distance, and penetration depth by Minkowski difference (textbook geometry).
    """
    if not a.intersects(b):
        return float(a.distance(b))
    return -float(_ORIGIN.distance(_moves_apart(a, b))) + 0.0


def _moves_apart(a: BaseGeometry, b: BaseGeometry) -> BaseGeometry:
    """Every move of `b` that just parts it from `a`, which it overlaps."""
    return sweep(a, scale(b, -1.0, -1.0, origin=_ORIGIN)).boundary


def shortest_way(a: BaseGeometry, b: BaseGeometry) -> LineString:
    """Return the line whose length is `signed_clearance`, mm: from `a` to `b` across the gap.

    Of shapes that overlap, the shortest move of `b` that would part the two, drawn from the
    middle of the overlap.
    Source: as `signed_clearance`.
    """
    if not a.intersects(b):
        return shapely.shortest_line(a, b)
    start = a.intersection(b).centroid
    move = shapely.shortest_line(_ORIGIN, _moves_apart(a, b)).coords[1]
    return LineString([(start.x, start.y), (start.x + move[0], start.y + move[1])])


def camber_change(travel: float, swing_arm: float) -> float:
    """Return the camber gained over a suspension travel, degrees.

    `travel` in mm from ride height, `swing_arm` the length of the front-view swing arm in mm
    (above zero). Raises ValueError outside.
    Source: atan(travel / length), vehicle-dynamics textbooks, computed.
    """
    if not swing_arm > 0.0:
        raise ValueError(f"swing arm must be longer than zero, not {swing_arm:g}")
    return math.degrees(math.atan2(travel, swing_arm))


def seen_from_hub(shape: BaseGeometry, rise: float, camber: float = 0.0) -> BaseGeometry:
    """Return a part of the body as the hub sees it after the wheel has risen.

    `shape` was measured at ride height, straight above the axle; `rise` in mm; `camber` is the
    change of camber in degrees, positive when the top of the wheel moves outboard (a wheel that
    rises usually leans in: negative). Only for parts in the upright plane through the wheel
    axis; measure others again in that state.
    Source: rigid motion in a plane (textbook geometry).
    """
    return rotate(translate(shape, 0.0, -rise), camber, origin=_ORIGIN)
