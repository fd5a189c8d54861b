"""The entries of a catalogue: vehicles, parts, work steps, general rules, trial fits, the shop."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag, TypeAdapter, create_model, field_validator

from kb.dimensions import Dimensions, Facts, fact_groups, kinds
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
    YearSpan,
)
from kb.units import Amount, AmountText, Length, Mass, Price, Time


class Part(Statement):
    """A thing that can be ordered, or that the factory fitted."""

    kind: str
    name: Text
    dimensions: Dimensions = Dimensions()
    maker: Text | None = None
    takes: tuple[Id, ...] = Field((), description="the places it fills, all of them")
    clears: tuple[Id, ...] = Field((), description="places whose stock part comes off with it")
    price: Price | None = Field(None, description="for one pack")
    pack: AmountText = Field(Amount(Fraction(1)), description="what one pack holds")
    mass: Mass | None = Field(None, description="of one unit")
    fitting_time: Time | None = Field(None, description="to fit one unit")
    orderable: bool = Field(True, description="false: no longer, or never, for sale")
    one_time_use: bool = Field(False, description="always renewed once undone")
    contents: dict[Id, AmountText] = Field({}, description="the parts in this kit, with amounts")
    supersedes: tuple[Id, ...] = Field((), description="older parts that this one replaces")
    fits: tuple[Fits, ...] = ()
    requires: tuple[Need, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    recommends: tuple[Recommendation, ...] = ()
    work: tuple[WorkNeed, ...] = ()
    cautions: tuple[Text, ...] = ()
    note: Text | None = None

    @field_validator("orderable", "one_time_use", mode="before")
    @classmethod
    def _plain_bool(cls, value: Any) -> Any:
        return plain_bool(value)


class Place(Statement):
    """Where parts of one sort sit on a vehicle."""

    name: Text | None = None
    count: int = Field(1, ge=1, le=100)
    axle: Axle | None = None


class Variant(Applies):
    """One version of a vehicle. `years` is its span; equipment here is always on it."""

    name: Text
    engine: Id
    market: Id | None = None


class FittedPart(Applies):
    """A stock part of a place, for the baselines it applies to."""

    part: Id


class Vehicle(Statement):
    """A model: its variants, places, stock parts and facts."""

    name: Text
    years: Years
    variants: dict[Id, Variant] = Field(min_length=1)
    places: dict[Id, Place] = {}
    equipment: dict[Id, Applies] = Field({}, description="equipment, and where it was fitted")
    fitted: dict[Id, tuple[FittedPart, ...]] = {}
    facts: tuple[Facts, ...] = ()

    @field_validator("fitted", mode="before")
    @classmethod
    def _short_form(cls, value: Any) -> Any:
        """A place may name its only stock part directly."""
        if not isinstance(value, dict):
            return value
        return {k: [{"part": v}] if isinstance(v, str) else v for k, v in value.items()}


class Relief(Statement):
    """What a work step gives: so much more room beside one named obstacle."""

    obstacle: Id
    by: Length


class Work(Statement):
    """A modification to the vehicle."""

    name: Text
    effect: Text
    minutes: Time
    reversible: bool
    on: Applies = Applies()
    relieves: tuple[Relief, ...] = ()
    requires: tuple[Need, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    cautions: tuple[Text, ...] = ()

    @field_validator("reversible", mode="before")
    @classmethod
    def _plain_bool(cls, value: Any) -> Any:
        return plain_bool(value)


class Rule(Known):
    """What no single part owns: when all of these are there, then any of those.

    An empty `then_any` forbids the combination; an empty `when` is a need of every package.
    `each` counts per unit of the first `when`.
    """

    on: Applies = Applies()
    when: tuple[Selector, ...] = ()
    then_any: tuple[Selector, ...] = ()
    each: AmountText | None = None
    once: AmountText | None = None
    cautions: tuple[Text, ...] = ()


class Trial(Known):
    """A combination that was tried on a car. It outranks what is computed."""

    parts: tuple[Id, ...] = Field(min_length=1)
    check: Id | None = Field(None, description="only this check; none: every check of the parts")
    on: Applies = Applies()
    verdict: Literal["fits", "fits_with_work", "does_not_fit"]
    work: tuple[Id, ...] = ()


class Header(Statement):
    """The catalogue as a whole: its name, currency and shop rate."""

    name: Text
    currency: str = Field("EUR", pattern="^[A-Z]{3}$")
    labour_rate: Price | None = Field(None, description="per hour")


class Limits(Statement):
    """The shop's own minimum clearances and allowances. Defaults: common practice, no source."""

    bore_play: Length = Field(
        "0.2 mm", validate_default=True, description="hub bore over spigot that needs no ring"
    )


def plain_bool(value: Any) -> Any:
    """Only the texts true and false are truth values; YAML's other spellings are not."""
    return {"true": True, "false": False}.get(value, value) if isinstance(value, str) else value




def _tagged(models: dict[str, type[Any]], field: str) -> Any:
    """A union of models told apart by the text in `field`."""
    members = tuple(Annotated[model, Tag(tag)] for tag, model in models.items())
    union: Any = members[0]
    for member in members[1:]:
        union = union | member
    return Annotated[union, Discriminator(field)]


@cache
def part_models() -> dict[str, type[Part]]:
    """The model of a part of each kind: `Part` with that kind's dimensions."""
    return {
        kind: create_model(
            f"{dimensions.__name__}Part",
            __base__=Part,
            __module__=__name__,
            kind=(Literal[kind], ...),
            dimensions=(dimensions, dimensions()),
        )
        for kind, dimensions in kinds().items()
    }


@cache
def fact_models() -> dict[str, type[Facts]]:
    """The model of a fact block for each group of facts."""
    return {
        group: create_model(
            f"{facts.__name__}Block",
            __base__=facts,
            __module__=__name__,
            about=(Literal[group], ...),
        )
        for group, facts in fact_groups().items()
    }


@cache
def vehicle_model() -> type[Vehicle]:
    """`Vehicle` with its fact blocks told apart by `about`."""
    block = _tagged(fact_models(), "about")
    return create_model(
        "CarVehicle", __base__=Vehicle, __module__=__name__, facts=(tuple[block, ...], ())
    )


@cache
def file_model() -> type[Statement]:
    """One catalogue file: any of the sections, merged by id over all files."""
    part = _tagged(part_models(), "kind")
    sections: dict[str, Any] = {
        "catalog": (Header | None, None),
        "limits": (Limits | None, None),
        "vehicles": (dict[Id, vehicle_model()], {}),  # type: ignore[misc]
        "parts": (dict[Id, part], {}),
        "work": (dict[Id, Work], {}),
        "rules": (dict[Id, Rule], {}),
        "trials": (dict[Id, Trial], {}),
    }
    return create_model("CatalogueFile", __base__=Statement, **sections)


@cache
def entry_adapters() -> dict[str, TypeAdapter[Any]]:
    """What validates one entry of each section."""
    types = {
        "vehicles": vehicle_model(),
        "parts": _tagged(part_models(), "kind"),
        "work": Work,
        "rules": Rule,
        "trials": Trial,
    }
    return {section: TypeAdapter(kind) for section, kind in types.items()}
