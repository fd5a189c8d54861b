"""A shop back end asks for a whole package."""

from __future__ import annotations

import pytest

from rules.answers import Question
from rules.resolve import package

CAR = {"vehicle": "tern", "year": 2015, "variant": "p16"}


def ask(client, **question):
    return client.post("/v1/package", json={**CAR, **question})


def test_the_answer_is_the_package_that_the_rules_find(client, catalogue):
    picks = [{"part": "big-caliper"}, {"part": "tyre-15", "qty": 2}]
    response = ask(client, picks=picks)
    assert response.status_code == 200
    assert response.text == package(catalogue, Question(**CAR, picks=picks)).model_dump_json()


def test_an_impossible_package_is_an_answer_with_a_clash(client):
    response = ask(client, picks=[{"part": "big-caliper"}, {"part": "w-stock"}])
    assert response.status_code == 200
    assert response.json["outcome"] == "impossible"
    assert response.json["clashes"][0]["members"]


def test_an_address_asks_the_same_as_a_body(client):
    by_body = ask(client, picks=[{"part": "wheel-15"}, {"part": "bolt", "qty": 3}],
                  on_hand=[{"part": "ring", "qty": 2}], prefer="fewest_parts", alternatives=False)
    by_address = client.get("/v1/package", query_string={
        **CAR, "pick": ["wheel-15", "bolt:3"], "on_hand": "ring:2", "prefer": "fewest_parts",
        "alternatives": "false",
    })
    assert by_address.status_code == 200
    assert by_address.text == by_body.text


def test_keys_always_come_in_the_same_order(client):
    first = ask(client, picks=[{"part": "wheel-15"}])
    again = client.post("/v1/package", json=dict(reversed(
        [*CAR.items(), ("picks", [{"part": "wheel-15"}])])))
    assert first.text == again.text
    assert list(first.json)[:3] == ["catalog", "baseline", "outcome"]


@pytest.mark.parametrize(("question", "field", "nearest"), [
    ({"picks": [{"part": "ring"}, {"part": "wheel-16"}]}, "picks.1.part", "wheel-15"),
    ({"on_hand": [{"part": "rings"}]}, "on_hand.0.part", "ring"),
    ({"picks": [{"part": "ring", "qty": 1.5}]}, "picks.0.qty", None),
    ({"vehicle": "ternn"}, "vehicle", "tern"),
])
def test_what_the_catalogue_does_not_know_is_refused(client, refused, question, field, nearest):
    body = refused(ask(client, **question), 422, "wrong_question", field)
    assert body["errors"][0]["nearest"] == nearest


@pytest.mark.parametrize(("question", "field", "nearest"), [
    ({"pick": []}, "pick", "picks"),
    ({"picks": [{"part": "ring", "qyt": 1}]}, "picks.0.qyt", "qty"),
    ({"prefer": "least-cost"}, "prefer", "least_cost"),
    ({"picks": [{"qty": 1}]}, "picks.0.part", None),
    ({"picks": [{"part": "ring", "qty": "2"}]}, "picks.0.qty", None),
    ({"picks": [{"part": "ring", "qty": 0}]}, "picks.0.qty", None),
    ({"picks": [{"part": "ring", "qty": 1e300}]}, "picks.0.qty", None),
    ({"picks": [{"part": "ring", "qty": True}]}, "picks.0.qty", None),
    ({"picks": "ring"}, "picks", None),
    ({"picks": ["ring"]}, "picks.0", None),
    ({"year": "2015"}, "year", None),
    ({"year": 2015.5}, "year", None),
    ({"vehicle": None}, "vehicle", None),
    ({"alternatives": 1}, "alternatives", None),
    ({"deadline": 0}, "deadline", None),
    ({"picks": [{"part": "ring"}] * 201}, "picks", None),
])
def test_a_body_of_the_wrong_form_is_refused(client, refused, question, field, nearest):
    body = refused(ask(client, **question), 422, "wrong_request", field)
    assert body["errors"][0]["nearest"] == nearest


def test_every_wrong_field_is_reported_at_once(client, refused):
    response = ask(client, picks=[{"part": "ring", "qty": -1}], year="x", prefers="least_work")
    refused(response, 422, "wrong_request", "year", "picks.0.qty", "prefers")


@pytest.mark.parametrize("body", ["[]", "null", "1", '"tern"'])
def test_a_body_that_is_no_object_is_refused(client, refused, body):
    response = client.post("/v1/package", data=body, content_type="application/json")
    refused(response, 422, "wrong_request", "")


@pytest.mark.parametrize("body", [
    b"", b"{", b'{"vehicle": }', b"\xff\xfe", b'{"vehicle": "\xff"}',
    b'{"vehicle": "tern", "vehicle": "gannet"}',
    b'{"vehicle": "gannet", "picks": [{"part": "ring", "part": "bolt"}]}',
    b'{"vehicle": "tern", "year": ' + b"9" * 10_000 + b"}",
    b'\xef\xbb\xbf{"vehicle": "gannet"}',
])
def test_a_body_that_is_not_json_is_refused(client, refused, body):
    response = client.post("/v1/package", data=body, content_type="application/json")
    refused(response, 400, "malformed_json")


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", None])
def test_a_body_of_another_type_is_refused(client, refused, kind):
    response = client.post("/v1/package", data='{"vehicle": "gannet"}', content_type=kind)
    refused(response, 415, "not_json")


def test_a_wrong_pick_in_an_address_is_named_by_its_parameter(client, refused):
    response = client.get("/v1/package", query_string={**CAR, "pick": ["ring", "wheel-16"]})
    body = refused(response, 422, "wrong_question", "pick.1")
    assert body["errors"][0]["nearest"] == "wheel-15"
