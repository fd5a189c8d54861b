"""Nuts and studs that hold a wheel."""

from __future__ import annotations

from kb.dimensions import Dimensions
from kb.kinds.wheel import NutSeat
from kb.sizes import ThreadSize
from kb.units import Length


class WheelNut(Dimensions, kind="wheel-nut"):
    """A wheel nut."""

    thread: ThreadSize | None = None
    seat: NutSeat | None = None


class WheelStud(Dimensions, kind="wheel-stud"):
    """A stud pressed into the hub; its length is from the hub's outer face."""

    thread: ThreadSize | None = None
    length: Length | None = None
    knurl: Length | None = None
