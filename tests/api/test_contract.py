"""The OpenAPI document is true. (Every response of the other tests is held against it, too.)"""

from __future__ import annotations

from pathlib import Path

import jsonschema
import pytest
from openapi_spec_validator import OpenAPIV31SpecValidator

from api.app import create_app
from api.document import operations
from kb.catalogue import load_texts
from tests.support.promised import facts


def test_the_document_is_valid_openapi(client):
    document = client.get("/openapi.json").json
    assert document["openapi"].startswith("3.1")
    OpenAPIV31SpecValidator(document).validate()


def test_every_operation_documents_its_answer_and_its_problems(app):
    for path, method, operation in operations(app.api_doc):
        assert operation["summary"], path
        (kind, content), = operation["responses"]["200"]["content"].items()
        if kind == "application/json":
            assert content["schema"]["$ref"], path
        else:
            assert (kind, path) == ("image/svg+xml", "/v1/drawings/{name}.svg")
        for status in ("422", "default"):
            problem = operation["responses"][status]["content"]
            assert list(problem) == ["application/problem+json"], path
        assert ("304" in operation["responses"]) == (
            method == "get" and path not in ("/healthz", "/readyz"))


def test_operations_have_plain_names_of_their_own(app):
    names = [operation["operationId"] for _, _, operation in operations(app.api_doc)]
    assert len(set(names)) == len(names)
    assert "needed_with_part" in names


def test_every_reference_leads_somewhere(app):
    schemas = app.api_doc["components"]["schemas"]
    assert {"Package", "Needed", "Question", "ProblemDetails"} <= set(schemas)
    for schema in schemas.values():
        jsonschema.Draft202012Validator.check_schema(schema)


def test_the_examples_of_the_document_work(client):
    """Each operation is called with the examples of its parameters and body."""
    called = 0
    for path, method, operation in operations(client.get("/openapi.json").json):
        given = {
            p["name"]: p["example"] for p in operation.get("parameters", ()) if "example" in p
        }
        required = {p["name"] for p in operation.get("parameters", ()) if p["required"]}
        assert required <= set(given), path
        url = path.format(**given)
        query = {name: value for name, value in given.items() if f"{{{name}}}" not in path}
        body = operation.get("requestBody", {}).get("content", {}).get("application/json", {})
        response = client.open(
            url, method=method.upper(), query_string=query, json=body.get("example")
        )
        assert response.status_code == 200, response.text
        called += 1
    assert called >= 10


def test_the_example_question_leads_to_an_order(client):
    post = client.get("/openapi.json").json["paths"]["/v1/package"]["post"]
    example = post["requestBody"]["content"]["application/json"]["example"]
    assert client.post("/v1/package", json=example).json["lines"]


@pytest.mark.parametrize("question", [
    {"vehicle": "tern"},
    {"vehicle": "tern", "picks": [{"part": "ring"}], "on_hand": [{"part": "bolt", "qty": 2}]},
])
def test_what_the_document_allows_may_be_left_out(app, question):
    _question_validator(app).validate(question)


@pytest.mark.parametrize("question", [
    {}, {"vehicle": "tern", "pick": []}, {"vehicle": "tern", "picks": [{}]},
    {"vehicle": "tern", "year": "2015"}, {"vehicle": "tern", "prefer": "cheap"},
    {"vehicle": "tern", "picks": [{"part": "ring", "qty": 0}]},
])
def test_what_the_document_forbids_is_refused(app, client, refused, question):
    assert not _question_validator(app).is_valid(question)
    response = client.post("/v1/package", json=question)
    assert response.status_code == 422


def _question_validator(app):
    components = app.api_doc["components"]
    return jsonschema.Draft202012Validator(
        {"$ref": "#/components/schemas/Question", "components": components}
    )


def test_answers_may_gain_fields_but_questions_may_not_hold_unknown_ones(app):
    schemas = app.api_doc["components"]["schemas"]
    assert schemas["Question"]["additionalProperties"] is False
    assert schemas["Item"]["additionalProperties"] is False
    assert "additionalProperties" not in schemas["Package"]
    assert "additionalProperties" not in schemas["Line"]


def test_the_index_lists_every_route(app, client):
    listed = {(r["method"], r["path"]) for r in client.get("/v1").json["routes"]}
    documented = {(m.upper(), p) for p, m, _ in operations(app.api_doc)}
    assert listed == documented | {("GET", "/openapi.json"), ("GET", "/metrics")}


def test_a_catalogue_without_cars_is_served_too():
    client = create_app(load_texts({"a.yaml": "catalog: {name: Empty}"})).test_client()
    assert client.get("/v1/vehicles").json["items"] == []
    assert client.get("/v1/parts").json["total"] == 0
    OpenAPIV31SpecValidator(client.get("/openapi.json").json).validate()


def test_readiness_names_the_catalogue(client, catalogue):
    ready = client.get("/readyz").json
    assert ready["catalog"]["digest"] == catalogue.digest
    assert (ready["vehicles"], ready["parts"]) == (2, len(catalogue.parts))
    assert client.get("/healthz").json == {"status": "ok"}


def test_whatever_was_promised_under_v1_is_still_there(client):
    """Facts may be added to the document; none of those that are kept may go."""
    kept = (Path(__file__).parent / "promised.txt").read_text(encoding="utf-8").splitlines()
    gone = set(kept) - facts(client.get("/openapi.json").json)
    assert len(kept) > 400
    assert not gone, sorted(gone)
