"""How the API says no: problem details (RFC 9457) with a stable code for each kind of failure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from flask import Response
from pydantic import Field

from rules.answers import Model

MEDIA_TYPE = "application/problem+json"
LONGEST_TEXT = 500


class WrongField(Model):
    """One thing wrong with a request, and the nearest known name where there is one."""

    field: str = Field(description="such as picks.0.part; empty: the request as a whole")
    message: str
    nearest: str | None = Field(description="the known name that comes closest, if any does")


class ProblemDetails(Model):
    """A failure as RFC 9457 has it. `code` never changes; the texts may."""

    type: str = Field(description="where this kind of problem is described")
    title: str
    status: int
    detail: str
    code: str
    errors: tuple[WrongField, ...]


@dataclass(frozen=True, slots=True)
class ProblemKind:
    """One kind of failure: what it means and what the caller can do."""

    status: int
    title: str
    meaning: str


KINDS: Mapping[str, ProblemKind] = {
    "malformed_request": ProblemKind(
        400, "The request cannot be read", "The request is not proper HTTP or its address is odd."),
    "malformed_json": ProblemKind(
        400, "The body is not JSON", "Send one JSON object in UTF-8, without repeated names."),
    "token_needed": ProblemKind(
        401, "A token is needed", "Send the token of this service: Authorization: Bearer <token>."),
    "no_such_route": ProblemKind(
        404, "There is nothing at this address", "The index at /v1 lists the routes."),
    "unknown_part": ProblemKind(
        404, "There is no such part", "The catalogue has no part of this id."),
    "unknown_drawing": ProblemKind(
        404, "There is no such drawing",
        "GET /v1/drawings lists the drawings of a package: those whose measurements are known."),
    "unknown_problem": ProblemKind(
        404, "There is no such kind of problem", "The index at /v1 lists the routes."),
    "method_not_allowed": ProblemKind(
        405, "This method is not allowed here", "The header Allow names those that are."),
    "unchanged": ProblemKind(
        412, "The answer has not changed",
        "The tag in If-None-Match is that of the answer: the caller has it already."),
    "body_too_large": ProblemKind(
        413, "The body is too large", "Ask less in one request."),
    "not_json": ProblemKind(
        415, "The body has to be JSON", "Send it with Content-Type: application/json."),
    "wrong_request": ProblemKind(
        422, "The request does not have the form it should",
        "Each entry of errors names a field and what is wrong with it."),
    "wrong_question": ProblemKind(
        422, "The question cannot be answered as put",
        "It names something that the catalogue does not know, or leaves open which car is meant."),
    "nested_too_deep": ProblemKind(
        422, "The body is nested too deep", "No question needs more than a few levels."),
    "too_many_questions": ProblemKind(
        429, "Too many questions at a time",
        "So many questions are in hand and waiting that no more are taken. Ask again later, "
        "and fewer at a time."),
    "refused": ProblemKind(
        400, "The request was refused", "The status says why."),
    "internal_error": ProblemKind(
        500, "Something went wrong here", "It is ours to mend. The question may be asked again."),
    "faulty_answer": ProblemKind(
        500, "The answer failed its own check",
        "The answer was found faulty and is withheld. It is ours to mend."),
    "busy": ProblemKind(
        503, "Other questions took too long", "The question was not begun. Ask again later."),
    "out_of_time": ProblemKind(
        503, "There was not enough time", "Ask again later, ask less, or allow a longer deadline."),
}
"""Every code the API uses. Codes are part of the contract: they may be added to, never changed."""


class Refused(Exception):
    """A request that ends in a problem of the kind `code`."""

    def __init__(
        self, code: str, detail: str, errors: Iterable[WrongField] = (),
        status: int | None = None, headers: Mapping[str, str] | None = None,
    ) -> None:
        self.code, self.detail, self.errors = code, detail, tuple(errors)
        self.status, self.headers = status, dict(headers or {})
        super().__init__(detail)


def problem_details(refused: Refused) -> ProblemDetails:
    """A refusal as the caller is told it."""
    kind = KINDS[refused.code]
    return ProblemDetails(
        type=f"/problems/{refused.code}", title=kind.title,
        status=refused.status or kind.status, detail=clip(refused.detail), code=refused.code,
        errors=tuple(_clipped(error) for error in refused.errors),
    )


def problem_response(refused: Refused) -> Response:
    """The response of a refusal. Problems are never stored by caches."""
    details = problem_details(refused)
    response = Response(details.model_dump_json(), details.status, mimetype=MEDIA_TYPE)
    response.headers.update({"Cache-Control": "no-store", **refused.headers})
    return response


def clip(text: str) -> str:
    """A text short enough to send back, however long what it quotes was."""
    return text if len(text) <= LONGEST_TEXT else f"{text[:LONGEST_TEXT - 3]}..."


def _clipped(error: WrongField) -> WrongField:
    return WrongField(
        field=clip(error.field), message=clip(error.message), nearest=error.nearest or None
    )
