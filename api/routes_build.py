"""What a builder asks: what is missing, and in which order it is done."""

from __future__ import annotations

from api.document import ANSWERS, answers, blueprint
from api.endpoint import NoQuery, catalogue, endpoint
from rules.answers import Question
from rules.gaps import gaps
from rules.gaps_models import Gaps, GapsQuestion
from rules.plan import plan
from rules.plan_models import Plan

routes = blueprint("build", ANSWERS, "/v1")


@routes.post("/plan", responses=answers(Plan, 400, 412, 413, 415, 500, 503))
@endpoint
def plan_by_body(query: NoQuery, body: Question) -> Plan:
    """The order of work of the least complete package, for one person and for two."""
    return plan(catalogue(), body)


@routes.post("/gaps", responses=answers(Gaps, 400, 412, 413, 415, 500, 503))
@endpoint
def gaps_by_body(query: NoQuery, body: GapsQuestion) -> Gaps:
    """What is missing, short, left over, wrong or in conflict, beside what is there."""
    return gaps(catalogue(), body)
