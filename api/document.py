"""The OpenAPI document: written by flask-openapi3 from the models, completed with what it leaves
out: problem details, validators of caches, and examples that hold for the catalogue being served.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from copy import deepcopy
from http import HTTPStatus
from typing import Any

from flask_openapi3.blueprint import APIBlueprint
from flask_openapi3.models.info import Info
from flask_openapi3.models.tag import Tag
from flask_openapi3.openapi import OpenAPI
from pydantic import BaseModel

from api.access import needs_token
from api.endpoint import SVG, VERSION
from api.examples import examples
from api.limits import state_limits
from api.problems import MEDIA_TYPE, ProblemDetails
from api.settings import Settings
from kb.catalogue import Catalogue

CATALOGUE = Tag(name="catalogue", description="What is known.")
ANSWERS = Tag(name="answers", description="What follows for one car.")
SERVICE = Tag(name="service", description="The service itself.")

INFO = Info(
    title="Kitwright", version=VERSION,
    description="Which parts go together on a car, and what else is needed. Fields may be added "
    "to answers; none are taken away or change their meaning within /v1.",
)

PROBLEM = {"$ref": f"#/components/schemas/{ProblemDetails.__name__}"}
UNSTORED = ("/healthz", "/readyz")


def blueprint(name: str, tag: Tag, prefix: str | None = None) -> APIBlueprint:
    """An empty group of routes; each operation is called as its function."""
    def operation_id(*, name: str, **_: str) -> str:
        return name

    return APIBlueprint(
        name, __name__, url_prefix=prefix, abp_tags=[tag], operation_id_callback=operation_id
    )


def answers(model: type[BaseModel], *statuses: int) -> dict[Any, Any]:
    """The responses of an endpoint: its model, problems of these statuses, any other problem."""
    problems = {status: _problem(HTTPStatus(status).phrase) for status in (422, *statuses)}
    return {200: model, **problems, "default": _problem("Any other problem")}


def picture(*statuses: int) -> dict[Any, Any]:
    """The responses of an endpoint that draws: SVG, and problems as ever."""
    drawn = {"schema": {"type": "string", "description": "an SVG document"}}
    policy = {"description": "nothing in it may run or be fetched", "schema": {"type": "string"}}
    ok = {
        "description": "The drawing", "content": {SVG: drawn},
        "headers": {"Content-Security-Policy": policy},
    }
    return {**answers(BaseModel, *statuses), 200: ok}


def _problem(description: str) -> dict[str, Any]:
    return {"description": description, "content": {MEDIA_TYPE: {"schema": PROBLEM}}}


def document(app: OpenAPI, settings: Settings) -> dict[str, Any]:
    """The whole document but for examples, which depend on the catalogue."""
    found: dict[str, Any] = app.api_doc
    for path, method, operation in operations(found):
        if path not in UNSTORED:
            _validators(method, operation)
            _refusals_of_the_gate(operation)
    _open_answers(found)
    _state_settings(found, settings)
    return found


def _state_settings(found: dict[str, Any], settings: Settings) -> None:
    """Write the limits of the service, and where its token is needed, into the document."""
    state_limits([s.get("properties", {}) for s in found["components"]["schemas"].values()],
                 settings)
    for path, method, operation in operations(found):
        parameters = operation.get("parameters", ())
        state_limits([{p["name"]: p["schema"] for p in parameters}], settings)
        if needs_token(settings, method.upper(), path):
            operation["security"] = [{"token": []}]
            operation["responses"]["401"] = _problem("Unauthorized")
    if settings.token is not None:
        found["components"]["securitySchemes"] = {"token": {"type": "http", "scheme": "bearer"}}


def with_examples(described: dict[str, Any], catalogue: Catalogue) -> dict[str, Any]:
    """The document with examples that hold for this catalogue."""
    found, shown = deepcopy(described), examples(catalogue)
    for path, _, operation in operations(found):
        for parameter in operation.get("parameters", ()):
            example = shown.get((path, parameter["name"]), shown.get(("", parameter["name"])))
            if example is not None:
                parameter["example"] = example
        if "requestBody" in operation and (path, "body") in shown:
            operation["requestBody"]["content"]["application/json"]["example"] = shown[path, "body"]
    return found


def _open_answers(found: dict[str, Any]) -> None:
    """Let clients expect fields they do not know in answers, since fields may be added."""
    schemas = found["components"]["schemas"]
    asked = [op["requestBody"] for _, _, op in operations(found) if "requestBody" in op]
    closed = set(_named(asked, schemas))
    for name, schema in schemas.items():
        if name not in closed and schema.get("additionalProperties") is False:
            del schema["additionalProperties"]


def _named(part: Any, schemas: Mapping[str, Any]) -> Iterator[str]:
    """The schemas that a part of the document refers to, at any depth."""
    if isinstance(part, Mapping):
        if isinstance(ref := part.get("$ref"), str):
            name = ref.rpartition("/")[2]
            yield name
            yield from _named(schemas[name], schemas)
        part = list(part.values())
    if isinstance(part, list):
        for inner in part:
            yield from _named(inner, schemas)


def operations(found: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Path, method and description of each operation of a document."""
    for path, item in found["paths"].items():
        for method, operation in item.items():
            yield path, method, operation


def _refusals_of_the_gate(operation: dict[str, Any]) -> None:
    """That a question may have to be asked again later, and when."""
    later = {"description": "so many seconds later", "schema": {"type": "string"}}
    for status in (HTTPStatus.TOO_MANY_REQUESTS, HTTPStatus.SERVICE_UNAVAILABLE):
        refusal = {**_problem(status.phrase), "headers": {"Retry-After": later}}
        operation["responses"][f"{status.value}"] = refusal


def _validators(method: str, operation: dict[str, Any]) -> None:
    """The headers and the parameter by which an answer is asked for only if it changed."""
    tag = {"description": "changes when the answer may have changed", "schema": {"type": "string"}}
    operation["responses"]["200"].setdefault("headers", {})["ETag"] = tag
    if method == "get":
        operation["responses"]["304"] = {"description": "Not Modified", "headers": {"ETag": tag}}
    operation.setdefault("parameters", []).append({
        "name": "If-None-Match", "in": "header", "required": False,
        "description": "the ETag of the answer that the caller has", "schema": {"type": "string"},
    })
