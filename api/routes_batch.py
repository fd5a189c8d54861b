"""POST /v1/batch: many questions in one request, each with an outcome of its own."""

from __future__ import annotations

import json
from time import monotonic
from typing import Any, cast

from pydantic import BaseModel, Field, JsonValue

from api.batch import SORTS, Asked
from api.current import catalogue
from api.document import ANSWERS, answers, blueprint
from api.endpoint import NoQuery, endpoint
from api.failures import refusal_of
from api.limits import within_limits
from api.outcomes import AnyOutcome, NoQuestion, Outcomes
from api.problems import Refused, WrongField, problem_details
from api.reading import validated_json, wrong_request
from kb.catalogue import Catalogue
from kb.errors import OutOfTime, nearest_name
from rules.answers import Model
from rules.naming import catalog_ref

routes = blueprint("batch", ANSWERS, "/v1")

MOST = 1000


class Batch(Model):
    """Many questions. One that has not the right form spoils none of the others."""

    questions: tuple[Asked | dict[str, JsonValue], ...] = Field(
        min_length=1, max_length=MOST,
        description="each an object whose `ask` says what is asked, beside the fields of that "
        "question",
    )
    deadline: float = Field(10.0, gt=0, le=120, description="seconds; no question is begun later")


@routes.post("/batch", responses=answers(Outcomes, 400, 412, 413, 415))
@endpoint
def batch_by_body(query: NoQuery, body: Batch) -> Outcomes:
    """The outcome of each of many questions, in their order."""
    known, ends = catalogue(), monotonic() + body.deadline
    return Outcomes(catalog=catalog_ref(known), outcomes=tuple(
        _outcome(known, question, ends) for question in body.questions
    ))


def _outcome(known: Catalogue, question: BaseModel | dict[str, Any], ends: float) -> AnyOutcome:
    ask = question.get("ask") if isinstance(question, dict) else getattr(question, "ask", "")
    said = ask if isinstance(ask, str) and ask in SORTS else ""
    form: Any = SORTS[said].outcome if said else NoQuestion
    try:
        body = _answer(known, _read(question), ends)
    except Exception as error:  # whatever it is, it is the outcome of this question alone
        problem = problem_details(refusal_of(error))
        return cast(AnyOutcome, form(ask=said, status=problem.status, body=None, problem=problem))
    return cast(AnyOutcome, form(ask=said, status=200, body=body, problem=None))


def _answer(known: Catalogue, asked: BaseModel, ends: float) -> BaseModel:
    """The answer to one question, begun before the time of the batch ends."""
    if monotonic() > ends:
        raise OutOfTime("the questions before it took the time of the batch")
    return SORTS[getattr(asked, "ask", "")].answer(known, within_limits(asked))


def _read(question: BaseModel | dict[str, Any]) -> BaseModel:
    """A question as a model. Raises Refused for one that has not the right form."""
    if isinstance(question, BaseModel):
        return question
    ask = question.get("ask")
    if not isinstance(ask, str) or ask not in SORTS:
        raise _not_a_sort(ask)
    return validated_json(SORTS[ask].form, json.dumps(question))


def _not_a_sort(ask: object) -> Refused:
    near = nearest_name(ask[:100], SORTS) if isinstance(ask, str) else None
    message = f"expected one of {', '.join(SORTS)}"
    return wrong_request([WrongField(field="ask", message=message, nearest=near)])
