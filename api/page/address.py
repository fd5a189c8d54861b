"""The address of the page holds the whole question: how it is read, and how links change it."""

from __future__ import annotations

from collections.abc import Container, Mapping
from fractions import Fraction
from typing import Any
from urllib.parse import urlencode

from flask import request
from pydantic import Field
from werkzeug.datastructures import MultiDict

from api.reading import read_parameters
from api.routes_questions import WISHES, PackageQuery
from api.routes_search import Look
from kb.units import format_number
from rules import answers as a

HOME = "/"


class Address(Look):
    """A state of the page: the car as far as it is known, the question, what is looked for."""

    vehicle: str = Field("", description="empty: not known yet")
    car: str = Field("", max_length=200, description="what was typed to find the car")
    has: tuple[str, ...] = Field((), max_length=50, description="equipment that the car has")
    lacks: tuple[str, ...] = Field((), max_length=50, description="equipment that it has not")
    of: str = Field("", max_length=200, description="the pick of which an amount is set")
    qty: str = Field("", max_length=20, description="that amount; empty: as many as there go on")
    have: str = Field("", max_length=200, description="the part on hand of which it is set")
    have_qty: str = Field("", max_length=20, description="that amount; empty: none")
    digest: str = Field("", max_length=64, description="of the catalogue the address was made with")

    def to(self, path: str = HOME, **changes: object) -> str:
        """The address of this state with some fields changed."""
        return link(path, self.model_copy(update=changes))

    def kit_only(self, path: str) -> str:
        """The address of another view of the same kit, whatever is looked for beside it."""
        return self.to(path, find="", place=None, skip=0)

    def as_api(self, path: str) -> str:
        """The address of the JSON API that asks the same question."""
        asked = {name: getattr(self, name) for name in PackageQuery.model_fields}
        return link(path, Address(**asked))

    def asking(self, question: a.Question) -> Address:
        """This state with another question about the same car."""
        return self.model_copy(update={
            "pick": tuple(map(item_text, question.picks)),
            "on_hand": tuple(map(item_text, question.on_hand)),
            **question.model_dump(include=WISHES),
        })

    def with_amounts(self, known: Container[str]) -> Address:
        """This state with the amounts that were set made part of what it asks."""
        def is_of(part: str, text: str) -> bool:
            return part == (text if text in known else text.rpartition(":")[0] or text)

        picked = f"{self.of}:{self.qty}" if self.qty else self.of
        others = tuple(text for text in self.on_hand if not is_of(self.have, text))
        return self.model_copy(update={
            "pick": tuple(picked if is_of(self.of, text) else text for text in self.pick),
            "on_hand": (*others, f"{self.have}:{self.have_qty}") if self.have_qty else others,
            "of": "", "qty": "", "have": "", "have_qty": "",
        })

    def item(self, part: str, qty: float | None) -> str:
        """A part and how many of it, as the address has them."""
        return item_text(a.Item(part=part, qty=qty))

    def fields(self, *without: str) -> list[tuple[str, str]]:
        """Names and values for the hidden fields of a form that sets those `without`."""
        return [
            (name, text) for name, value in self._said().items() if name not in without
            for text in (value if isinstance(value, list) else [value])
        ]

    def _said(self) -> Mapping[str, Any]:
        """What differs from an empty page, as texts."""
        return {
            name: list(map(str, value)) if isinstance(value, tuple) else _text(value)
            for name, value in self.model_dump(exclude_defaults=True).items()
        }


def read_address() -> Address:
    """The state in the address at hand. Raises Refused for what cannot be read.

    Empty fields count as left out, since a form sends those nobody filled in.
    """
    given = [(name, text) for name, text in request.args.items(multi=True) if text.strip()]
    return read_parameters(Address, MultiDict(given))


def link(path: str, address: Address) -> str:
    """A path with a state of the page."""
    asked = urlencode(address.fields())
    return f"{path}?{asked}" if asked else path


def item_text(item: a.Item) -> str:
    """A part and how many of it as an address has them."""
    if item.qty is None:
        return item.part
    return f"{item.part}:{format_number(Fraction(str(item.qty)))}"


def _text(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)
