"""What came of the questions of a batch."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, Field

from api.problems import ProblemDetails
from rules.answers import CatalogRef, FitSheet, Front, Model, Needed, Options, Package, Proof
from rules.gaps_models import Gaps
from rules.plan_models import Plan
from rules.setup_sheet_models import SetupSheet


class Outcome(Model):
    """What came of one question: what it would have got if it had been asked by itself."""

    status: int = Field(description="as of a response of its own")
    problem: ProblemDetails | None = Field(description="why there is no answer")


class NeededReply(Outcome):
    """What came of a question for what is needed."""

    ask: Literal["needed"]
    body: Needed | None


class PackageReply(Outcome):
    """What came of a question for a package."""

    ask: Literal["package"]
    body: Package | None


class FitReply(Outcome):
    """What came of a question whether parts fit."""

    ask: Literal["fit"]
    body: FitSheet | None


class OptionsReply(Outcome):
    """What came of a question for what is still open."""

    ask: Literal["options"]
    body: Options | None


class OffersReply(Outcome):
    """What came of a question for packages to compare."""

    ask: Literal["offers"]
    body: Front | None


class PlanReply(Outcome):
    """What came of a question for the order of work."""

    ask: Literal["plan"]
    body: Plan | None


class GapsReply(Outcome):
    """What came of a question for what is missing."""

    ask: Literal["gaps"]
    body: Gaps | None


class SetupReply(Outcome):
    """What came of a question for starting values."""

    ask: Literal["setup"]
    body: SetupSheet | None


class NoQuestion(Outcome):
    """What came of something that asked nothing that is known."""

    ask: Literal[""]
    body: None


AnyOutcome = Annotated[
    NeededReply | PackageReply | FitReply | OptionsReply | OffersReply | PlanReply
    | GapsReply | SetupReply | NoQuestion, Field(discriminator="ask"),
]
"""An outcome; `ask` is what was asked, and says what the body is."""


class Outcomes(Model):
    """What came of each question, in their order."""

    catalog: CatalogRef
    outcomes: tuple[AnyOutcome, ...]


def is_final(answer: BaseModel | None) -> bool:
    """Whether asking again gives the same: not so for what was cut short, or went wrong here."""
    if isinstance(answer, Outcomes):
        return all(each.status < 500 and is_final(each.body) for each in answer.outcomes)
    proof = getattr(answer, "proof", None)
    return not (isinstance(proof, Proof) and not proof.least)


def cut_short(answer: BaseModel | None) -> int:
    """How many answers in this one were cut short, or not found, for want of time."""
    if isinstance(answer, Outcomes):
        problems = [each.problem.code for each in answer.outcomes if each.problem]
        return problems.count("out_of_time") + sum(cut_short(o.body) for o in answer.outcomes)
    return int(not is_final(answer))
