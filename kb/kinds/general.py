"""Hardware, consumables and everything whose dimensions decide nothing."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from kb.dimensions import Dimensions
from kb.kinds.wheel import MetricClass
from kb.sizes import ThreadSize
from kb.texts import Number
from kb.units import Length


class Bolt(Dimensions, kind="bolt"):
    """A bolt or screw: metric ones have a property class, inch ones a grade."""

    thread: ThreadSize | None = None
    length: Length | None = None
    property_class: MetricClass | None = None
    grade: Literal["2", "5", "8"] | None = None
    surface: Literal["plain", "zinc", "cadmium", "oiled", "anti-seize"] | None = None
    friction: Number | None = Field(None, description="of thread and head, as the maker states it")
    bearing_diameter: Length | None = Field(None, description="mean, of the contact under the head")


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

    stage = "fluids"

    duty: Literal["engine", "gearbox"] | None = None


class Coolant(Dimensions, kind="coolant"):
    """Coolant, ready mixed."""

    stage = "fluids"


class Kit(Dimensions, kind="kit"):
    """Several parts sold as one."""


class Item(Dimensions, kind="item"):
    """Any part whose dimensions decide nothing."""
