"""From what was typed to a question: the catalogue meant, the parts and amounts meant."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from importlib import resources
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from kb.catalogue import Catalogue
from kb.errors import QuestionError, shown
from kb.units import parse_amount
from rules import answers as a

OPTIONS = {
    "vehicle": "--vehicle", "year": "--year", "variant": "--variant", "budget": "--budget",
    "keep": "--keep", "avoid": "--avoid", "avoid_makers": "--avoid-maker",
    "refuse_work": "--refuse-work",
}
"""The option that mends a wrong field of a question."""


def demo_folder() -> Path:
    """The demo catalogue, which is shipped beside the packages."""
    return Path(str(resources.files("api"))).parent / "demo_catalog"


Asked = TypeVar("Asked", bound=BaseModel)


def asked(model: type[Asked], fields: Mapping[str, object]) -> Asked:
    """The question of these fields. Raises QuestionError for the first field that is wrong."""
    try:
        return model.model_validate(fields)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        field = ".".join(map(str, first["loc"]))
        if field == "budget":
            message = f"{shown(str(first['input']))} is not a sum of money, such as 1500.00"
        else:
            message = f"{field}: {first['msg']}"
        raise QuestionError(field, message) from None


def question(
    model: type[Asked], catalogue: Catalogue, picks: Iterable[str], on_hand: Iterable[str],
    **fields: object,
) -> Asked:
    """The question about these picks, with what is on hand as it was typed. Raises QuestionError.
    """
    return asked(model, {
        "picks": items(catalogue, picks, "picks"),
        "on_hand": items(catalogue, on_hand, "on_hand"), **fields,
    })


def items(catalogue: Catalogue, texts: Iterable[str], field: str) -> tuple[a.Item, ...]:
    """The parts meant by texts such as "nut-12=8". Raises QuestionError."""
    return tuple(_item(catalogue, text, f"{field}.{i}") for i, text in enumerate(texts))


def _item(catalogue: Catalogue, text: str, field: str) -> a.Item:
    """An id may hold "=" itself: what is a part of the catalogue as it stands is meant as such."""
    key, equals, amount = text.rpartition("=")
    if text in catalogue.parts or not equals:
        return a.Item(part=text)
    if key not in catalogue.parts:
        return a.Item(part=key)  # said to be unknown when the question is asked
    return a.Item(part=key, qty=_quantity(key, catalogue.parts[key].pack.unit, amount, field))


def _quantity(key: str, sold_by: str, text: str, field: str) -> float:
    """An amount in the unit a part is sold by; a bare number is in that unit too."""
    try:
        amount = parse_amount(f"{text}{sold_by}" if text[-1:].isdigit() else text)
    except ValueError as error:
        raise QuestionError(f"{field}.qty", f"'{key}': {error}") from None
    if amount.unit != sold_by:
        expected = f"the {sold_by}" if sold_by else "the piece"
        raise QuestionError(f"{field}.qty", f"'{key}' is sold by {expected}; got '{text}'")
    return float(amount.value)


def said(error: QuestionError) -> str:
    """What is wrong with a question, and by which option to mend it."""
    option = OPTIONS.get(error.field.partition(".")[0])
    return f"{error} ({option})" if option else str(error)
