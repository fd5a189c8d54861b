"""Brake hoses, pipes and fluid, and what the car's hydraulics call for."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from kb.dimensions import Dimensions, Facts
from kb.sizes import ThreadSize
from kb.texts import Number
from kb.units import Angle, Length, Offset, Temperature

EndSeat = Literal["banjo", "inverted-flare", "bubble-flare", "cone"]
FluidGrade = Literal["DOT 3", "DOT 4", "DOT 5", "DOT 5.1", "mineral"]

_LINES = (
    "Brake lines: no joint may seep at full pedal effort; route clear of wheel, damper and exhaust "
    "over full travel and lock."
)


class BrakeHose(Dimensions, kind="brake-hose"):
    """A flexible hose from the body's pipe to the caliper."""

    caution = _LINES
    stage = "brakes"
    fitted_after = ("caliper", "wheel-cylinder")

    body_end: ThreadSize | None = None
    body_seat: EndSeat | None = None
    caliper_end: ThreadSize | None = None
    caliper_seat: EndSeat | None = None
    length: Length | None = None
    bore: Length | None = None


class BrakePipe(Dimensions, kind="brake-pipe"):
    """A rigid pipe with a nut at each end."""

    caution = _LINES
    stage = "brakes"

    thread: ThreadSize | None = None
    seat: EndSeat | None = None
    diameter: Length | None = None


class BrakeFluid(Dimensions, kind="brake-fluid"):
    """Brake fluid."""

    caution = (
        "Brake fluid: only from a sealed container and of the grade on the reservoir cap; never "
        "mix silicone or mineral fluid with glycol fluid."
    )
    stage = "fluids"

    grade: FluidGrade | None = None
    dry_boiling: Temperature | None = None
    wet_boiling: Temperature | None = None


class Hydraulics(Facts, group="hydraulics"):
    """The brake hydraulics of the car."""

    fluid_grades: tuple[FluidGrade, ...] | None = None
    pipe_thread: ThreadSize | None = None
    pipe_seat: EndSeat | None = None
    rear_pressure_share: Number | None = Field(
        None,
        description="of the line pressure that reaches the rear brakes: 1 without a reducing "
        "valve; leave out for a valve whose share changes with pressure or load",
    )


class HoseRoute(Facts, group="hose-route"):
    """Where the left wheel's hose is held, at ride height with the wheel straight ahead.

    From any one point of the car: x forward, y to the left, z up.
    """

    body_x: Offset | None = None
    body_y: Offset | None = None
    body_z: Offset | None = None
    wheel_x: Offset | None = None
    wheel_y: Offset | None = None
    wheel_z: Offset | None = None
    steer_x: Offset | None = Field(None, description="the steering axis, where the wheel steers")
    steer_y: Offset | None = None
    compression: Length | None = Field(None, description="wheel travel upward from ride height")
    droop: Length | None = Field(None, description="wheel travel downward from ride height")
    lock: Angle | None = Field(None, description="steering angle each way; 0 for the rear")
