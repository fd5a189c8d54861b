"""Turns what the validator reports into a sentence the keeper of a catalogue can act on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from pydantic import BaseModel

from kb.entries import Header, Limits, Rule, Trial, Work, part_models, vehicle_model
from kb.errors import nearest_name
from kb.reading import Map, Seq

Path = tuple[int | str, ...]


def say_problem(
    section: str, details: Mapping[str, Any], raw: Map
) -> tuple[Path, str, str, str]:
    """Path, message, what was expected and the nearest known name for one validation error."""
    path = _real_path(details["loc"], raw)
    kind, context = details["type"], details.get("ctx", {})
    name = str(path[-1]) if path else ""
    if kind == "extra_forbidden":
        known = _known_fields(section, details["loc"][:-1], raw)
        return path, f"unknown field '{name[:60]}'", _one_of(known), nearest_name(name, known)
    if kind == "missing":
        missing = str(details["loc"][-1])
        return path, f"field '{missing}' is missing", "", ""
    if kind == "union_tag_invalid":
        field = context["discriminator"].strip("'")
        known = [tag.strip(" '") for tag in context["expected_tags"].split(",")]
        tag = str(context["tag"])
        message = f"unknown {field} '{tag[:60]}'"
        return (*path, field), message, _one_of(known), nearest_name(tag, known)
    if kind == "union_tag_not_found":
        return path, f"field {context['discriminator']} is missing", "", ""
    if kind == "literal_error":
        known = [text.strip("'") for text in context["expected"].replace(" or ", ", ").split(", ")]
        found = str(details["input"])[:60]
        return path, f"{name}: '{found}' is not known", _one_of(known), nearest_name(found, known)
    if kind == "value_error":
        return path, f"{name}: {context['error']}" if name else str(context["error"]), "", ""
    return path, f"{name}: {details['msg'][:1].lower()}{details['msg'][1:]}".lstrip(": "), "", ""


def _one_of(known: list[str]) -> str:
    return "one of " + ", ".join(known) if known else ""


def _real_path(loc: Path, raw: Any) -> Path:
    """The location without the steps that exist in the model only (union tags)."""
    path: list[int | str] = []
    node = raw
    for step in loc:
        if isinstance(node, Map) and isinstance(step, str) and step in node:
            node = node[step]
        elif isinstance(node, Seq) and isinstance(step, int) and step < len(node):
            node = node[step]
        else:
            continue
        path.append(step)
    return tuple(path)


def _known_fields(section: str, loc: Path, raw: Map) -> list[str]:
    """The field names that are known where `loc` points, found by walking the models."""
    models = _models_of(section, raw)
    for step in loc:
        if not isinstance(step, str):
            continue
        fields = [m.model_fields[step].annotation for m in models if step in m.model_fields]
        tagged = [m for m in models if step in _tags(m)]
        if fields:
            models = [model for annotation in fields for model in _models_in(annotation)]
        elif tagged:
            models = tagged
    return sorted({name for model in models for name in model.model_fields})


def _models_of(section: str, raw: Map) -> list[type[BaseModel]]:
    if section == "parts":
        model = part_models().get(str(raw.get("kind")))
        return [model] if model else []
    models: dict[str, type[BaseModel]] = {
        "vehicles": vehicle_model(), "work": Work, "rules": Rule, "trials": Trial,
        "catalog": Header, "limits": Limits,
    }
    return [models[section]]


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    """Every model named anywhere inside a type annotation."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for inner in get_args(annotation) for model in _models_in(inner)]


def _tags(model: type[BaseModel]) -> tuple[Any, ...]:
    field = model.model_fields.get("about") or model.model_fields.get("kind")
    return get_args(field.annotation) if field else ()
