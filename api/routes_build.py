"""What a builder asks: what is missing, and in which order it is done."""

from __future__ import annotations

from api.current import catalogue
from api.document import ANSWERS, answers, blueprint
from api.endpoint import NoQuery, endpoint
from rules.answers import Question
from rules.gaps import gaps
from rules.gaps_models import Gaps, GapsQuestion
from rules.plan import plan
from rules.plan_models import Plan
from rules.setup_sheet import setup_sheet
from rules.setup_sheet_models import SetupQuestion, SetupSheet

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


@routes.post("/setup", responses=answers(SetupSheet, 400, 412, 413, 415, 500, 503))
@endpoint
def setup_by_body(query: NoQuery, body: SetupQuestion) -> SetupSheet:
    """Starting values for the set-up, axle by axle, and what is missing for the others."""
    return setup_sheet(catalogue(), body)
