"""The entries of a catalogue: vehicles, parts, work steps, general rules, trial fits, the shop."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, model_validator

from kb.dimensions import Dimensions, Facts
from kb.errors import shown
from kb.frozen import FrozenDict
from kb.money import Price
from kb.stages import Staged
from kb.statements import (
    Applies,
    Axle,
    Conflict,
    Fits,
    Id,
    Known,
    Need,
    Recommendation,
    Selector,
    Statement,
    Text,
    WorkNeed,
    Years,
)
from kb.texts import Flag, Number, parse_count, text_type
from kb.units import AmountText, Length, Mass, Speed, Temperature, Time, Voltage


class Part(Staged):
    """A thing that can be ordered, or that the factory fitted."""

    kind: str = Field(description="decides which dimensions it has")
    name: Text = Field(description="as said to a customer")
    dimensions: Dimensions = Field(Dimensions(), description="what is known of its dimensions")
    maker: Text | None = Field(None, description="who makes it")
    takes: tuple[Id, ...] = Field((), description="the places it fills, all of them")
    clears: tuple[Id, ...] = Field((), description="places whose stock part comes off with it")
    price: Price | None = Field(None, description="for one pack")
    pack: AmountText = Field("1", validate_default=True, description="what one pack holds")
    mass: Mass | None = Field(None, description="of one unit")
    fitting_time: Time | None = Field(
        None, description="to fit one unit in its place; for a part without places, all of it"
    )
    orderable: Flag = Field(True, description="false: no longer, or never, for sale")
    one_time_use: Flag = Field(False, description="always renewed once undone")
    contents: FrozenDict[Id, AmountText] = Field(
        FrozenDict(), description="the parts in this kit, with amounts"
    )
    supersedes: tuple[Id, ...] = Field((), description="older parts that this one replaces")
    fits: tuple[Fits, ...] = Field((), description="the cars it goes on; with any, on no others")
    requires: tuple[Need, ...] = Field((), description="what has to be there with it")
    conflicts: tuple[Conflict, ...] = Field((), description="what cannot be there with it")
    recommends: tuple[Recommendation, ...] = Field((), description="what is worth offering with it")
    work: tuple[WorkNeed, ...] = Field((), description="the work it calls for")
    cautions: tuple[Text, ...] = Field((), description="said with every package that holds it")
    note: Text | None = Field(None, description="for the keeper of the catalogue only")


def _parse_place_count(text: str) -> int:
    count = parse_count(text)
    if not 1 <= count <= 100:
        raise ValueError(f"{shown(text)} is out of range; expected 1 to 100")
    return count


PlaceCount = Annotated[
    int, text_type(int, _parse_place_count, "whole number, 1 to 100", "2", schema="integer")
]


class Place(Statement):
    """Where parts of one sort sit on a vehicle."""

    name: Text | None = Field(None, description="as said to a customer")
    count: PlaceCount = Field(1, description="how many units sit there")
    axle: Axle | None = Field(None, description="the axle it belongs to, if any")


class Variant(Statement):
    """One version of a vehicle."""

    name: Text = Field(description="as said to a customer")
    years: Years = Field(
        "1900-2100", validate_default=True, description="its model years, if not the vehicle's"
    )
    engine: Id = Field(description="the engine in it")
    market: Id | None = Field(None, description="the market it was made for")
    equipment: tuple[Id, ...] = Field((), description="what every car of this variant has")


class FittedPart(Applies):
    """A stock part of a place, for the baselines it applies to."""

    part: Id = Field(description="the stock part")


def _one_or_several(value: Any) -> Any:
    """A place may name its only stock part directly."""
    return [{"part": value}] if isinstance(value, str) else value


StockParts = Annotated[
    tuple[FittedPart, ...],
    BeforeValidator(_one_or_several, json_schema_input_type=Id | tuple[FittedPart, ...]),
]


class Vehicle(Statement):
    """A model: its variants, places, stock parts and facts."""

    name: Text = Field(description="as said to a customer")
    years: Years = Field(description="the model years it was made in")
    variants: FrozenDict[Id, Variant] = Field(min_length=1, description="its versions, by id")
    places: FrozenDict[Id, Place] = Field(FrozenDict(), description="where its parts sit, by id")
    equipment: FrozenDict[Id, Applies] = Field(
        FrozenDict(), description="what some cars have, and where it was fitted"
    )
    fitted: FrozenDict[Id, StockParts] = Field(
        FrozenDict(), description="the stock parts, by place"
    )
    facts: tuple[Facts, ...] = Field((), description="what was measured or stated about the car")


Direction = Literal["inboard", "outboard", "away-from-axis", "towards-axis"]
"""What the plane fixed to the hub can tell apart: along the wheel's axis, and square to it."""


class Relief(Statement):
    """How a work step moves one named obstacle out of the way.

    Each outline stated of the obstacle is moved by that much in that direction, and its gaps are
    worked out anew. All that one step states about one obstacle happens together.
    """

    obstacle: Id = Field(description="what was in the way")
    by: Length = Field(
        description="how far it moves, as the hub sees it; the least over the states it is seen in"
    )
    direction: Direction | None = Field(
        None, description="which way, as the hub sees it; away from the axis is up for what stands "
        "above the axle; without a direction no room is counted"
    )


class Work(Staged):
    """A modification to the vehicle."""

    name: Text = Field(description="as said to a customer")
    effect: Text = Field(description="what it is good for")
    minutes: Time = Field(description="how long it takes, with its unit")
    reversible: Flag = Field(description="whether it can be undone")
    on: Applies = Field(Applies(), description="the cars it is possible on")
    relieves: tuple[Relief, ...] = Field((), description="the room it gives")
    requires: tuple[Need, ...] = Field((), description="the parts it uses")
    conflicts: tuple[Conflict, ...] = Field((), description="what it cannot stand beside")
    cautions: tuple[Text, ...] = Field((), description="said with every package it is in")


