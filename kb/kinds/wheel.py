"""Wheels, what centres them, and the hubs they go on."""

from __future__ import annotations

from typing import Literal

from kb.dimensions import Dimensions, Facts
from kb.sizes import Circle, Rim, ThreadSize
from kb.units import Length, Mass, Offset

NutSeat = Literal["cone-60", "ball-R12", "ball-R13", "ball-R14", "flat"]


class Wheel(Dimensions, kind="wheel"):
    """A wheel, measured from its mounting face."""

    caution = (
        "Wheels: tighten with a calibrated wrench in a cross pattern to the vehicle maker's "
        "torque, and check again after 50 km."
    )

    rim: Rim | None = None
    offset: Offset | None = None
    bolt_circle: Circle | None = None
    centre_bore: Length | None = None
    nut_seat: NutSeat | None = None
    valve_hole: Length | None = None
    load_rating: Mass | None = None


class CentringRing(Dimensions, kind="centring-ring"):
    """A ring that centres a larger wheel bore on the hub spigot."""

    outer_diameter: Length | None = None
    inner_diameter: Length | None = None


class Spacer(Dimensions, kind="spacer"):
    """A plate between hub and wheel."""

    thickness: Length | None = None
    bolt_circle: Circle | None = None
    centre_bore: Length | None = None


class Hub(Facts, group="hub"):
    """The hub a wheel is bolted to."""

    bolt_circle: Circle | None = None
    spigot: Length | None = None
    stud_thread: ThreadSize | None = None
    stud_length: Length | None = None
