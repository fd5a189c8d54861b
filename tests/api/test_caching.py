"""A caller that has an answer asks whether it still holds."""

from __future__ import annotations

import pytest

from api.app import create_app
from kb.catalogue import load_texts
from rules.answers import Package

READS = [
    "/v1", "/v1/vehicles", "/v1/parts?kind=wheel", "/v1/parts/ring", "/openapi.json",
    "/v1/parts/wheel-15/needed?vehicle=tern&year=2013", "/v1/graph?node=part:ring",
    "/v1/package?vehicle=tern&year=2013&pick=wheel-15", "/problems/unknown_part",
    "/v1/drawings?vehicle=tern&year=2013&pick=wheel-15",
    "/v1/drawings/because.svg?vehicle=tern&year=2013&pick=wheel-15",
    "/v1/fit?vehicle=tern&year=2013&parts=ring",
]
BODY = {"vehicle": "tern", "year": 2013, "picks": [{"part": "ring"}]}


@pytest.mark.parametrize("url", READS)
def test_an_answer_that_has_not_changed_is_not_sent_again(client, url):
    first = client.get(url)
    assert first.headers["Cache-Control"] == "no-cache"
    again = client.get(url, headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    assert again.headers["ETag"] == first.headers["ETag"]
    assert again.headers["Cache-Control"] == "no-cache"


@pytest.mark.parametrize("given", ["{}", "W/{}", '"other", W/{}', "*"])
def test_tags_are_compared_as_http_has_it(client, given):
    """RFC 9110, section 13.1.2: If-None-Match compares weakly."""
    tag = client.get("/v1/parts/ring").headers["ETag"].removeprefix("W/")
    again = client.get("/v1/parts/ring", headers={"If-None-Match": given.format(tag)})
    assert again.status_code == 304


def test_an_answer_the_caller_has_is_not_worked_out_again(client, monkeypatch):
    url = "/v1/package?vehicle=tern&year=2013&pick=wheel-15"
    tag = client.get(url).headers["ETag"]
    monkeypatch.setattr("api.routes_questions.package", lambda *_: pytest.fail("worked out"))
    assert client.get(url, headers={"If-None-Match": tag}).status_code == 304


def test_another_tag_gets_the_whole_answer(client):
    assert client.get("/v1/parts/ring", headers={"If-None-Match": '"x"'}).status_code == 200


def test_a_question_has_one_tag_however_it_is_written(client):
    plain = client.post("/v1/package", json=BODY)
    spelt = client.post("/v1/package", data=(
        b'{ "picks": [{"qty": null, "part": "ring"}], "prefer": "least_cost", '
        b'"year": 2013, "on_hand": [], "vehicle": "tern" }'
    ), content_type="application/json")
    assert plain.headers["ETag"] == spelt.headers["ETag"]


def test_another_question_has_another_tag(client):
    tags = [
        client.post("/v1/package", json={**BODY, **change}).headers["ETag"]
        for change in ({}, {"prefer": "least_work"}, {"picks": []}, {"year": 2012})
    ]
    assert len(set(tags)) == 4
    ring, bolt = client.get("/v1/parts/ring"), client.get("/v1/parts/bolt")
    assert ring.headers["ETag"] != bolt.headers["ETag"]


def test_another_catalogue_has_another_tag():
    def tag(name):
        text = f"catalog: {{name: {name}}}\nparts: {{ring: {{kind: item, name: Ring}}}}"
        client = create_app(load_texts({"a.yaml": text})).test_client()
        return client.get("/v1/parts/ring").headers["ETag"]

    assert tag("one") == tag("one")
    assert tag("one") != tag("two")


def test_a_known_answer_to_a_post_is_a_failed_precondition(client, refused):
    """RFC 9110, section 13.1.2: 304 is for GET and HEAD, any other method gets 412."""
    tag = client.post("/v1/package", json=BODY).headers["ETag"]
    response = client.post("/v1/package", json=BODY, headers={"If-None-Match": tag})
    refused(response, 412, "unchanged")
    assert response.headers["ETag"] == tag
    other = client.post("/v1/package", json=BODY, headers={"If-None-Match": '"x"'})
    assert other.status_code == 200


def test_a_wrong_question_is_refused_whatever_the_caller_has(client, refused):
    response = client.get("/v1/parts/none", headers={"If-None-Match": "*"})
    refused(response, 404, "unknown_part", "part")


def test_the_best_found_when_time_ran_out_is_not_kept(client, monkeypatch):
    found = Package.model_validate_json(client.post("/v1/package", json=BODY).text)
    hasty = found.model_copy(update={"proof": found.proof.model_copy(update={"least": False})})
    monkeypatch.setattr("api.routes_questions.package", lambda *_: hasty)
    response = client.post("/v1/package", json=BODY)
    assert response.headers["Cache-Control"] == "no-store"
    assert "ETag" not in response.headers


@pytest.mark.parametrize("url", ["/healthz", "/readyz"])
def test_health_is_about_now(client, url):
    response = client.get(url)
    assert response.headers["Cache-Control"] == "no-store"
    assert "ETag" not in response.headers


def test_head_is_get_without_the_body(client):
    got, head = client.get("/v1/parts/ring"), client.head("/v1/parts/ring")
    assert (head.status_code, head.data) == (200, b"")
    assert head.headers["ETag"] == got.headers["ETag"]
    assert head.headers["Content-Length"] == got.headers["Content-Length"]