class Rule(Known):
    """What no single part owns: when all of these are there, then any of those.

    An empty `then_any` forbids the combination; an empty `when` is a need of every package.
    `each` counts per unit of the first `when`.
    """

    on: Applies = Field(Applies(), description="the cars it holds on")
    when: tuple[Selector, ...] = Field((), description="when all of these are there")
    then_any: tuple[Selector, ...] = Field((), description="any one of these has to be")
    each: AmountText | None = Field(None, description="so many per unit of the first 'when'")
    once: AmountText | None = Field(None, description="so many in the whole package")
    cautions: tuple[Text, ...] = Field((), description="said with every package it bears on")

    @model_validator(mode="after")
    def _amount(self) -> Rule:
        if self.each is not None and self.once is not None:
            raise ValueError("expected either 'each' or 'once'")
        return self


class Trial(Known):
    """A combination that was tried on a car. It outranks what is computed."""

    parts: tuple[Id, ...] = Field(min_length=1, description="the parts that were tried together")
    check: Id | None = Field(None, description="only this check; none: every check of the parts")
    on: Applies = Field(Applies(), description="the cars it speaks for")
    verdict: Literal["fits", "fits_with_work", "does_not_fit"] = Field(
        description="what came of it"
    )
    work: tuple[Id, ...] = Field((), description="the work steps it took")


class Header(Statement):
    """The catalogue as a whole: its name, currency and shop rate."""

    name: Text = Field(description="the name of the catalogue")
    currency: str = Field("EUR", pattern="^[A-Z]{3}$", description="the currency of all prices")
    labour_rate: Price | None = Field(None, description="per hour")


class Limits(Statement):
    """The shop's own minimum clearances and allowances. Defaults: common practice, no source."""

    bore_play: Length = Field(
        "0.2 mm", validate_default=True, description="hub bore over spigot that needs no ring"
    )
    clutch_reserve: Number = Field(
        "1.25", validate_default=True, description="clutch torque over engine torque; 1.2 to 1.5"
    )
    shaft_reserve: Number = Field(
        "1.25", validate_default=True,
        description="drive-shaft torque over what the engine sends it in first gear",
    )
    shaft_speed_share: Number = Field(
        "0.7", validate_default=True, description="shaft speed over critical speed; 0.7 to 0.75"
    )
    injector_duty: Number = Field(
        "0.85", validate_default=True, description="share of the time an injector may be open"
    )
    fuel_reserve: Number = Field(
        "0.15", validate_default=True, description="pump flow above what the engine burns, share"
    )
    wire_drop: Voltage = Field(
        "0.5 V", validate_default=True, description="volts a supply wire may lose"
    )
    wire_density: Number = Field(
        "5", validate_default=True, description="A per mm² that a single wire may carry"
    )
    fuse_load: Number = Field(
        "0.7", validate_default=True, description="share of its rating a fuse may carry for long"
    )
    idle_time: Time = Field(
        "30 min", validate_default=True,
        description="time at hot idle, everything on, that the battery has to last",
    )
    tyre_room: Length = Field(
        "5 mm", validate_default=True, description="tyre and rim to anything around them"
    )
    caliper_radial: Length = Field(
        "3 mm", validate_default=True, description="caliper to the inside of the barrel"
    )
    caliper_axial: Length = Field(
        "3 mm", validate_default=True, description="caliper to the back of the spokes"
    )
    circumference_change: Number = Field(
        "3", validate_default=True, description="rolling circumference against stock, per cent"
    )
    nut_engagement: Number = Field(
        "1", validate_default=True, description="thread engaged in a wheel nut, diameters"
    )
    piston_travel: Length = Field(
        "0.5 mm", validate_default=True,
        description="how far a pad moves to its clamp: gap, seal and spread; 0.3 to 0.6",
    )
    shoe_travel: Length = Field(
        "1.0 mm", validate_default=True, description="how far each wheel-cylinder piston moves"
    )
    stroke_reserve: Length = Field(
        "12 mm", validate_default=True, description="master-cylinder stroke left at full effort"
    )
    road_grip: Number = Field(
        "0.8", validate_default=True, description="grip of a dry road, for a parked car"
    )
    stop_speed: Speed = Field(
        "100 km/h", validate_default=True, description="speed of the stop that discs are judged by"
    )
    disc_temperature: Temperature = Field(
        "250 °C", validate_default=True, description="hottest a disc may be after that one stop"
    )
    fluid_temperature: Temperature = Field(
        "130 °C", validate_default=True, description="hottest the brake fluid gets in use"
    )
    hose_slack: Length = Field(
        "15 mm", validate_default=True, description="brake hose beyond the longest span of its ends"
    )
    coil_gap: Length = Field(
        "5 mm", validate_default=True, description="between all coils together at full compression"
    )
    bump_reserve: Length = Field(
        "30 mm", validate_default=True, description="damper travel to its bump stop, standing"
    )
    droop_reserve: Length = Field(
        "20 mm", validate_default=True, description="damper travel to full extension, standing"
    )
    pitch_least: Number = Field(
        "0.9", validate_default=True, description="rear over front ride frequency, least"
    )
    pitch_most: Number = Field(
        "1.45", validate_default=True, description="rear over front ride frequency, most"
    )
    damping_least: Number = Field(
        "0.2", validate_default=True, description="damping ratio at the wheel, least wanted"
    )
    damping_most: Number = Field(
        "0.7", validate_default=True, description="damping ratio at the wheel, most wanted"
    )
