"""Calipers, discs, pads, drums and master cylinders, and what the car adds to them."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from kb.dimensions import Dimensions, Facts
from kb.kinds.brake_lines import EndSeat
from kb.shapes import Outline
from kb.sizes import Circle, ThreadSize
from kb.statements import Id
from kb.texts import Count, Number
from kb.units import Angle, Area, Force, Length, Mass

_BRAKES = (
    "Brakes: follow the vehicle maker's manual; bleed until the pedal is firm, check for leaks at "
    "full effort, and prove them with a slow stop before the road."
)


class Caliper(Dimensions, kind="caliper"):
    """A caliper and the disc and pads it is made for."""

    caution = _BRAKES
    stage = "brakes"
    fitted_after = ("brake-disc", "caliper-bracket")

    mounting: Literal["fixed", "floating"] | None = None
    pistons_per_side: Count | None = None
    piston_diameter: Length | None = None
    piston_diameters: tuple[Length, ...] | None = Field(
        None, description="one side's pistons, where they differ"
    )
    disc_diameter: Length | None = None
    disc_thickness: Length | None = None
    pad_shape: Id | None = None
    bolt_spacing: Length | None = None
    inlet: ThreadSize | None = None
    inlet_seat: EndSeat | None = None
    parking_brake: Literal["arm", "drum", "none"] | None = None
    arm_gain: Number | None = Field(
        None, description="clamp force over cable force of the parking-brake arm"
    )
    outline: Outline | None = Field(
        None, description="its corners when mounted, x from the face the wheel sits on"
    )
    outline_tolerance: Length | None = Field(
        None, description="how far each corner may lie off; none: exact"
    )


class CaliperBracket(Dimensions, kind="caliper-bracket"):
    """What carries a caliper on an upright, made for one disc."""

    caution = _BRAKES
    stage = "brakes"

    bolt_spacing: Length | None = None
    disc_diameter: Length | None = None


class BrakeDisc(Dimensions, kind="brake-disc"):
    """A disc. `height` is from the hub face to the outboard friction face."""

    caution = _BRAKES
    stage = "brakes"

    diameter: Length | None = None
    thickness: Length | None = None
    minimum_thickness: Length | None = None
    ring_mass: Mass | None = Field(None, description="of the ring the pads rub, without its bell")
    height: Length | None = None
    centre_bore: Length | None = None
    bolt_circle: Circle | None = None


class BrakePad(Dimensions, kind="brake-pad"):
    """A set of pads for one axle."""

    caution = _BRAKES
    stage = "brakes"
    fitted_after = ("caliper", "parking-caliper")

    shape: Id | None = None
    height: Length | None = Field(None, description="of the lining, along the disc's radius")
    edge_gap: Length | None = Field(
        None, description="from the disc's edge to the lining; none: flush with the edge"
    )
    area: Area | None = Field(None, description="of one pad's lining")
    angle: Angle | None = Field(None, description="of the ring that one pad covers")
    friction: Number | None = None


class MasterCylinder(Dimensions, kind="master-cylinder"):
    """A brake master cylinder."""

    caution = _BRAKES
    stage = "brakes"

    bore: Length | None = None
    stroke: Length | None = None
    outlet: ThreadSize | None = None


class ParkingCaliper(Dimensions, kind="parking-caliper"):
    """A caliper that only a cable moves, with its pads."""

    caution = _BRAKES
    stage = "brakes"
    fitted_after = ("brake-disc",)

    arm_gain: Number | None = Field(None, description="clamp force over cable force")
    pad_height: Length | None = None
    pad_edge_gap: Length | None = None
    friction: Number | None = None


class BrakeDrum(Dimensions, kind="brake-drum"):
    """A drum, measured across its friction face."""

    caution = _BRAKES
    stage = "brakes"
    fitted_after = ("brake-shoe",)

    diameter: Length | None = None


class BrakeShoe(Dimensions, kind="brake-shoe"):
    """A set of shoes for one axle."""

    caution = _BRAKES
    stage = "brakes"
    fitted_after = ("wheel-cylinder",)

    brake_factor: Number | None = Field(
        None, description="friction force at the drum over the force that spreads one shoe"
    )
    arm_gain: Number | None = Field(
        None, description="force that spreads one shoe over cable force of the parking brake"
    )


class WheelCylinder(Dimensions, kind="wheel-cylinder"):
    """A cylinder that spreads the shoes of one drum."""

    caution = _BRAKES
    stage = "brakes"

    bore: Length | None = None


class BalanceValve(Dimensions, kind="balance-valve"):
    """A valve that lets the driver lower the pressure at the rear."""

    caution = _BRAKES
    stage = "brakes"

    least_share: Number | None = Field(
        None, description="lowest share of its inlet pressure that it can be set to pass"
    )


class Pedal(Facts, group="pedal"):
    """The brake pedal and its booster."""

    ratio: Number | None = Field(None, description="pedal travel over rod travel")
    booster_gain: Number | None = Field(
        None, description="rod force out over rod force in; 1 without a booster"
    )
    most_assist: Force | None = Field(None, description="what the booster adds before it runs out")


class RearBrake(Facts, group="rear-brake"):
    """What is known of rear brakes that are not in the catalogue."""

    force_per_bar: Force | None = Field(
        None, description="brake force of the axle on a tester, per bar of its line pressure"
    )


class ParkingBrake(Facts, group="parking-brake"):
    """The lever and the cables."""

    lever_ratio: Number | None = Field(None, description="cable force over hand force")
    efficiency: Number | None = Field(None, description="of the cable run, 0 to 1")
