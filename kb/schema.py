"""The catalogue language as JSON Schema, made from the same models that read it.

An editor sees YAML values where the reader sees texts: `each: 4` is a number to one and "4" to the
other. The schema therefore takes for every text what an unquoted spelling of it could be.
"""

from __future__ import annotations

from typing import Any

import yaml

from kb.files import file_model

Node = dict[str, Any]

_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def catalogue_schema() -> Node:
    """The JSON Schema of one catalogue file (draft 2020-12).

    It accepts what the reader accepts. The reader refuses more: names that are stated nowhere,
    and texts whose unit or size cannot be read.
    """
    schema: Node = _rewritten(file_model().model_json_schema())
    # A file of comments only is a catalogue file too.
    return {"$schema": _DIALECT, "title": "Kitwright catalogue file", **schema} | {
        "type": ["object", "null"]
    }


def _rewritten(node: Any) -> Any:
    if isinstance(node, list):
        return [_rewritten(item) for item in node]
    if not isinstance(node, dict):
        return node
    node = {key: _below(key, value) for key, value in node.items() if not _is_noise(key, value)}
    for change in (_by_tag, _by_id, _unquoted, _or_nothing):
        node = change(node)
    return node


def _below(key: str, value: Any) -> Any:
    """What stands under a keyword; under `properties` and `$defs` the keys are names."""
    if key in ("properties", "$defs", "patternProperties"):
        return {name: _rewritten(inner) for name, inner in value.items()}
    return value if key in ("default", "const", "enum", "examples") else _rewritten(value)


def _is_noise(key: str, value: Any) -> bool:
    """Titles that repeat the field's name, and defaults that only say "nothing"."""
    empty = value is None or isinstance(value, list | dict)
    return key == "title" or (key == "default" and empty)


def _by_tag(node: Node) -> Node:
    """A union told apart by one field, so that an error names the field and not every member."""
    if "discriminator" not in node:
        return node
    field, members = node["discriminator"]["propertyName"], node["discriminator"]["mapping"]
    return _without(node, "discriminator", "oneOf") | {
        "type": "object",
        "required": [field],
        "properties": {field: {"enum": list(members)}},
        "allOf": [
            {"if": {"required": [field], "properties": {field: {"const": tag}}},
             "then": {"$ref": target}}
            for tag, target in members.items()
        ],
    }


def _by_id(node: Node) -> Node:
    """A mapping by id: no key may be anything else."""
    if "patternProperties" not in node:
        return node
    [(pattern, value)] = node.pop("patternProperties").items()
    names = {**node.get("propertyNames", {}), "pattern": pattern}
    # pydantic states the least size of a mapping as if it were a text.
    least = {"minProperties": node.pop("minLength")} if "minLength" in node else {}
    return node | least | {"propertyNames": names, "additionalProperties": value}


def _or_nothing(node: Node) -> Node:
    """A value that may be left empty, without a choice that would hide what is wrong in it."""
    match node.get("anyOf"):
        case [{"type": kind} as held, {"type": "null"}] if "enum" not in held:
            kinds = kind if isinstance(kind, list) else [kind]
            return {**held, **_without(node, "anyOf"), "type": [*kinds, "null"]}
        case [{"$ref": target}, {"type": "null"}]:
            either = {"if": {"type": "null"}, "then": True, "else": {"$ref": target}}
            return _without(node, "anyOf") | either
    return node


def _without(node: Node, *keys: str) -> Node:
    return {key: value for key, value in node.items() if key not in keys}


def _unquoted(node: Node) -> Node:
    """The type of a scalar as an editor may see it. Texts with examples have said it themselves."""
    if "enum" in node or "const" in node:
        return _unquoted_choice(node)
    if node.get("type") == "string" and "examples" not in node:
        return node | {"type": ["string", "number", "boolean"]}
    if node.get("type") == "boolean":
        return _without(node, "type") | {"enum": [True, False, "true", "false"]}
    return node


def _unquoted_choice(node: Node) -> Node:
    """`property_class: 8.8` is a number to an editor: both spellings of a choice are let in."""
    choices = node.get("enum", [node.get("const")])
    read = [yaml.safe_load(choice) for choice in choices if isinstance(choice, str)]
    spelt = [choice for choice in read if not isinstance(choice, str)]
    if not spelt:
        return node
    return _without(node, "enum", "const", "type") | {"enum": [*choices, *spelt]}
