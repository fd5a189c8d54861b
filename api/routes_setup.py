"""POST /v1/corner-weights: from four scale readings to the turns of each perch."""

from __future__ import annotations

from api.current import catalogue
from api.document import ANSWERS, answers, blueprint
from api.endpoint import NoQuery, endpoint
from rules.setup import CornerQuestion, CornerWeights, corner_weights

routes = blueprint("setup", ANSWERS, "/v1")


@routes.post("/corner-weights", responses=answers(CornerWeights, 400, 412, 413, 415))
@endpoint
def corner_weights_by_body(query: NoQuery, body: CornerQuestion) -> CornerWeights:
    """The perch turns that bring the wanted cross weight, or what has to be measured first."""
    return corner_weights(catalogue(), body)
