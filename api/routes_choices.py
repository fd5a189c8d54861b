"""POST /v1/options and /v1/offers: what is still open, and packages to compare."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from api.current import catalogue
from api.document import ANSWERS, answers, blueprint
from api.endpoint import NoQuery, endpoint
from rules.answers import AsWhole, Front, Options, Question
from rules.front import front
from rules.options import options

routes = blueprint("choices", ANSWERS, "/v1")


class OptionsQuestion(Question):
    """A question, the places it is about, and parts whose refusal is to be explained."""

    places: tuple[str, ...] = Field((), max_length=100, description="none: all that is touched")
    why_not: tuple[str, ...] = Field((), max_length=20, description="part ids")


class OffersQuestion(Question):
    """A question, and how many packages to compare."""

    most: Annotated[int, Field(ge=1, le=20), AsWhole] = 3


@routes.post("/options", responses=answers(Options, 400, 412, 413, 415, 503))
@endpoint
def options_by_body(query: NoQuery, body: OptionsQuestion) -> Options:
    """For each place and need: which parts are forced, possible or out, and why."""
    return options(catalogue(), body, body.places, body.why_not)


@routes.post("/offers", responses=answers(Front, 400, 412, 413, 415, 500, 503))
@endpoint
def offers_by_body(query: NoQuery, body: OffersQuestion) -> Front:
    """Packages none of which is beaten on price, time and mass at once."""
    return front(catalogue(), body, body.most)
