"""Nuts and studs that hold a wheel."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from kb.dimensions import Dimensions
from kb.kinds.wheel import MetricClass, NutSeat
from kb.sizes import ThreadSize
from kb.texts import Flag
from kb.units import Length

NutClass = Literal["5", "6", "8", "9", "10", "12"]
"""Strength of a nut by ISO 898-2."""


class WheelNut(Dimensions, kind="wheel-nut"):
    """A wheel nut. Lengths run from where its thread begins at the seat."""

    stage = "wheels-and-tyres"
    fitted_after = ("wheel",)

    thread: ThreadSize | None = None
    seat: NutSeat | None = None
    thread_length: Length | None = None
    closed: Flag | None = None
    depth: Length | None = Field(None, description="of a closed nut, to where a stud bottoms")
    nut_class: NutClass | None = None


class WheelStud(Dimensions, kind="wheel-stud"):
    """A stud pressed into the hub; its length is from the face the wheel sits on to its tip."""

    stage = "modify"

    thread: ThreadSize | None = None
    length: Length | None = None
    lead_in: Length | None = Field(None, description="tip without full thread; none: 0")
    knurl: Length | None = None
    property_class: MetricClass | None = None
