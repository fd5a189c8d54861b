"""Many questions in one request: each gets what it would have got by itself."""

from __future__ import annotations

from dataclasses import replace

import pytest

from api.app import create_app
from api.batch import SORTS
from api.settings import Settings
from kb.errors import FaultyAnswer

CAR = {"vehicle": "tern", "year": 2013}
PICK = {"picks": [{"part": "wheel-15"}], **CAR}
ALONE = {
    "package": ("/v1/package", PICK),
    "options": ("/v1/options", {**PICK, "places": ["front-wheel"]}),
    "offers": ("/v1/offers", {**PICK, "most": 2}),
    "plan": ("/v1/plan", PICK),
    "gaps": ("/v1/gaps", {**PICK, "have": [{"text": "Ring", "qty": 2}]}),
    "setup": ("/v1/setup", PICK),
}


def ask(client, *questions, **more):
    response = client.post("/v1/batch", json={"questions": questions, **more})
    assert response.status_code == 200, response.text
    return response.json["outcomes"]


@pytest.mark.parametrize("sort", ALONE)
def test_an_answer_is_the_one_of_a_request_of_its_own(client, sort):
    path, body = ALONE[sort]
    [outcome] = ask(client, {"ask": sort, **body})
    assert outcome == {"ask": sort, "status": 200, "problem": None,
                       "body": client.post(path, json=body).json}


def test_what_is_asked_in_addresses_can_be_asked_too(client):
    needed, fit = ask(
        client, {"ask": "needed", "part": "wheel-15", "cart": [{"part": "bolt", "qty": 3}], **CAR},
        {"ask": "fit", "parts": ["wheel-15", "tyre-15"], **CAR})
    assert needed["body"] == client.get(
        "/v1/parts/wheel-15/needed?vehicle=tern&year=2013&cart=bolt:3").json
    assert fit["body"] == client.get(
        "/v1/fit?vehicle=tern&year=2013&parts=wheel-15&parts=tyre-15").json


def test_every_sort_of_question_is_compared_above():
    assert {*ALONE, "needed", "fit"} == set(SORTS)


@pytest.mark.parametrize(("question", "status", "code", "fields", "nearest"), [
    ({"ask": "package", **PICK, "vehicle": "turn"}, 422, "wrong_question", ["vehicle"], "tern"),
    ({"ask": "package", "picks": [{"part": "wheel"}], **CAR}, 422, "wrong_question",
     ["picks.0.part"], "wheel-15"),
    ({"ask": "needed", "part": "rign", **CAR}, 422, "wrong_question", ["part"], "ring"),
    ({"ask": "needed", "part": "ring", "cart": [{"part": "botl"}], **CAR}, 422, "wrong_question",
     ["cart.0"], "bolt"),
    ({"ask": "package", "pick": [], **CAR}, 422, "wrong_request", ["pick"], "picks"),
    ({"ask": "package", "picks": [{"part": "ring", "qty": 0}], **CAR}, 422, "wrong_request",
     ["picks.0.qty"], None),
    ({"ask": "package", "year": "2013"}, 422, "wrong_request", ["vehicle", "year"], None),
    ({"ask": "pakage", **PICK}, 422, "wrong_request", ["ask"], "package"),
    (PICK, 422, "wrong_request", ["ask"], None),
    ({"ask": ["package"]}, 422, "wrong_request", ["ask"], None),
    ({"ask": "package", "deadline": 31, **CAR}, 422, "wrong_request", ["deadline"], None),
])
def test_a_wrong_question_is_told_so_and_spoils_no_other(
    client, question, status, code, fields, nearest
):
    before, wrong, after = ask(client, {"ask": "package", **PICK}, question,
                               {"ask": "package", **PICK})
    assert before == after
    assert before["status"] == 200
    problem = wrong["problem"]
    assert (wrong["status"], wrong["body"], problem["code"]) == (status, None, code)
    assert [error["field"] for error in problem["errors"]] == fields
    assert problem["errors"][-1]["nearest"] == nearest


def test_an_answer_that_is_withheld_spoils_no_other(client, monkeypatch, caplog):
    def faulty(*_):
        raise FaultyAnswer(["two discs short"])

    monkeypatch.setitem(SORTS, "plan", replace(SORTS["plan"], answer=faulty))
    outcomes = ask(client, {"ask": "plan", **PICK}, {"ask": "package", **PICK})
    assert [each["status"] for each in outcomes] == [500, 200]
    assert outcomes[0]["problem"]["code"] == "faulty_answer"
    assert "two discs short" in caplog.text


def test_no_question_is_begun_after_the_time_of_the_batch(client):
    outcomes = ask(client, *[{"ask": "package", **PICK}] * 3, deadline=1e-9)
    assert {each["problem"]["code"] for each in outcomes} == {"out_of_time"}


def test_outcomes_have_a_tag_unless_one_was_cut_short(client):
    body = {"questions": [{"ask": "package", **PICK}, {"ask": "needed", "part": "rign", **CAR}]}
    response = client.post("/v1/batch", json=body)
    again = client.post("/v1/batch", json=body, headers={"If-None-Match": response.headers["ETag"]})
    assert again.status_code == 412
    late = client.post("/v1/batch", json={**body, "deadline": 1e-9})
    assert "ETag" not in late.headers
    assert late.headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize(("body", "field"), [
    ({"questions": []}, "questions"), ({}, "questions"), ({"questions": ["package"]}, "questions"),
    ({"questions": [{"ask": "package"}], "time": 3}, "time"),
    ({"questions": [{"ask": "package"}], "deadline": 31}, "deadline"),
])
def test_what_is_no_batch_is_refused_as_a_whole(client, body, field):
    response = client.post("/v1/batch", json=body)
    assert response.status_code == 422
    assert {error["field"].partition(".")[0] for error in response.json["errors"]} == {field}


def test_a_service_takes_so_many_at_a_time(catalogue):
    client = create_app(catalogue, Settings(most_batch=2)).test_client()
    question = {"ask": "package", **PICK}
    assert client.post("/v1/batch", json={"questions": [question] * 2}).status_code == 200
    refusal = client.post("/v1/batch", json={"questions": [question] * 3})
    assert refusal.status_code == 422
    assert refusal.json["errors"][0]["message"] == "this service takes at most 2"
    document = client.get("/openapi.json").json
    assert document["components"]["schemas"]["Batch"]["properties"]["questions"]["maxItems"] == 2
