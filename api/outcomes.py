"""What came of the questions of a batch."""

from __future__ import annotations

from pydantic import BaseModel, Field

from api.problems import ProblemDetails
from rules.answers import CatalogRef, FitSheet, Front, Model, Needed, Options, Package, Proof
from rules.gaps_models import Gaps
from rules.plan_models import Plan
from rules.setup_sheet_models import SetupSheet

Answer = Needed | Package | FitSheet | Options | Front | Plan | Gaps | SetupSheet


class Outcome(Model):
    """What came of one question: what it would have got if it had been asked by itself."""

    ask: str = Field(description="as it was asked; empty: it was of no known sort")
    status: int = Field(description="as of a response of its own")
    body: Answer | None = Field(description="the answer; None: there is a problem")
    problem: ProblemDetails | None = Field(description="why there is no answer")


class Outcomes(Model):
    """What came of each question, in their order."""

    catalog: CatalogRef
    outcomes: tuple[Outcome, ...]


def is_final(answer: BaseModel | None) -> bool:
    """Whether asking again gives the same: not so for what was cut short, or went wrong here."""
    if isinstance(answer, Outcomes):
        return all(each.status < 500 and is_final(each.body) for each in answer.outcomes)
    proof = getattr(answer, "proof", None)
    return not (isinstance(proof, Proof) and not proof.least)
