"""The questions that a batch may hold, told apart by `ask`, and what answers each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from api import outcomes as o
from api.routes_choices import OffersQuestion, OptionsQuestion
from api.routes_questions import in_cart
from kb.baseline import find_baseline
from kb.catalogue import Catalogue
from kb.errors import QuestionError
from rules.answers import FitSheet, Front, Item, Model, Needed, Options, Question, Year
from rules.fit import fit
from rules.front import front
from rules.gaps import gaps
from rules.gaps_models import GapsQuestion
from rules.needed import needed
from rules.options import options
from rules.plan import plan
from rules.resolve import package
from rules.setup_sheet import setup_sheet
from rules.setup_sheet_models import SetupQuestion


class NeededAsked(Model):
    """What is needed with a part, beside what is in the cart."""

    ask: Literal["needed"]
    part: str
    vehicle: str
    year: Year | None = None
    variant: str | None = None
    cart: tuple[Item, ...] = Field((), max_length=199)
    deadline: float = Field(10.0, gt=0, le=120, description="seconds")


class FitAsked(Model):
    """Whether parts go together on one car."""

    ask: Literal["fit"]
    vehicle: str
    year: Year | None = None
    variant: str | None = None
    parts: tuple[str, ...] = Field(min_length=1, max_length=20)


class PackageAsked(Question):
    """The least complete package."""

    ask: Literal["package"]


class OptionsAsked(OptionsQuestion):
    """What is still open."""

    ask: Literal["options"]


class OffersAsked(OffersQuestion):
    """Packages to compare."""

    ask: Literal["offers"]


class PlanAsked(Question):
    """The order of work."""

    ask: Literal["plan"]


class GapsAsked(GapsQuestion):
    """What is missing beside what is there."""

    ask: Literal["gaps"]


class SetupAsked(SetupQuestion):
    """Starting values for the set-up."""

    ask: Literal["setup"]


def _needed(known: Catalogue, asked: NeededAsked) -> Needed:
    question = Question(
        vehicle=asked.vehicle, year=asked.year, variant=asked.variant, picks=asked.cart,
        deadline=asked.deadline,
    )
    try:
        return needed(known, asked.part, question)
    except QuestionError as error:
        raise QuestionError(in_cart(error.field), error.message, error.nearest) from None


def _fit(known: Catalogue, asked: FitAsked) -> FitSheet:
    return fit(known, asked.parts, find_baseline(known, asked.vehicle, asked.year, asked.variant))


def _options(known: Catalogue, asked: OptionsAsked) -> Options:
    return options(known, asked, asked.places, asked.why_not)


def _offers(known: Catalogue, asked: OffersAsked) -> Front:
    return front(known, asked, asked.most)


@dataclass(frozen=True, slots=True)
class Sort:
    """One sort of question: its form, what answers it, and the form of what comes of it."""

    form: type[BaseModel]
    answer: Callable[[Catalogue, Any], BaseModel]
    outcome: type[o.Outcome]


SORTS: Mapping[str, Sort] = {
    "needed": Sort(NeededAsked, _needed, o.NeededReply),
    "package": Sort(PackageAsked, package, o.PackageReply),
    "fit": Sort(FitAsked, _fit, o.FitReply),
    "options": Sort(OptionsAsked, _options, o.OptionsReply),
    "offers": Sort(OffersAsked, _offers, o.OffersReply),
    "plan": Sort(PlanAsked, plan, o.PlanReply),
    "gaps": Sort(GapsAsked, gaps, o.GapsReply),
    "setup": Sort(SetupAsked, setup_sheet, o.SetupReply),
}

Asked = Annotated[
    NeededAsked | PackageAsked | FitAsked | OptionsAsked | OffersAsked | PlanAsked | GapsAsked
    | SetupAsked, Field(discriminator="ask"),
]
"""A question of any sort, of the right form."""
