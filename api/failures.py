"""Turns everything that can be raised while a request is answered into problem details."""

from __future__ import annotations

import logging
from functools import singledispatch

from flask import Flask, current_app, request
from werkzeug.exceptions import HTTPException, MethodNotAllowed, NotFound, RequestEntityTooLarge

from api.problems import LONGEST_TEXT, Refused, WrongField, problem_response
from api.working import route_of_request
from kb.errors import FaultyAnswer, OutOfTime, QuestionError, nearest_name

log = logging.getLogger("kitwright.api")

RETRY_AFTER = "5"
"""Seconds to wait after running out of time. Common practice, no source."""


def handle_failures(app: Flask) -> None:
    """Make `app` answer every failure with problem details."""
    app.register_error_handler(Exception, lambda error: problem_response(refusal_of(error)))


@singledispatch
def refusal_of(error: Exception) -> Refused:
    """What a caller is told of an error; what only the log should know is logged."""
    log.error("unforeseen error", exc_info=error, extra={"route": route_of_request()})
    return Refused("internal_error", "an unforeseen error; it has been logged")


@refusal_of.register
def _(error: Refused) -> Refused:
    return error


@refusal_of.register
def _(error: QuestionError) -> Refused:
    wrong = WrongField(field=error.field, message=error.message, nearest=error.nearest)
    return Refused("wrong_question", str(error), [wrong])


@refusal_of.register
def _(error: OutOfTime) -> Refused:
    return Refused("out_of_time", str(error), headers={"Retry-After": RETRY_AFTER})


@refusal_of.register
def _(error: FaultyAnswer) -> Refused:
    log.error("withheld a faulty answer: %s", error, extra={"route": route_of_request()})
    return Refused("faulty_answer", "the answer failed an independent check and is withheld")


@refusal_of.register
def _(error: HTTPException) -> Refused:
    """What werkzeug refuses by itself: no such route, wrong method, too large, odd address."""
    if isinstance(error, NotFound):
        return _no_such_route()
    if isinstance(error, MethodNotAllowed):
        allowed = ", ".join(sorted(error.valid_methods or ()))
        detail = f"{request.method} is not allowed here; allowed: {allowed}"
        return Refused("method_not_allowed", detail, headers={"Allow": allowed})
    if isinstance(error, RequestEntityTooLarge):
        most = request.max_content_length
        return Refused("body_too_large", f"a body holds at most {most} bytes")
    code = "malformed_request" if error.code == 400 else "refused"
    return Refused(code, error.description or error.name, status=error.code)


def _no_such_route() -> Refused:
    routes = {route.path for route in current_app.extensions["kitwright.routes"]}
    near = nearest_name(request.path[:LONGEST_TEXT], routes)
    wrong = WrongField(field="path", message=f"there is nothing at '{request.path}'", nearest=near)
    return Refused("no_such_route", wrong.message, [wrong])
