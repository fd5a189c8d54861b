"""What the OpenAPI document promises to callers, one fact a line.

    python -m tests.support.promised > tests/api/promised.txt

adds what is new to what is kept; a fact that is gone breaks the word given for /v1.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from api.document import operations


def facts(document: Mapping[str, Any]) -> set[str]:
    """Everything a caller, or a client that was generated, may rely on."""
    return {*_of_operations(document), *_of_schemas(document["components"]["schemas"])}


def _of_operations(document: Mapping[str, Any]) -> Iterator[str]:
    for path, method, operation in operations(dict(document)):
        if not path.startswith("/v1"):
            continue
        called = f"{method.upper()} {path}"
        yield f"{called} is {operation['operationId']}"
        for given in operation.get("parameters", ()):
            due = "needs" if given["required"] else "may have"
            yield f"{called} {due} {given['in']} {given['name']}: {_sort(given['schema'])}"
        for status, response in operation["responses"].items():
            for media, content in response.get("content", {}).items():
                yield f"{called} answers {status} {media}: {_sort(content.get('schema', {}))}"


def _of_schemas(schemas: Mapping[str, Any]) -> Iterator[str]:
    for name, schema in schemas.items():
        asked = schema.get("additionalProperties") is False
        for field, inner in schema.get("properties", {}).items():
            required = field in schema.get("required", ())
            due = ("needs" if required else "may have") if asked else "has"
            yield f"{name} {due} {field}: {_sort(inner)}"


def _sort(schema: Mapping[str, Any]) -> str:
    """The type of a value, as short as can be."""
    if "$ref" in schema:
        return str(schema["$ref"]).rpartition("/")[2]
    if several := schema.get("anyOf") or schema.get("oneOf"):
        return " | ".join(sorted({_sort(each) for each in several}))
    if schema.get("type") == "array":
        return f"[{_sort(schema.get('items', {}))}]"
    return str(schema.get("type", "any"))


if __name__ == "__main__":
    from pathlib import Path

    from api.app import create_app
    from api.asking import demo_folder

    kept = Path(__file__).parents[1] / "api" / "promised.txt"
    before = set(kept.read_text().splitlines()) if kept.exists() else set()
    now = facts(create_app(demo_folder()).test_client().get("/openapi.json").json)
    print("\n".join(sorted(before | now)))
