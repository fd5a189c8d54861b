"""Turns what the validator reports into a sentence the keeper of a catalogue can act on."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from typing import Any, get_args

from pydantic import BaseModel

from kb.dimensions import fact_groups
from kb.entries import Rule, Trial, Work
from kb.errors import nearest_name, printable, shown
from kb.files import SINGLES, part_models, vehicle_model
from kb.remembered import RememberedKit
from kb.statements import ID_PATTERN

Path = tuple[int | str, ...]
Said = tuple[Path, str, str, str]
"""Path, message, what was expected, the nearest known name."""

ID_RULE = "ASCII letters, digits and . _ + : ~ = - (at most 120, a letter or digit first)"

_DUE = {
    "string_type": "a text",
    "tuple_type": "a list",
    "dict_type": "a mapping",
    "model_type": "a mapping",
    "model_attributes_type": "a mapping",
}
"""What was due where the shape of a value is wrong."""

_PATTERNS = {ID_PATTERN: ID_RULE, "^[A-Z]{3}$": "three capitals, such as 'EUR'"}
"""What the patterns of the models say."""

_MANY = 5
"""More known names than this are listed only where none of them is near."""


def say_problem(section: str, details: Mapping[str, Any], raw: Mapping[str, Any]) -> Said:
    """Path, message, what was expected and the nearest known name for one validation error."""
    path = _real_path(section, details["loc"], raw)
    kind, context, value = details["type"], details.get("ctx", {}), details["input"]
    if kind == "extra_forbidden":
        name = str(path[-1])
        known = _known_fields(section, details["loc"][:-1], raw)
        return _unknown(path, f"unknown field {shown(name)}", name, known)
    if kind == "missing" and isinstance(details["loc"][-1], str):
        return path, f"{_of(path)}field '{details['loc'][-1]}' is missing", "", ""
    if kind == "union_tag_invalid":
        field, tag = context["discriminator"].strip("'"), str(context["tag"])
        known = [name.strip(" '") for name in context["expected_tags"].split(",")]
        return _unknown((*path, field), f"unknown {field} {shown(tag)}", tag, known)
    if kind == "union_tag_not_found":
        return path, f"{_of(path)}field {context['discriminator']} is missing", "", ""
    if kind == "literal_error":
        known = [text.strip("'") for text in context["expected"].replace(" or ", ", ").split(", ")]
        return _unknown(path, f"{_of(path)}{found(value)} is not known", str(value), known)
    return (path, *_say_value(_of(path), details), "")


def _say_value(of: str, details: Mapping[str, Any]) -> tuple[str, str]:
    """Message and what was expected, for a value that is not what its field holds."""
    kind, context, value = details["type"], details.get("ctx", {}), details["input"]
    if kind in _DUE or kind == "text_due":
        due = _DUE.get(kind) or context["what"]
        return f"{of}{'nothing' if value is None else found(value)} is stated", due
    if kind == "unreadable":
        return f"{of}{context['why']}", ""
    if kind == "value_error":
        return f"{of}{context['error']}", ""
    if kind == "string_pattern_mismatch":
        due = _PATTERNS.get(context["pattern"], f"a text that matches {context['pattern']}")
        return f"{of}{str(value)[:60]!a} cannot be read", due
    if kind in ("missing", "too_long"):  # of a range, which is a list of two
        return f"{of}{len(value)} stated", "two"
    if kind == "too_short":
        return f"{of}none is stated", "at least one"
    if kind == "string_too_short":
        return f"{of}the text is empty", ""
    if kind == "string_too_long":
        return f"{of}the text has {len(value)} characters", f"at most {context['max_length']}"
    return f"{of}{details['msg'][:1].lower()}{details['msg'][1:]}", ""


def found(value: Any) -> str:
    """A raw value as said in a message."""
    if value is None:
        return "empty"
    if isinstance(value, dict):
        return "a mapping"
    return "a list" if isinstance(value, list) else shown(str(value))


def _of(path: Path) -> str:
    """The field a message is about, with the number of the item in its list."""
    items = [step + 1 for step in path[-1:] if isinstance(step, int)]
    fields = [step for step in path if isinstance(step, str)]
    if not fields:
        return ""
    field = printable(fields[-1][:60])
    return f"{field}, item {items[0]}: " if items else f"{field}: "


def _unknown(path: Path, message: str, name: str, known: list[str]) -> Said:
    nearest = nearest_name(name, known)
    listed = f"one of {', '.join(known)}" if known and (len(known) <= _MANY or not nearest) else ""
    return path, message, listed, nearest


def _real_path(section: str, loc: Path, raw: Any) -> Path:
    """The location without the steps that exist in the model only (the tags of unions)."""
    path: list[int | str] = []
    node = raw
    for i, step in enumerate(loc):
        tag = (section == "parts" and i == 0) or (i == 2 and loc[0] == "facts")
        if tag and (step in part_models() or step in fact_groups()):
            continue
        inside = isinstance(node, dict) and step in node
        if inside or (isinstance(node, list) and isinstance(step, int) and step < len(node)):
            node = node[step]
            path.append(step)
    return tuple(path)


def _known_fields(section: str, loc: Path, raw: Mapping[str, Any]) -> list[str]:
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


def _models_of(section: str, raw: Mapping[str, Any]) -> list[type[BaseModel]]:
    if section == "parts":
        model = part_models().get(str(raw.get("kind")))
        return [model] if model else []
    models: dict[str, type[BaseModel]] = {
        "vehicles": vehicle_model(), "work": Work, "rules": Rule, "trials": Trial,
        "kits": RememberedKit, **SINGLES,
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


def not_an_id(text: str) -> str:
    """That a text is no id; letters that look like others are called by their name."""
    odd = next((c for c in text if not c.isascii()), None)
    holds = f": it holds {unicodedata.name(odd, 'a letter without a name').lower()}" if odd else ""
    return f"not an id{holds}"
