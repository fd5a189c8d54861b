"""The statements a catalogue is made of: where something applies, which parts are meant, what a
part needs, what it cannot stand beside. Conditions are data, never expressions, so they can be
checked, indexed and explained.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    ConfigDict,
    Discriminator,
    Field,
    StringConstraints,
    Tag,
    model_validator,
)

from kb.errors import shown
from kb.frozen import FrozenDict
from kb.texts import Flag, text_type
from kb.units import Amount, AmountText

ID_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9._+:~=-]*$"
Id = Annotated[str, StringConstraints(pattern=ID_PATTERN, max_length=120)]
Text = Annotated[str, StringConstraints(min_length=1, max_length=1000)]
Basis = Literal["maker", "measured", "trial_fitted", "computed", "common_practice"]
Axle = Literal["front", "rear"]

FIRST_YEAR, LAST_YEAR = 1900, 2100


class Statement(BaseModel):
    """Root of all models of the language: frozen, and strict about unknown fields."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


@dataclass(frozen=True, slots=True)
class YearSpan:
    """A span of model years, both ends included."""

    first: int = FIRST_YEAR
    last: int = LAST_YEAR

    def __contains__(self, year: int) -> bool:
        return self.first <= year <= self.last

    def __str__(self) -> str:
        if self.first == self.last:
            return str(self.first)
        first = "" if self.first == FIRST_YEAR else str(self.first)
        last = "" if self.last == LAST_YEAR and first else str(self.last)
        return f"{first}-{last}"


@lru_cache(maxsize=1024)
def parse_years(text: str) -> YearSpan:
    """Reads "2016", "2014-2018", "2016-" or "-2015". Raises ValueError saying what is wrong."""
    match = re.fullmatch(r"([0-9]{4})?\s*(-)?\s*([0-9]{4})?", text.strip())
    if not match or not (match[1] or match[3]) or bool(match[2]) is not (match[0] != match[1]):
        raise ValueError(f"{shown(text)} is not a span of years, such as '2014-2018' or '2016-'")
    first = int(match[1] or FIRST_YEAR)
    last = int(match[3] or (LAST_YEAR if match[2] else first))
    if not FIRST_YEAR <= first <= LAST_YEAR or not FIRST_YEAR <= last <= LAST_YEAR:
        raise ValueError(f"{shown(text)} is out of range ({FIRST_YEAR} to {LAST_YEAR})")
    if first > last:
        raise ValueError(f"{shown(text)} ends before it begins")
    return YearSpan(first, last)


Years = Annotated[
    YearSpan,
    text_type(YearSpan, parse_years, "span of years", "2014-2018", schema="integer"),
]


class Applies(Statement):
    """For which baselines a statement holds. Everything given must hold; empty holds for all."""

    vehicles: tuple[Id, ...] = Field((), description="one of these vehicles")
    variants: tuple[Id, ...] = Field((), description="one of these variants")
    engines: tuple[Id, ...] = Field((), description="one of these engines")
    markets: tuple[Id, ...] = Field((), description="one of these markets")
    years: Years = Field(
        f"{FIRST_YEAR}-{LAST_YEAR}", validate_default=True, description="within these model years"
    )
    equipment: tuple[Id, ...] = Field((), description="the car has all of this equipment")
    without: tuple[Id, ...] = Field((), description="the car has none of this equipment")


class Reference(Statement):
    """What a part is compared with: a dimension of the part that asks, or a baseline fact."""

    own: Id | None = Field(None, description="a dimension of the part that makes the statement")
    fact: Text | None = Field(None, description="a fact of the car, as 'about.name'")

    @model_validator(mode="after")
    def _one(self) -> Reference:
        if (self.own is None) == (self.fact is None):
            raise ValueError("expected either 'own' or 'fact'")
        return self


def _operand_form(value: Any) -> str:
    return "reference" if isinstance(value, (dict, Reference)) else "text"


Operand = Annotated[
    Annotated[str, Tag("text")] | Annotated[Reference, Tag("reference")],
    Discriminator(_operand_form),
]
"""A text in the format of the dimension it is compared with, or a reference."""


