"""Brake hoses, pipes and fluid, and what the car's hydraulics call for."""

from __future__ import annotations

from typing import Literal

from kb.dimensions import Dimensions, Facts
from kb.sizes import ThreadSize
from kb.units import Length, Temperature

EndSeat = Literal["banjo", "inverted-flare", "bubble-flare", "cone"]
FluidGrade = Literal["DOT 3", "DOT 4", "DOT 5", "DOT 5.1", "mineral"]

_LINES = (
    "Brake lines: no joint may seep at full pedal effort; route clear of wheel, damper and exhaust "
    "over full travel and lock."
)


class BrakeHose(Dimensions, kind="brake-hose"):
    """A flexible hose from the body's pipe to the caliper."""

    caution = _LINES

    body_end: ThreadSize | None = None
    body_seat: EndSeat | None = None
    caliper_end: ThreadSize | None = None
    caliper_seat: EndSeat | None = None
    length: Length | None = None


class BrakePipe(Dimensions, kind="brake-pipe"):
    """A rigid pipe with a nut at each end."""

    caution = _LINES

    thread: ThreadSize | None = None
    seat: EndSeat | None = None
    diameter: Length | None = None


class BrakeFluid(Dimensions, kind="brake-fluid"):
    """Brake fluid."""

    caution = (
        "Brake fluid: only from a sealed container and of the grade on the reservoir cap; never "
        "mix silicone or mineral fluid with glycol fluid."
    )

    grade: FluidGrade | None = None
    dry_boiling: Temperature | None = None
    wet_boiling: Temperature | None = None


class Hydraulics(Facts, group="hydraulics"):
    """The brake hydraulics of the car."""

    fluid_grades: tuple[FluidGrade, ...] | None = None
    pipe_thread: ThreadSize | None = None
    pipe_seat: EndSeat | None = None
