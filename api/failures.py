"""Turns everything that can be raised while a request is answered into problem details."""

from __future__ import annotations

import logging

from flask import Flask, Response, current_app, request
from werkzeug.exceptions import HTTPException, MethodNotAllowed, NotFound, RequestEntityTooLarge

from api.problems import LONGEST_TEXT, Refused, WrongField, problem_response
from api.working import route_of_request
from kb.errors import FaultyAnswer, OutOfTime, QuestionError, nearest_name

log = logging.getLogger("kitwright.api")

RETRY_AFTER = "5"
"""Seconds to wait after running out of time. Common practice, no source."""


def handle_failures(app: Flask) -> None:
    """Make `app` answer every failure with problem details."""
    app.register_error_handler(Refused, problem_response)
    app.register_error_handler(QuestionError, _wrong_question)
    app.register_error_handler(OutOfTime, _out_of_time)
    app.register_error_handler(FaultyAnswer, _faulty_answer)
    app.register_error_handler(HTTPException, _refused_by_flask)
    app.register_error_handler(Exception, _unforeseen)


def _wrong_question(error: QuestionError) -> Response:
    wrong = WrongField(field=error.field, message=error.message, nearest=error.nearest)
    return problem_response(Refused("wrong_question", str(error), [wrong]))


def _out_of_time(error: OutOfTime) -> Response:
    return problem_response(
        Refused("out_of_time", str(error), headers={"Retry-After": RETRY_AFTER})
    )


def _faulty_answer(error: FaultyAnswer) -> Response:
    log.error("withheld a faulty answer: %s", error, extra={"route": route_of_request()})
    return problem_response(Refused(
        "faulty_answer", "the answer failed an independent check and is withheld"
    ))


def _unforeseen(error: Exception) -> Response:
    log.error("unforeseen error", exc_info=error, extra={"route": route_of_request()})
    return problem_response(Refused("internal_error", "an unforeseen error; it has been logged"))


def _refused_by_flask(error: HTTPException) -> Response:
    """What werkzeug refuses by itself: no such route, wrong method, too large, odd address."""
    if isinstance(error, NotFound):
        return problem_response(_no_such_route())
    if isinstance(error, MethodNotAllowed):
        allowed = ", ".join(sorted(error.valid_methods or ()))
        detail = f"{request.method} is not allowed here; allowed: {allowed}"
        return problem_response(Refused("method_not_allowed", detail, headers={"Allow": allowed}))
    if isinstance(error, RequestEntityTooLarge):
        most = request.max_content_length
        return problem_response(Refused("body_too_large", f"a body holds at most {most} bytes"))
    code = "malformed_request" if error.code == 400 else "refused"
    return problem_response(Refused(code, error.description or error.name, status=error.code))


def _no_such_route() -> Refused:
    routes = {route.path for route in current_app.extensions["kitwright.routes"]}
    near = nearest_name(request.path[:LONGEST_TEXT], routes)
    wrong = WrongField(field="path", message=f"there is nothing at '{request.path}'", nearest=near)
    return Refused("no_such_route", wrong.message, [wrong])
