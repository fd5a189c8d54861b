"""Tyres, and what a car asks of them: its driveline, its speed and its permitted loads."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from kb.dimensions import Dimensions, Facts
from kb.sizes import Rim, Tyre
from kb.texts import Count, Flag, Number
from kb.units import Length, Mass, Pressure, Speed


class TyreDimensions(Dimensions, kind="tyre"):
    """A tyre. What its maker states wins over what follows from the size on the sidewall."""

    caution = (
        "Tyres: fitting and inflation are for trained hands; stay within the marked bead-seating "
        "pressure and stand clear."
    )
    stage = "wheels-and-tyres"
    fitted_after = ("pressure-sensor", "sensor-service")

    size: Tyre | None = None
    narrowest_rim: Rim | None = None
    widest_rim: Rim | None = None
    overall_diameter: Length | None = Field(None, description="as its maker states it")
    section_width: Length | None = Field(None, description="as its maker states it")
    measured_on: Rim | None = Field(None, description="the rim the stated section is meant on")
    shoulder_radius: Length | None = Field(None, description="of the tread's corner; none: square")
    treadwear: Count | None = None
    use: Literal["road", "winter", "closed-course"] | None = Field(
        None, description="winter and closed-course tyres may be slower than the car"
    )


class Driveline(Facts, group="driveline"):
    """Ratios of the car as built, and how fast it goes."""

    driven: Literal["front", "rear", "both"] | None = None
    final_drive: Number | None = None
    top_gear: Number | None = None
    top_speed: Speed | None = None


class Plate(Facts, group="plate"):
    """What the vehicle's plate and handbook say of one axle."""

    axle_load: Mass | None = Field(None, description="the most the axle may carry")
    tyre_pressure: Pressure | None = Field(None, description="cold, at full load")
    truck: Flag | None = Field(
        None, description="true: a truck, bus or trailer in law, where passenger tyres carry less"
    )
