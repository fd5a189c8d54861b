"""Where a wheel sits on its hub: bolt circle, centre bore and the seats of the nuts."""

import math
from typing import NamedTuple

from rules.engineering.guards import not_negative, positive, within

USUAL_BORE_PLAY = 0.2
"""Largest play on diameter that still centres a wheel, mm. Common practice, no source."""


def _check_holes(holes: int, step: int) -> None:
    if not 3 <= holes <= 12 or holes != int(holes):
        raise ValueError(f"a bolt circle has 3 to 12 holes, not {holes:g}")
    if not 1 <= step <= holes // 2 or step != int(step):
        raise ValueError(
            f"on {holes} holes the next hole measured is 1 to {holes // 2}, not {step}"
        )


def hole_spacing(bolt_circle: float, holes: int, step: int = 1) -> float:
    """Return the centre distance of two holes, mm.

    `bolt_circle` is the diameter in mm, above zero; `holes` 3 to 12, evenly spread; `step` 1
    for neighbours, 2 for every second hole, up to half of the holes (straight across).
    Raises ValueError outside.
    Source: chord of a circle (textbook geometry).
    """
    _check_holes(holes, step)
    return positive("bolt circle", bolt_circle) * math.sin(math.pi * step / holes)


def bolt_circle(spacing: float, holes: int, step: int = 1) -> float:
    """Return the bolt circle, mm, from the centre distance of two holes in mm.

    The inverse of `hole_spacing`, with the same range and errors. On five holes the
    spacings of a 112 and a 114.3 mm circle differ by 1.35 mm: a ruler cannot tell them apart.
    Source: chord of a circle (textbook geometry).
    """
    _check_holes(holes, step)
    return positive("hole spacing", spacing) / math.sin(math.pi * step / holes)


def bore_play(wheel_bore: float, hub_spigot: float) -> float:
    """Return the play between centre bore and hub spigot on diameter, mm.

    Both diameters in mm, above zero. Negative: the wheel does not go over the hub.
    Raises ValueError outside.
    Source: arithmetic.
    """
    return positive("wheel bore", wheel_bore) - positive("hub spigot", hub_spigot)


class Ring(NamedTuple):
    """A centring ring, diameters and wall in mm."""

    outer: float
    inner: float
    wall: float


def centring_ring(
    wheel_bore: float, hub_spigot: float, play: float = USUAL_BORE_PLAY
) -> Ring | None:
    """Return the ring that centres a wheel on its hub, or None when the bore centres it alone.

    Diameters and `play` in mm. Raises ValueError when the bore is smaller than the spigot: no
    ring cures that.
    Source: common practice, no source. The clamp load, not the spigot, carries the torque.
    """
    gap = bore_play(wheel_bore, hub_spigot)
    if gap < 0.0:
        raise ValueError(
            f"wheel bore {wheel_bore:g} is smaller than hub spigot {hub_spigot:g}; no ring helps"
        )
    if gap <= not_negative("play", play):
        return None
    return Ring(wheel_bore, hub_spigot, gap / 2.0)


class Seat(NamedTuple):
    """The seat of a wheel nut or bolt.

    `family` is `conical` with `size` the included angle in degrees, `ball` with the radius in
    mm, or `flat` with 0.
    """

    family: str
    size: float


_SEAT_SIZES = {"conical": (30.0, 120.0), "ball": (5.0, 30.0), "flat": (0.0, 0.0)}


def _checked(seat: Seat) -> Seat:
    if seat.family not in _SEAT_SIZES:
        raise ValueError(f"seat must be conical, ball or flat, not {seat.family!r}")
    within(f"size of a {seat.family} seat", seat.size, *_SEAT_SIZES[seat.family])
    return seat


def seats_match(nut: Seat, wheel: Seat) -> bool:
    """Return whether a nut may be used on a wheel: same family, and same angle or radius.

    Raises ValueError for an unknown family or a size out of range.
    Source: trade articles on wheel fasteners (secondary); radii common practice, no source.
    """
    return _checked(nut) == _checked(wheel)


def seat_centres(seat: Seat) -> bool:
    """Return whether a seat centres the wheel by itself; a flat one needs a fitting bore.

    Raises ValueError for an unknown family or a size out of range.
    Source: common practice, no source.
    """
    return _checked(seat).family != "flat"
