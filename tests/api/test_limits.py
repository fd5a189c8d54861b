"""What a service takes on: beyond its limits it says so, and health checks always get through."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from api.app import create_app
from api.settings import Settings
from kb.errors import OutOfTime
from rules.resolve import package

QUESTION = {"vehicle": "gannet"}


def small(catalogue, **settings):
    return create_app(catalogue, Settings(**settings))


def test_a_body_over_the_limit_of_the_service(catalogue, refused):
    client = small(catalogue, most_bytes=1024).test_client()
    body = b'{"vehicle": "gannet"' + b" " * 1024 + b"}"
    refused(client.post("/v1/package", data=body, content_type="application/json"),
            413, "body_too_large")


def test_a_body_nested_too_deep(client, refused):
    body = b'{"vehicle": ' + b"[" * 50_000
    response = client.post("/v1/package", data=body, content_type="application/json")
    assert "too deep" in refused(response, 422, "nested_too_deep")["detail"]


@pytest.mark.parametrize("ask", [
    lambda c: c.post("/v1/package", json={**QUESTION, "picks": [{"part": "ring"}] * 3}),
    lambda c: c.get("/v1/package?vehicle=gannet&pick=ring&pick=ring&pick=ring"),
    lambda c: c.get("/v1/parts/bolt/needed?vehicle=gannet&cart=ring&cart=ring&cart=ring"),
])
def test_more_picks_than_the_service_takes(catalogue, ask):
    response = ask(small(catalogue, most_picks=2).test_client())
    assert response.status_code == 422
    assert response.json["errors"][0]["message"] == "this service takes at most 2"


def test_a_longer_deadline_than_the_service_gives(catalogue, refused):
    client = small(catalogue, most_seconds=5).test_client()
    response = client.post("/v1/package", json={**QUESTION, "deadline": 6})
    refused(response, 422, "wrong_request", "deadline")
    assert client.post("/v1/package", json={**QUESTION, "deadline": 5}).status_code == 200


@pytest.mark.parametrize("method", ["get", "post"])
def test_who_names_no_deadline_keeps_to_that_of_the_service(catalogue, monkeypatch, method):
    asked = []
    monkeypatch.setattr("api.routes_questions.package",
                        lambda k, q: asked.append(q.deadline) or package(k, q))
    client = small(catalogue, most_seconds=5).test_client()
    client.open("/v1/package", method=method.upper(),
                **({"json": QUESTION} if method == "post" else {"query_string": QUESTION}))
    assert asked == [5]


def test_the_document_states_the_limits_of_the_service(catalogue):
    client = small(catalogue, most_picks=7, most_seconds=5).test_client()
    document = client.get("/openapi.json").json
    question = document["components"]["schemas"]["Question"]["properties"]
    assert (question["picks"]["maxItems"], question["deadline"]["maximum"]) == (7, 5)
    assert question["deadline"]["default"] == 5
    needed = document["paths"]["/v1/parts/{part}/needed"]["get"]["parameters"]
    assert {p["name"]: p["schema"].get("maxItems") for p in needed}["cart"] == 7


class Stuck:
    """An app whose packages take until they are let go."""

    def __init__(self, app, monkeypatch):
        self.app, self.begun, self.go = app, threading.Semaphore(0), threading.Event()
        monkeypatch.setattr("api.routes_questions.package", self._package)

    def _package(self, known, question):
        self.begun.release()
        assert self.go.wait(20)
        return package(known, question)

    def ask(self):
        return self.app.test_client().post("/v1/package", json=QUESTION)


def test_questions_in_hand_and_waiting_are_bounded_and_health_gets_through(
    catalogue, refused, monkeypatch
):
    stuck = Stuck(small(catalogue, questions=2, queue=1, queue_seconds=20), monkeypatch)
    with ThreadPoolExecutor(4) as callers:
        taken = [callers.submit(stuck.ask) for _ in range(2)]
        stuck.begun.acquire(), stuck.begun.acquire()  # two in hand
        surplus = [callers.submit(stuck.ask) for _ in range(2)]
        first = next(each for each in iter_done(surplus))  # one waits, the other is refused
        refused(first.result(), 429, "too_many_questions")
        assert first.result().headers["Retry-After"] == "20"
        client = stuck.app.test_client()
        for path in ("/healthz", "/readyz", "/metrics"):
            assert client.get(path).status_code == 200
        stuck.go.set()
        assert {each.result().status_code for each in [*taken, *surplus]} == {200, 429}
    assert stuck.ask().status_code == 200, "every slot is free again"


def iter_done(futures):
    from concurrent.futures import as_completed
    return as_completed(futures, timeout=20)


def test_a_question_does_not_wait_for_ever(catalogue, refused, monkeypatch):
    stuck = Stuck(small(catalogue, questions=1, queue=1, queue_seconds=0.05), monkeypatch)
    with ThreadPoolExecutor(1) as caller:
        taken = caller.submit(stuck.ask)
        stuck.begun.acquire()
        response = stuck.ask()
        refused(response, 503, "busy")
        assert response.headers["Retry-After"] == "1"
        stuck.go.set()
        assert taken.result().status_code == 200


def test_a_question_that_fails_gives_its_place_back(catalogue, monkeypatch):
    app = small(catalogue, questions=1, queue=0)
    with monkeypatch.context() as failing:
        failing.setattr("api.routes_questions.package", _late)
        for _ in range(3):
            assert app.test_client().post("/v1/package", json=QUESTION).status_code == 503
    assert app.test_client().post("/v1/package", json=QUESTION).status_code == 200


def _late(*_):
    raise OutOfTime("no answer within 1 s")
