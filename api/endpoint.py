"""One endpoint: read the request, answer from the cache of the caller if it can, else work it out.

A view is a plain function from models (`path`, `query`, `body`) to a model; `@endpoint` does the
HTTP around it. It reads requests itself, since flask-openapi3 neither refuses repeated parameters
nor reads bodies strictly, and builds a JSON Schema for each request; the library documents.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import wraps
from importlib.metadata import PackageNotFoundError, version
from typing import get_type_hints

from flask import Response, request
from pydantic import BaseModel

from api.current import catalogue
from api.limits import within_limits
from api.outcomes import is_final
from api.problems import Refused
from api.reading import read_body, read_query, validated
from api.working import worked_out
from rules.answers import Proof

try:
    VERSION = version("kitwright")
except PackageNotFoundError:  # run from a checkout that is not installed
    VERSION = "0+checkout"

SVG = "image/svg+xml"

View = Callable[..., BaseModel]


class Picture(BaseModel):
    """An answer that is sent as the drawing it is, not as JSON."""

    svg: str
    proof: Proof | None


def endpoint(view: View) -> Callable[..., Response]:
    """An endpoint whose answer depends on the catalogue and the question alone."""
    read = _reader(view)

    @wraps(view)
    def respond(**in_path: str) -> Response:
        given = {name: within_limits(model) for name, model in read(in_path).items()}
        tag = answer_tag(catalogue().digest, request.path, given)
        known = request.if_none_match
        if not known.star_tag and known.contains_weak(tag):
            return _unchanged(tag)
        answer = worked_out(view, given)
        if not is_final(answer):
            return _written(answer, "no-store")
        if known.star_tag:
            return _unchanged(tag)
        return _tagged(_written(answer, "no-cache"), tag)

    return _documented_only(respond)


def passing(view: View) -> Callable[..., Response]:
    """An endpoint about this moment, such as a health check: never stored."""
    read = _reader(view)

    @wraps(view)
    def respond(**in_path: str) -> Response:
        return _written(view(**read(in_path)), "no-store")

    return _documented_only(respond)


def answer_tag(digest: str, path: str, question: dict[str, BaseModel]) -> str:
    """The entity tag of an answer: the same catalogue, program and question give the same tag.

    Models write their fields in one order with every default filled in, so their JSON is canonical.
    """
    asked = "\n".join(f"{name} {model.model_dump_json()}" for name, model in question.items())
    text = f"{VERSION}\n{digest}\n{path}\n{asked}"
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def _reader(view: View) -> Callable[[dict[str, str]], dict[str, BaseModel]]:
    models = {k: m for k, m in get_type_hints(view).items() if k in ("path", "query", "body")}

    def read(in_path: dict[str, str]) -> dict[str, BaseModel]:
        given: dict[str, BaseModel] = {}
        if "path" in models:
            given["path"] = validated(models["path"], in_path)
        given["query"] = read_query(models["query"])
        if "body" in models:
            given["body"] = read_body(models["body"])
        return given

    return read


def _documented_only(respond: Callable[..., Response]) -> Callable[..., Response]:
    """Tell flask-openapi3 that the function validates its request, as its own decorator does."""
    respond.__delay_validate_request__ = True  # type: ignore[attr-defined]
    return respond


def _written(answer: BaseModel, cache: str) -> Response:
    if isinstance(answer, Picture):
        response = Response(answer.svg, mimetype=SVG)
        response.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    else:
        response = Response(answer.model_dump_json(by_alias=True), mimetype="application/json")
    response.headers["Cache-Control"] = cache
    return response


def _unchanged(tag: str) -> Response:
    """304 for reading, 412 for any other method (RFC 9110, section 13.1.2)."""
    if request.method not in ("GET", "HEAD"):
        raise Refused("unchanged", "the answer is the one the caller has", headers={
            "ETag": f'W/"{tag}"'})
    response = Response(status=304)
    response.headers["Cache-Control"] = "no-cache"
    return _tagged(response, tag)


def _tagged(response: Response, tag: str) -> Response:
    response.set_etag(tag, weak=True)  # of the answer, not of its bytes: see api.compression
    return response


class NoQuery(BaseModel):
    """A request without parameters."""

    model_config = {"extra": "forbid"}

