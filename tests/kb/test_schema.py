"""The JSON Schema says what the reader accepts, in a form an editor can help with."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import pytest
import yaml
from jsonschema import Draft202012Validator
from pydantic import BaseModel

from kb.dimensions import Facts, fact_groups, kinds
from kb.files import file_model
from kb.schema import catalogue_schema
from tests.kb.helpers import BROKEN, EXAMPLE, ROOT, as_an_editor_sees, problems

SCHEMA = catalogue_schema()
CHECK = Draft202012Validator(SCHEMA)
FILES = sorted([*EXAMPLE.rglob("*.yaml"), *(ROOT / "demo_catalog").rglob("*.yaml")])


def faults(text: str) -> list[str]:
    """What a schema checker says of a file."""
    seen = as_an_editor_sees(text)
    return [f"{error.json_path}: {error.message}" for error in CHECK.iter_errors(seen)]


def test_it_is_valid_json_schema_made_without_warnings() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        file_model().model_json_schema()
        Draft202012Validator.check_schema(catalogue_schema())
    assert SCHEMA["title"] == "Kitwright catalogue file"
    assert SCHEMA["description"]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_every_catalogue_we_ship_validates(path: Path) -> None:
    assert faults(path.read_text(encoding="utf-8")) == []


# What a shop types without quotes is a number or a truth value to an editor, a text to the reader.
UNQUOTED = [
    "parts: {2048: {kind: item, name: 911}}",
    "parts: {a: {kind: item, name: A, pack: 4}}",
    'parts: {a: {kind: item, name: A, pack: "4"}}',
    "parts: {a: {kind: item, name: A, pack: 0.5 L}}",
    'parts: {a: {kind: item, name: A, pack: "0.5 L"}}',
    "parts: {a: {kind: item, name: A, orderable: false, one_time_use: 'true'}}",
    "parts: {1: {kind: item, name: A}, 2: {kind: item, name: B, requires: [{part: 1, each: 4}]}}",
    "parts: {1: {kind: item, name: A}, 2: {kind: kit, name: B, contents: {1: 4}}}",
    "parts: {true: {kind: item, name: A}, b: {kind: item, name: B, supersedes: [true]}}",
    "parts: {a: {kind: tyre, name: A, dimensions: {treadwear: 200}}}",
    "parts: {a: {kind: tyre, name: A, dimensions: {treadwear: '200'}}}",
    "parts: {a: {kind: bolt, name: A, dimensions: {property_class: 8.8}}}",
    "parts: {a: {kind: bolt, name: A, dimensions: {property_class: '8.8'}}}",
    "parts: {a: {kind: brake-pad, name: A, dimensions: {friction: 0.42}}}",
    "parts: {a: {kind: item, name: A, requires: "
    "[{kind: tyre, match: {treadwear: {at_least: 200}}}]}}",
    "parts: {a: {kind: item, name: A, requires: "
    "[{kind: bolt, match: {property_class: {one_of: [8.8]}}}]}}",
    "vehicles: {v: {name: 1, years: 2016, variants: {x: {name: 1.6, engine: 16, years: 2016-}}}}",
    "vehicles: {v: {name: 1, years: -2016, variants: {16: {name: 1.6, engine: 16}}, "
    "places: {p: {count: 2, axle: front}}}}",
    "parts:\n",
    "# nothing yet but a remark\nparts: {a: {kind: item, name: A, price: , maker: ~}}",
]


@pytest.mark.parametrize("text", UNQUOTED)
def test_what_the_reader_accepts_an_editor_accepts(text: str) -> None:
    said = problems(text)
    assert said == [] or "nothing is stated here" in said[0]
    assert faults(text) == []


SEEN_BY_AN_EDITOR = [
    "unknown-section", "unknown-kind", "unknown-field", "unknown-dimension", "unknown-limit",
    "unknown-field-of-a-need", "kind-is-missing", "name-is-missing", "name-is-empty",
    "missing-unit", "text-where-a-list-is-due", "mapping-where-a-text-is-due", "not-true-or-false",
    "id-with-a-space", "look-alike-letters", "overlong-id", "bad-currency", "no-variants",
    "variant-fields", "unknown-fact", "stock-part-form", "header-without-name", "entry-is-nothing",
]


@pytest.mark.parametrize("case", SEEN_BY_AN_EDITOR)
def test_an_editor_sees_the_mistakes_of_form(case: str) -> None:
    assert faults((BROKEN / f"{case}.yaml").read_text(encoding="utf-8")) != []


def test_an_editor_names_the_wrong_field_and_not_every_kind() -> None:
    said = faults("parts: {a: {kind: washer, name: Washer, prize: 1.00 EUR}}")
    assert len(said) == 1
    assert "'prize' was unexpected" in said[0]


def models_of(annotation: Any) -> Iterator[type[BaseModel]]:
    """Every model in a type, and in the types of its fields."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
        for field in annotation.model_fields.values():
            yield from models_of(field.annotation)
    for inner in get_args(annotation):
        yield from models_of(inner)


def language_models() -> list[type[BaseModel]]:
    """The models of the language itself, without what single kinds and groups of facts add."""
    return [
        model for model in models_of(file_model())
        if model.__module__ in ("kb.entries", "kb.statements", "kb.stages", "kb.files")
        and not issubclass(model, Facts) and model.__name__ != "Limits"
    ]


def nodes(schema: Any, name: str = "file") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every field of the schema, with its name."""
    if isinstance(schema, list):
        for item in schema:
            yield from nodes(item, name)
    elif isinstance(schema, dict):
        for field, inner in schema.get("properties", {}).items():
            yield f"{name}.{field}", inner
        for key, inner in schema.items():
            if key == "$defs":
                for model, definition in inner.items():
                    yield from nodes(definition, model)
            elif key not in ("properties", "default", "enum", "examples"):
                yield from nodes(inner, name)


def is_described(field: dict[str, Any]) -> bool:
    if "description" in field or "enum" in field or "const" in field:
        return True
    return any(is_described(inner) for inner in field.get("anyOf", []))


def test_every_field_of_the_language_is_described() -> None:
    language = {model.__name__ for model in language_models()} | {"file"}
    bare = [
        name for name, field in nodes(SCHEMA)
        if name.partition(".")[0] in language and not is_described(field)
    ]
    assert bare == []


def test_every_kind_and_group_of_facts_is_described() -> None:
    for model in (*kinds().values(), *fact_groups().values()):
        assert model.__doc__ != model.__base__.__doc__, f"{model.__name__} says not what it is"  # type: ignore[union-attr]


# -- the example and the models have the same fields --------------------------------------------


def keys_in(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield key
            yield from keys_in(inner)
    elif isinstance(value, list):
        for item in value:
            yield from keys_in(item)


def test_the_example_shows_every_field_of_the_language() -> None:
    shown = {
        key for path in EXAMPLE.rglob("*.yaml")
        for key in keys_in(yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader))
    }
    language = {field for model in language_models() for field in model.model_fields}
    assert len(language) > 60
    assert language - shown == set()
