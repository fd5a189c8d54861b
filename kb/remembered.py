"""Remembered kits: questions with the answer they must have, so that a shop tests its catalogue."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from kb.frozen import FrozenDict
from kb.money import Price
from kb.statements import FIRST_YEAR, LAST_YEAR, Id, Statement, Text
from kb.texts import parse_count, text_type
from kb.units import AmountText


def _parse_year(text: str) -> int:
    year = parse_count(text)
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise ValueError(f"{year} is out of range; expected {FIRST_YEAR} to {LAST_YEAR}")
    return year


Year = Annotated[int, text_type(int, _parse_year, "model year", "2016", schema="integer")]


class Pick(Statement):
    """A part that is asked for; without an amount, what its places hold, or one."""

    part: Id = Field(description="the part")
    amount: AmountText | None = Field(None, description="how many, or how much")


def _part_or_pick(value: Any) -> Any:
    """A pick may name its part directly."""
    named = isinstance(value, list | tuple)
    return [{"part": v} if isinstance(v, str) else v for v in value] if named else value


Picks = Annotated[
    tuple[Pick, ...],
    BeforeValidator(_part_or_pick, json_schema_input_type=tuple[Id | Pick, ...]),
]


class RememberedKit(Statement):
    """A question and what its answer has to be; the audit asks it again."""

    name: Text | None = Field(None, description="what it is remembered as")
    vehicle: Id = Field(description="the vehicle it is for")
    variant: Id | None = Field(None, description="its variant, where there are several")
    year: Year | None = Field(None, description="its model year, where there are several")
    picks: Picks = Field(min_length=1, description="the parts asked for")
    on_hand: Picks = Field((), description="what is already there")
    prefer: Literal["least_cost", "least_work", "least_mass", "fewest_parts"] = Field(
        "least_cost", description="what to make least"
    )
    outcome: Literal["complete", "complete_once_measured", "impossible"] = Field(
        description="what has to come of it"
    )
    parts: FrozenDict[Id, AmountText] = Field(
        FrozenDict(), description="lines it must have, with amounts; others may be there too"
    )
    price: Price | None = Field(None, description="what it must come to, parts and labour")
    note: Text | None = Field(None, description="for the keeper of the catalogue only")
