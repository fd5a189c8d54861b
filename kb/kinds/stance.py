"""How a car stands: what the setting of corner weights needs to know of an axle."""

from __future__ import annotations

from pydantic import Field

from kb.dimensions import Facts
from kb.units import Length, Stiffness


class Stance(Facts, group="stance"):
    """An axle's track, and its anti-roll bar."""

    track: Length | None = Field(None, description="between the middles of the tyres' contact")
    bar_rate: Stiffness | None = Field(
        None, description="load at one wheel per mm of difference between the two, from the bar"
    )
