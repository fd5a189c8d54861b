"""When something is done to a car: the stages of a build, and what comes before what in them."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal, get_args

from pydantic import Field, model_validator

from kb.statements import Basis, Selector, Statement, Text
from kb.units import Angle, Torque

Stage = Literal[
    "strip", "modify", "suspension", "brakes", "wheels-and-tyres", "engine-bay", "fluids",
    "on-the-ground", "first-start", "rollers", "road",
]
STAGES: tuple[Stage, ...] = get_args(Stage)
"""Every stage, in the order in which they are listed."""

STAGE_AFTER: Mapping[Stage, tuple[Stage, ...]] = MappingProxyType({
    "strip": (),
    "modify": ("strip",),
    "suspension": ("modify",),
    "brakes": ("suspension",),
    "wheels-and-tyres": ("brakes",),
    "engine-bay": ("modify",),
    "fluids": ("brakes", "engine-bay"),
    "on-the-ground": ("wheels-and-tyres", "fluids"),
    "first-start": ("on-the-ground",),
    "rollers": ("first-start",),
    "road": ("rollers",),
})
"""The stages that are over before a stage begins (common practice, no source): the engine bay may
be worked on beside the suspension, the brakes and the wheels."""


class Order(Selector):
    """What comes before, or after: parts as they are fitted, or a work step.

    A kind means its parts on the same axle, where both have one, unless a place is named.
    """

    @model_validator(mode="after")
    def _plain(self) -> Order:
        if self.match or self.fitted is not None:
            raise ValueError("an order is by part, kind, place or step; no 'match' or 'fitted'")
        return self


class Tightening(Statement):
    """How tight a joint is made, as somebody states it; never worked out."""

    what: Text = Field(description="the joint")
    value: Torque = Field(description="tightening torque")
    turn: Angle | None = Field(None, description="then turned so much further")
    basis: Basis = Field("maker", description="how this is known")
    source: Text = Field(description="where it is written down")


class Staged(Statement):
    """What is said of doing a thing, for parts and for work steps alike."""

    stage: Stage | None = Field(None, description="when in a build it is done")
    after: tuple[Order, ...] = Field((), description="done after these, where they are there")
    before: tuple[Order, ...] = Field((), description="done before these, where they are there")
    tools: tuple[Text, ...] = Field((), description="tools it takes beyond the usual")
    torque: tuple[Tightening, ...] = Field((), description="how tight its joints are made")


ORDERING = frozenset({"stage", "after", "before"})
"""The fields that decide the order of work."""

