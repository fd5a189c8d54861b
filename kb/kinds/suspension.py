"""Dampers, springs, mounts and links, and the axle they carry."""

from __future__ import annotations

from kb.dimensions import Dimensions, Facts
from kb.statements import Id
from kb.texts import Count
from kb.units import Length, Mass, Stiffness

_SPRINGS = (
    "Springs: compress and secure a spring before the top nut is undone; a loaded strut can kill. "
    "Stand the car on rated supports, never on a jack alone."
)


class Damper(Dimensions, kind="damper"):
    """A damper or strut with a spring seat."""

    caution = _SPRINGS

    travel: Length | None = None
    spring_diameter: Length | None = None
    top_thread: Id | None = None
    clicks: Count | None = None


class Spring(Dimensions, kind="spring"):
    """A main spring. `axle_mass_from` and `_to` bound the axle it is rated for."""

    caution = _SPRINGS

    rate: Stiffness | None = None
    free_length: Length | None = None
    block_length: Length | None = None
    inner_diameter: Length | None = None
    axle_mass_from: Mass | None = None
    axle_mass_to: Mass | None = None


class HelperSpring(Dimensions, kind="helper-spring"):
    """A weak spring that only takes up the slack of a short main spring."""

    caution = _SPRINGS

    rate: Stiffness | None = None
    free_length: Length | None = None
    block_length: Length | None = None
    inner_diameter: Length | None = None


class TopMount(Dimensions, kind="top-mount"):
    """What carries the damper's top in the body."""

    bolts: Count | None = None
    bolt_circle_diameter: Length | None = None
    damper_thread: Id | None = None


class Link(Dimensions, kind="link"):
    """An anti-roll-bar link or a locating link."""

    shortest: Length | None = None
    longest: Length | None = None


class AxleLoad(Facts, group="load"):
    """What the axle carries on level ground, and how far its wheels move."""

    mass: Mass | None = None
    bump_travel: Length | None = None
    strut_bolts: Count | None = None
    strut_bolt_circle: Length | None = None
