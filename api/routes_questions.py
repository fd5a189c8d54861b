"""Questions about one car: what is needed with a part, whole packages, the check sheet."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

from pydantic import Field

from api.current import catalogue
from api.document import ANSWERS, answers, blueprint
from api.endpoint import NoQuery, endpoint
from api.limits import usual_deadline
from api.problems import WrongField
from api.reading import validated, wrong_request
from api.routes_parts import PartPath, listed_part
from kb.baseline import find_baseline
from kb.catalogue import Catalogue
from kb.errors import QuestionError
from rules.answers import FitSheet, Model, Needed, Package, Question, Wished
from rules.fit import fit
from rules.needed import needed
from rules.resolve import package

routes = blueprint("questions", ANSWERS, "/v1")

NUMBER = re.compile(r"\d{1,7}(?:\.\d{1,6})?")
WISHES = set(Wished.model_fields)
"""The fields of an address that go into the question as they stand."""
ITEMS = "a part id, or id:quantity; may be repeated"


class CarQuery(Model):
    """Which car."""

    vehicle: str = Field(description="the id of a vehicle")
    year: int | None = Field(None, ge=1900, le=2100, description="the model year")
    variant: str | None = Field(None, description="the id of a variant")


class NeededQuery(CarQuery):
    """Which car, and what else is in the cart."""

    cart: tuple[str, ...] = Field((), max_length=199, description=f"in the cart: {ITEMS}")


class FitQuery(CarQuery):
    """Which car, and which parts."""

    parts: tuple[str, ...] = Field(
        min_length=1, max_length=20, description="a part id; may be repeated"
    )


class PicksQuery(CarQuery):
    """Which car, what is wanted and what is there."""

    pick: tuple[str, ...] = Field((), max_length=200, description=f"wanted: {ITEMS}")
    on_hand: tuple[str, ...] = Field((), max_length=1000, description=f"already there: {ITEMS}")


class PackageQuery(Wished, PicksQuery):
    """A question in an address."""

    alternatives: bool = Field(True, description="price what could be had instead")


@routes.get("/parts/<part>/needed", responses=answers(Needed, 404, 500, 503))
@endpoint
def needed_with_part(path: PartPath, query: NeededQuery) -> Needed:
    """What is needed with a part on one car, beside what is in the cart."""
    known = catalogue()
    part = listed_part(known, path.part)
    question = validated(Question, {
        **_car(query), "picks": tuple(_items(known, query.cart, "cart")),
    })
    try:
        return needed(known, part, question)
    except QuestionError as error:
        raise QuestionError(in_cart(error.field), error.message, error.nearest) from None


@routes.get("/package", responses=answers(Package, 500, 503))
@endpoint
def package_by_address(query: PackageQuery) -> Package:
    """The least complete package for a question, which is wholly in the address."""
    known = catalogue()
    with fields_as_in_address():
        return package(known, question_of(known, query))


def question_of(known: Catalogue, query: PackageQuery) -> Question:
    """The question that an address puts. Raises Refused for what is no item."""
    return validated(Question, {
        **_car(query), **query.model_dump(include=WISHES),
        "picks": tuple(_items(known, query.pick, "pick")),
        "on_hand": tuple(_items(known, query.on_hand, "on_hand")),
        "alternatives": query.alternatives,
    })


@contextmanager
def fields_as_in_address() -> Iterator[None]:
    """Name the field that is wrong with a question as its address has it."""
    try:
        yield
    except QuestionError as error:
        field = re.sub(r"^picks\.(\d+).*", r"pick.\1", error.field)
        field = re.sub(r"^on_hand\.(\d+).*", r"on_hand.\1", field)
        raise QuestionError(field, error.message, error.nearest) from None


@routes.post("/package", responses=answers(Package, 400, 412, 413, 415, 500, 503))
@endpoint
def package_by_body(query: NoQuery, body: Question) -> Package:
    """The least complete package for a question, or why there is none."""
    return package(catalogue(), body)


@routes.get("/fit", responses=answers(FitSheet, 500))
@endpoint
def fit_of_parts(query: FitQuery) -> FitSheet:
    """Whether parts go together on one car: every check of them, with margins."""
    known = catalogue()
    return fit(known, query.parts, find_baseline(known, query.vehicle, query.year, query.variant))


def _car(query: CarQuery) -> dict[str, object]:
    return {
        "vehicle": query.vehicle, "year": query.year, "variant": query.variant,
        "deadline": usual_deadline(),
    }


def in_cart(field: str) -> str:
    """A field of the question as the asker wrote it: the part that is asked about is pick 0."""
    found = re.match(r"picks\.(\d+)", field)
    if not found:
        return field
    return f"cart.{int(found[1]) - 1}" if int(found[1]) else "part"


def _items(known: Catalogue, texts: tuple[str, ...], field: str) -> Iterator[dict[str, object]]:
    """Each text as an item. Ids may hold a colon, so a text that is an id is taken whole."""
    for i, text in enumerate(texts):
        part, colon, qty = text.rpartition(":")
        if text in known.parts or not colon:
            yield {"part": text}
        elif NUMBER.fullmatch(qty) and float(qty) > 0:
            yield {"part": part, "qty": float(qty)}
        elif part in known.parts:
            message = f"'{qty}' is not a quantity, such as 2 or 0.5"
            raise wrong_request([WrongField(field=f"{field}.{i}", message=message, nearest=None)])
        else:
            yield {"part": text}