class Comparison(Statement):
    """One requirement on one dimension: exactly one of the five."""

    equals: Operand | None = Field(None, description="the same value")
    one_of: tuple[str, ...] | None = Field(None, min_length=1, description="one of these values")
    at_least: Operand | None = Field(None, description="this value or more")
    at_most: Operand | None = Field(None, description="this value or less")
    within: tuple[Operand, Operand] | None = Field(
        None, description="between these two values, both included"
    )

    @model_validator(mode="after")
    def _one(self) -> Comparison:
        given = [name for name in self.model_fields_set if getattr(self, name) is not None]
        if len(given) != 1 or len(self.model_fields_set) != 1:
            raise ValueError("expected exactly one of equals, one_of, at_least, at_most, within")
        return self

    @property
    def operands(self) -> tuple[str | Reference, ...]:
        """What the dimension is compared with, one or several."""
        given: Any = getattr(self, self.relation)
        return given if isinstance(given, tuple) else (given,)

    @property
    def relation(self) -> str:
        """The name of the one field that is set."""
        return next(iter(self.model_fields_set))


class Selector(Statement):
    """What is meant: a part, one of several, any part of a kind that matches, or a work step."""

    part: Id | None = Field(None, description="this part")
    parts: tuple[Id, ...] = Field((), description="any one of these parts")
    kind: Id | None = Field(None, description="any part of this kind")
    match: FrozenDict[str, Comparison] = Field(
        FrozenDict(), description="whose dimensions compare so"
    )
    at: Id | None = Field(None, description="in this place")
    fitted: Flag | None = Field(
        None, description="true: only what the factory fitted; false: only what it did not"
    )
    step: Id | None = Field(None, description="this work step")

    @model_validator(mode="after")
    def _one(self) -> Selector:
        single = (self.part is not None) + (self.kind is not None) + (self.step is not None)
        if single + bool(self.parts) != 1:
            raise ValueError("expected exactly one of part, parts, kind, step")
        if self.match and self.kind is None:
            raise ValueError("'match' goes with 'kind'")
        if self.step is not None and (self.at is not None or self.fitted is not None):
            raise ValueError("'at' and 'fitted' go with parts, not with a step")
        return self

    @property
    def listed(self) -> tuple[str, ...]:
        """The parts named by id; empty when a kind or a step is meant."""
        return (self.part,) if self.part is not None else self.parts


class When(Applies):
    """A condition of a statement: on the car as built, and on what else is in the package."""

    present: tuple[Selector, ...] = Field((), description="each of these is on the car")
    absent: tuple[Selector, ...] = Field((), description="none of these is on the car")


class Sourced(Statement):
    """How a statement is known."""

    basis: Basis = Field("common_practice", description="how this is known")
    source: Text | None = Field(None, description="where it is written down, or who measured it")


class Known(Sourced):
    """How a statement is known, and why it is made."""

    why: Text | None = Field(None, description="the reason, as said to a customer")


_ONE_PIECE = Amount(Fraction(1))


class Need(Selector, Known):
    """What has to be there: one of the parts selected, in this amount.

    `each` counts per unit of what asks and adds up; `once` is met when the whole package holds
    that amount. Neither: one, once.
    """

    each: AmountText | None = Field(None, description="so many per unit of what asks")
    once: AmountText | None = Field(None, description="so many in the whole package")
    when: When = Field(When(), description="only then")

    @model_validator(mode="after")
    def _amount(self) -> Need:
        if self.each is not None and self.once is not None:
            raise ValueError("expected either 'each' or 'once'")
        if self.step is not None:
            raise ValueError("a need names parts; work is stated under 'work'")
        return self

    @property
    def amount(self) -> Amount:
        """The amount asked for, per unit or in all."""
        return self.each or self.once or _ONE_PIECE


class Conflict(Selector, Known):
    """What cannot be on the car together with the part or step that states it."""

    when: When = Field(When(), description="only then")


class Fits(Applies, Known):
    """A stated fit. A part with such statements goes on the baselines they name, on no others."""

    verdict: Literal["fits", "fits_with_work"] = Field(
        "fits", description="fits_with_work goes with the steps under 'work'"
    )
    work: tuple[Id, ...] = Field((), description="the work steps it takes")


class WorkNeed(Known):
    """Work that a part calls for: any one of these steps."""

    step: Id | None = Field(None, description="this work step")
    steps: tuple[Id, ...] = Field((), description="any one of these work steps")
    when: When = Field(When(), description="only then")

    @model_validator(mode="after")
    def _one(self) -> WorkNeed:
        if (self.step is None) == (not self.steps):
            raise ValueError("expected either 'step' or 'steps'")
        return self

    @property
    def listed(self) -> tuple[str, ...]:
        """The steps to choose from."""
        return (self.step,) if self.step is not None else self.steps


class Recommendation(Known):
    """What is worth offering with a part, though nothing depends on it."""

    part: Id = Field(description="the part to offer")
    each: AmountText | None = Field(None, description="so many per unit of what offers it")
    when: When = Field(When(), description="only then")
