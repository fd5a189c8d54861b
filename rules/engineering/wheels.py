"""Wheel dimensions that follow from the rim size, the offset and a spacer."""

from typing import NamedTuple

from rules.engineering.guards import not_negative, within
from rules.engineering.tyres import MM_PER_INCH, RIM_DIAMETER_CODES, RIM_WIDTH_CODES

BOTH_FLANGES = 25.0
"""Overall width of a rim beyond its nominal width, mm. Common practice, no source."""

FLANGE_HEIGHT = 17.3
"""Height of a J flange above the bead seat, mm. ISO 4000-2 Table 1, from memory."""

RIM_DEPTH = 20.0
"""How far well and wall of a rim reach below its bead seat, mm. Common practice, no source."""

ROOM_FOR_CALIPER = 102.0
"""Rim diameter (25.4 x code) less the largest usual disc, mm. Common practice, no source."""

_LAST_LOW_SEAT_CODE = 16


class Edges(NamedTuple):
    """Distances from the hub face to the edges of a wheel or tyre, mm, both normally positive.

    `inboard` is measured towards the middle of the vehicle, `outboard` away from it.
    """

    inboard: float
    outboard: float


def _edges(width: float, offset: float, spacer: float) -> Edges:
    within("offset", offset, -200.0, 200.0)
    not_negative("spacer thickness", spacer)
    inset = offset - spacer
    return Edges(width / 2.0 + inset, width / 2.0 - inset)


def wheel_edges(
    rim_width_code: float, offset: float, spacer: float = 0.0, flanges: float = 0.0
) -> Edges:
    """Return how far a rim reaches inboard and outboard of the hub face, mm.

    `rim_width_code` in inches (3 to 16); `offset` in mm (-200 to 200), positive when the
    mounting face lies outboard of the rim centre; `spacer` in mm, zero or more. With `flanges`
    at 0 the edges are those of the nominal width; give `BOTH_FLANGES` for the metal itself.
    Raises ValueError outside the ranges.
    Source: geometry; sign of the offset from a terminology note (secondary).
    """
    within("rim width code", rim_width_code, *RIM_WIDTH_CODES)
    not_negative("flange allowance", flanges)
    return _edges(MM_PER_INCH * rim_width_code + flanges, offset, spacer)


def tyre_edges(section_width: float, offset: float, spacer: float = 0.0) -> Edges:
    """Return how far a tyre reaches inboard and outboard of the hub face, mm.

    `section_width` in mm on the rim it is mounted on (100 to 500), the rest as `wheel_edges`.
    Raises ValueError outside the ranges.
    Source: geometry.
    """
    within("section width", section_width, 100.0, 500.0)
    return _edges(section_width, offset, spacer)


def edge_change(old: Edges, new: Edges) -> Edges:
    """Return how much further the new edges reach, mm; negative where they reach less far.

    Source: arithmetic.
    """
    return Edges(new.inboard - old.inboard, new.outboard - old.outboard)


def specified_rim_diameter(rim_code: float) -> float:
    """Return the diameter of the bead seat of a 5 degree drop-centre rim, mm.

    Valid for whole rim codes 10 to 24: 0.8 mm less than 25.4 x code up to 16, and 4.8 mm more
    from 17. Raises ValueError for others.
    Source: ISO 4000-2 Table 4, from memory.
    """
    within("rim diameter code", rim_code, *RIM_DIAMETER_CODES)
    if rim_code != int(rim_code):
        raise ValueError(f"rim diameter code must be a whole number, not {rim_code:g}")
    return MM_PER_INCH * rim_code + (-0.8 if rim_code <= _LAST_LOW_SEAT_CODE else 4.8)


def largest_usual_disc(rim_code: float, room: float = ROOM_FOR_CALIPER) -> float:
    """Return the largest brake disc a wheel of this size usually admits, mm; a note, no verdict.

    `room` in mm is what caliper, clearance and barrel take from the rim diameter. The check of
    the caliper outline against the wheel profile decides. `rim_code` in inches (13 to 22);
    raises ValueError outside.
    Source: common practice, no source (17 inch wheels take discs up to about 330 mm).
    """
    within("rim diameter code", rim_code, 13.0, 22.0)
    return MM_PER_INCH * rim_code - not_negative("room for the caliper", room)
