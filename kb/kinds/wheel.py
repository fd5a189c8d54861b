"""Wheels, what centres them, the hubs they go on and the room they turn in."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from kb.dimensions import Dimensions, Facts
from kb.frozen import FrozenDict
from kb.shapes import Outline, Profile
from kb.sizes import Circle, Rim, ThreadSize
from kb.statements import Id, Statement, Text
from kb.texts import Count
from kb.units import Angle, Length, Mass, Offset, Torque

NutSeat = Literal["cone-60", "ball-R12", "ball-R13", "ball-R14", "flat"]
MetricClass = Literal["4.6", "4.8", "5.8", "6.8", "8.8", "9.8", "10.9", "12.9"]


class Wheel(Dimensions, kind="wheel"):
    """A wheel. Its profiles are measured from its mounting face.

    `barrel` is the inside of the barrel, `spokes` the back of the spokes. `seat_thickness` is the
    metal between the mounting face and where the thread of a seated nut begins.
    """

    caution = (
        "Wheels: tighten with a calibrated wrench in a cross pattern to the vehicle maker's "
        "torque, and check again after 50 km."
    )
    stage = "wheels-and-tyres"
    fitted_after = ("tyre", "centring-ring", "spacer")

    rim: Rim | None = None
    offset: Offset | None = None
    bolt_circle: Circle | None = None
    holes: Count | None = None
    hole_spacing: Length | None = Field(None, description="between centres of neighbouring holes")
    centre_bore: Length | None = None
    nut_seat: NutSeat | None = None
    seat_thickness: Length | None = Field(
        None, description="mounting face to where the thread of a seated nut begins"
    )
    valve_hole: Length | None = None
    load_rating: Mass | None = None
    barrel: Profile | None = Field(None, description="inside of the barrel, from the mounting face")
    spokes: Profile | None = Field(None, description="back of the spokes, from the mounting face")
    profile_tolerance: Length | None = Field(
        None, description="how far each point of the profiles may lie off; none: exact"
    )


class CentringRing(Dimensions, kind="centring-ring"):
    """A ring that centres a larger wheel bore on the hub spigot."""

    stage = "wheels-and-tyres"

    outer_diameter: Length | None = None
    inner_diameter: Length | None = None


class Spacer(Dimensions, kind="spacer"):
    """A plate between hub and wheel."""

    stage = "wheels-and-tyres"

    thickness: Length | None = None
    bolt_circle: Circle | None = None
    centre_bore: Length | None = None


class Hub(Facts, group="hub"):
    """The hub a wheel is bolted to. Studs are measured from the face the wheel sits on."""

    bolt_circle: Circle | None = None
    holes: Count | None = None
    hole_spacing: Length | None = Field(None, description="between centres of neighbouring studs")
    spigot: Length | None = None
    stud_thread: ThreadSize | None = None
    stud_length: Length | None = Field(None, description="face the wheel sits on to the tip")
    stud_lead_in: Length | None = Field(None, description="tip without full thread; none: 0")
    wheel_torque: Torque | None = Field(None, description="the vehicle maker's, for its own nuts")


class State(Statement):
    """An obstacle as the hub sees it in one state of the suspension.

    Either its `outline` was measured in that state, or it is the obstacle's own outline after the
    wheel has risen by `rise`; `camber` is then the change, negative when the top leans in.
    """

    state: Literal["ride-height", "full-compression", "full-droop", "full-lock"] = "ride-height"
    outline: Outline | None = None
    rise: Offset | None = None
    camber: Angle | None = None


class Obstacle(Statement):
    """A part of the car that a wheel may strike, in the plane fixed to the hub.

    Without an `outline` it is known to be there, but has not been measured.
    """

    name: Text = Field(description="as said to a customer")
    outline: Outline | None = Field(None, description="its corners, as measured")
    tolerance: Length | None = Field(None, description="how far each corner may lie off; none: 0")
    states: tuple[State, ...] = Field((State(),), min_length=1, description="where it is judged")


class Room(Facts, group="room"):
    """What stands around a wheel, by the id that work steps relieve it by."""

    obstacles: FrozenDict[Id, Obstacle] | None = None
    swing_arm: Length | None = Field(
        None, description="front-view swing arm: gives the camber of a state that states none"
    )
