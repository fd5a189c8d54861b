"""Hardware, consumables and everything whose dimensions decide nothing."""

from __future__ import annotations

from typing import Literal

from kb.dimensions import Dimensions
from kb.sizes import ThreadSize
from kb.units import Length


class Bolt(Dimensions, kind="bolt"):
    """A bolt or screw."""

    thread: ThreadSize | None = None
    length: Length | None = None
    property_class: Literal["8.8", "10.9", "12.9"] | None = None


class Nut(Dimensions, kind="nut"):
    """A nut."""

    thread: ThreadSize | None = None
    locking: Literal["none", "insert", "all-metal"] | None = None


class Washer(Dimensions, kind="washer"):
    """A washer, sealing or plain."""

    inner_diameter: Length | None = None
    outer_diameter: Length | None = None
    thickness: Length | None = None


class Gasket(Dimensions, kind="gasket"):
    """A gasket."""


class Seal(Dimensions, kind="seal"):
    """A shaft seal or an O-ring."""

    inner_diameter: Length | None = None
    outer_diameter: Length | None = None


class Bearing(Dimensions, kind="bearing"):
    """A bearing."""

    inner_diameter: Length | None = None
    outer_diameter: Length | None = None


class Oil(Dimensions, kind="oil"):
    """Engine or gearbox oil."""

    duty: Literal["engine", "gearbox"] | None = None


class Coolant(Dimensions, kind="coolant"):
    """Coolant, ready mixed."""


class Kit(Dimensions, kind="kit"):
    """Several parts sold as one."""


class Item(Dimensions, kind="item"):
    """Any part whose dimensions decide nothing."""
