"""Calipers, discs, pads and master cylinders."""

from __future__ import annotations

from typing import Literal

from kb.dimensions import Dimensions
from kb.kinds.brake_lines import EndSeat
from kb.sizes import Circle, ThreadSize
from kb.statements import Id
from kb.units import Area, Length

_BRAKES = (
    "Brakes: follow the vehicle maker's manual; bleed until the pedal is firm, check for leaks at "
    "full effort, and prove them with a slow stop before the road."
)


class Caliper(Dimensions, kind="caliper"):
    """A caliper and the disc and pads it is made for."""

    caution = _BRAKES

    mounting: Literal["fixed", "floating"] | None = None
    pistons_per_side: int | None = None
    piston_diameter: Length | None = None
    disc_diameter: Length | None = None
    disc_thickness: Length | None = None
    pad_shape: Id | None = None
    bolt_spacing: Length | None = None
    inlet: ThreadSize | None = None
    inlet_seat: EndSeat | None = None
    parking_brake: Literal["arm", "drum", "none"] | None = None


class CaliperBracket(Dimensions, kind="caliper-bracket"):
    """What carries a caliper on an upright, made for one disc."""

    caution = _BRAKES

    bolt_spacing: Length | None = None
    disc_diameter: Length | None = None


class BrakeDisc(Dimensions, kind="brake-disc"):
    """A disc. `height` is from the hub face to the outboard friction face."""

    caution = _BRAKES

    diameter: Length | None = None
    thickness: Length | None = None
    minimum_thickness: Length | None = None
    height: Length | None = None
    centre_bore: Length | None = None
    bolt_circle: Circle | None = None


class BrakePad(Dimensions, kind="brake-pad"):
    """A set of pads for one axle."""

    caution = _BRAKES

    shape: Id | None = None
    area: Area | None = None
    friction: float | None = None


class MasterCylinder(Dimensions, kind="master-cylinder"):
    """A brake master cylinder."""

    caution = _BRAKES

    bore: Length | None = None
    stroke: Length | None = None
    outlet: ThreadSize | None = None
