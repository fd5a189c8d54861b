"""Dampers, springs, mounts and links, and the axle they carry."""

from __future__ import annotations

from pydantic import Field

from kb.dimensions import Dimensions, Facts
from kb.statements import Id
from kb.texts import Count, Number
from kb.units import Damping, Length, Mass, Stiffness

_SPRINGS = (
    "Springs: compress and secure a spring before the top nut is undone; a loaded strut can kill. "
    "Stand the car on rated supports, never on a jack alone."
)


class Damper(Dimensions, kind="damper"):
    """A damper or strut with a spring seat."""

    caution = _SPRINGS
    stage = "suspension"

    travel: Length | None = Field(None, description="from full extension to its metal stop")
    bump_stop: Length | None = Field(None, description="free length of the bump stop used with it")
    bump_stop_crushed: Length | None = Field(
        None, description="height of the bump stop fully crushed; none: nothing is counted on"
    )
    shortest_seat_gap: Length | None = Field(
        None, description="between the spring seats at full droop, perch all the way up"
    )
    longest_seat_gap: Length | None = Field(
        None, description="the same, perch all the way down; a fixed seat: the same value"
    )
    perch_pitch: Length | None = Field(None, description="thread under the perch; none: fixed seat")
    spring_diameter: Length | None = None
    top_thread: Id | None = None
    clicks: Count | None = None
    softest: Damping | None = Field(None, description="slope at low speed, adjuster full soft")
    firmest: Damping | None = Field(None, description="slope at low speed, adjuster full firm")


class Spring(Dimensions, kind="spring"):
    """A main spring. `axle_mass_from` and `_to` bound the axle it is rated for."""

    caution = _SPRINGS
    stage = "suspension"
    fitted_after = ("damper",)

    rate: Stiffness | None = None
    free_length: Length | None = None
    block_length: Length | None = None
    inner_diameter: Length | None = None
    wire: Length | None = Field(None, description="diameter of the wire; gives what is not stated")
    mean_diameter: Length | None = Field(None, description="of the coils, middle of the wire")
    active_coils: Number | None = None
    total_coils: Number | None = None
    axle_mass_from: Mass | None = None
    axle_mass_to: Mass | None = None


class HelperSpring(Dimensions, kind="helper-spring"):
    """A weak spring that only takes up the slack of a short main spring."""

    caution = _SPRINGS
    stage = "suspension"
    fitted_after = ("damper",)

    rate: Stiffness | None = None
    free_length: Length | None = None
    block_length: Length | None = None
    inner_diameter: Length | None = None
    coupler: Length | None = Field(None, description="thickness of the ring to the main spring")


class TopMount(Dimensions, kind="top-mount"):
    """What carries the damper's top in the body."""

    stage = "suspension"
    fitted_after = ("spring", "helper-spring")

    bolts: Count | None = None
    bolt_circle_diameter: Length | None = None
    damper_thread: Id | None = None


class Link(Dimensions, kind="link"):
    """An anti-roll-bar link or a locating link."""

    stage = "suspension"
    fitted_after = ("damper",)

    shortest: Length | None = None
    longest: Length | None = None


class AxleLoad(Facts, group="load"):
    """What the axle carries on level ground, and how far its wheels move."""

    mass: Mass | None = None
    bump_travel: Length | None = None
    strut_bolts: Count | None = None
    strut_bolt_circle: Length | None = None


class Suspension(Facts, group="suspension"):
    """How the wheels of an axle move its springs and dampers."""

    spring_motion_ratio: Number | None = Field(None, description="spring travel over wheel travel")
    damper_motion_ratio: Number | None = Field(None, description="damper travel over wheel travel")
    unsprung_mass: Mass | None = Field(None, description="of the whole axle, not on its springs")
    engine_share: Number | None = Field(
        None, description="of the engine's mass that this axle carries, for a change of engine"
    )
    ride_height: Length | None = Field(
        None, description="wheel centre to arch edge with the perch set"
    )


class Layout(Facts, group="layout"):
    """Where the mass of the car lies; the axle masses as driven are under `load`."""

    wheelbase: Length | None = None
    centre_height: Length | None = Field(None, description="of the centre of mass, above the road")
    laden_front: Mass | None = Field(None, description="front axle, fully laden")
    laden_rear: Mass | None = Field(None, description="rear axle, fully laden")
    laden_centre_height: Length | None = None
