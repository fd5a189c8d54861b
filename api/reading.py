"""Reads a request into its models, strictly: nothing is guessed, dropped or taken twice."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any, TypeVar, get_args, get_origin

from flask import Flask, request
from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails
from werkzeug.datastructures import MultiDict

from api.problems import Refused, WrongField
from kb.errors import nearest_name

M = TypeVar("M", bound=BaseModel)

SAID = {
    "int_parsing": "expected a whole number",
    "int_type": "expected a whole number",
    "int_from_float": "expected a whole number",
    "float_parsing": "expected a number",
    "float_type": "expected a number",
    "bool_parsing": "expected true or false",
    "bool_type": "expected true or false",
    "string_type": "expected a text",
    "tuple_type": "expected a list",
    "model_type": "expected an object",
}
"""What was expected, for errors whose own message speaks of types rather than of the request."""


def refuse_unreadable(app: Flask) -> None:
    """Make `app` refuse addresses whose query no one can read, whatever they lead to."""
    app.before_request(_look_at_query)


def _look_at_query() -> None:
    try:
        request.args  # noqa: B018  # werkzeug decodes it when it is first looked at
    except UnicodeDecodeError:
        request.query_string = b""  # for whoever makes a page of the refusal
        raise Refused("malformed_request", "the query holds bytes that are not UTF-8") from None


def read_query(model: type[M]) -> M:
    """The query string as `model`. Raises Refused for unknown, repeated or wrong parameters."""
    return read_parameters(model, request.args)


def read_parameters(model: type[M], parameters: MultiDict[str, str]) -> M:
    """Parameters as `model`. Raises Refused for unknown, repeated or wrong ones."""
    given: dict[str, Any] = {}
    repeated = []
    for name, values in parameters.lists():
        field = model.model_fields.get(name)
        if field is not None and get_origin(field.annotation) is tuple:
            given[name] = values
        else:
            given[name] = values[0]
            if len(values) > 1:
                repeated.append(WrongField(field=name, message="given twice", nearest=None))
    if repeated:
        raise wrong_request(repeated)
    return validated(model, given)


def read_body(model: type[M]) -> M:
    """The JSON body as `model`. Raises Refused when it is not JSON, or not of that form."""
    if request.mimetype != "application/json":
        raise Refused("not_json", "expected a body of the type application/json")
    text = request.get_data(cache=False)
    request.stream.read(1)  # a body of no stated length is cut at the limit: this refuses it
    found = validated_json(model, text)
    json.loads(text, object_pairs_hook=_without_repeats)
    return found


def validated_json(model: type[M], text: str | bytes) -> M:
    """A JSON text as `model`. Raises Refused when it is not JSON, or with each wrong field."""
    try:
        return model.model_validate_json(text, strict=True)
    except ValidationError as error:
        details = error.errors(include_url=False)
        if details[0]["type"] == "json_invalid":
            raise _not_json(details[0]["ctx"]["error"]) from None
        raise wrong_request(_said(model, each) for each in details) from None


def _not_json(said: str) -> Refused:
    """The reader of JSON gives up after some 200 levels; no question has more than ten."""
    deep = said.replace("recursion limit exceeded", "nested too deep")
    return Refused("malformed_json" if deep == said else "nested_too_deep", deep)


def validated(model: type[M], given: Mapping[str, Any]) -> M:
    """`given` as `model`. Raises Refused with each wrong field."""
    try:
        return model.model_validate(given)
    except ValidationError as error:
        details = error.errors(include_url=False)
        raise wrong_request(_said(model, each) for each in details) from None


def wrong_request(errors: Iterable[WrongField]) -> Refused:
    """The refusal of a request with these wrong fields."""
    wrong = tuple(errors)
    says = "; ".join(f"{e.field}: {e.message}" if e.field else e.message for e in wrong)
    return Refused("wrong_request", says, wrong)


def _without_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise Refused("malformed_json", f"the name '{name}' is given twice in one object")
        found[name] = value
    return found


def _said(model: type[BaseModel], details: ErrorDetails) -> WrongField:
    """One error of the validator as a sentence about the request."""
    loc, kind = details["loc"], details["type"]
    field = ".".join(map(str, loc))
    if kind == "extra_forbidden":
        known = _known_fields(model, loc[:-1])
        message = f"unknown field; known are {', '.join(known)}" if known else "unknown field"
        return WrongField(field=field, message=message, nearest=nearest_name(str(loc[-1]), known))
    if kind == "literal_error":
        expected = str(details["ctx"]["expected"])
        known = [text.strip("' ") for text in expected.replace(" or ", ", ").split(", ")]
        near = nearest_name(str(details["input"])[:100], known)
        return WrongField(field=field, message=f"expected {expected}", nearest=near)
    if kind == "missing":
        return WrongField(field=field, message="is missing", nearest=None)
    message = details["msg"].removeprefix("Value error, ")
    said = SAID.get(kind) or f"{message[:1].lower()}{message[1:]}".replace("input should", "should")
    return WrongField(field=field, message=said, nearest=None)


def _known_fields(model: type[BaseModel], loc: tuple[int | str, ...]) -> list[str]:
    """The names that are known where `loc` points, found by walking the models."""
    for step in loc:
        if isinstance(step, str):
            inner = _model_in(model.model_fields[step].annotation)
            if inner is None:
                return []
            model = inner
    return list(model.model_fields)


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next(filter(None, map(_model_in, get_args(annotation))), None)
