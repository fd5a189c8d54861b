"""Working out an answer: through the gate, with its time taken.

What belongs to an app beside its catalogue is kept here too: settings, gate, metrics.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from flask import Flask, current_app, request
from pydantic import BaseModel

from api.gate import Gate
from api.outcomes import cut_short
from api.settings import Settings
from kb.errors import OutOfTime
from rules.searching import search_time

if TYPE_CHECKING:  # it looks at its environment when it is imported, which is for the app to do
    from api.metrics import Metrics

M = TypeVar("M", bound=BaseModel)

SETTINGS, GATE, METRICS = "kitwright.settings", "kitwright.gate", "kitwright.metrics"


def settings_of(app: Flask) -> Settings:
    """How an app is set."""
    found: Settings = app.extensions[SETTINGS]
    return found


def metrics_of(app: Flask) -> Metrics:
    """What an app counts."""
    found: Metrics = app.extensions[METRICS]
    return found


def route_of_request() -> str:
    """The route of the request at hand as it is written, never as it was called."""
    return request.url_rule.rule if request.url_rule else "none"


def worked_out(view: Callable[..., M], given: dict[str, BaseModel]) -> M:
    """What a view answers. Raises Refused when too many questions are in hand already."""
    gate: Gate = current_app.extensions[GATE]
    counted = metrics_of(current_app)
    route = route_of_request()
    with gate.passed(), counted.in_hand.track_inprogress(), search_time() as search:
        try:
            answer = view(**given)
        except OutOfTime:
            counted.late.labels(route).inc()
            raise
        finally:
            counted.searching.labels(route).observe(search.seconds)
    counted.late.labels(route).inc(cut_short(answer))
    return answer
