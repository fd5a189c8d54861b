"""What an operator sees: figures for Prometheus, a log that can be searched, request ids."""

from __future__ import annotations

import io
import json
import logging

import pytest
from prometheus_client.parser import text_string_to_metric_families

from api.app import create_app
from api.current import current_of
from api.logs import JsonLines, TextLines
from kb.errors import OutOfTime

QUESTION = {"vehicle": "tern", "year": 2013, "picks": [{"part": "wheel-15"}]}


@pytest.fixture
def fresh(catalogue):
    """An app that has counted nothing yet."""
    return create_app(catalogue)


def figures(app):
    """Every sample as {(name, labels): value}."""
    text = app.test_client().get("/metrics").text
    return {
        (s.name, *sorted(s.labels.items())): s.value
        for family in text_string_to_metric_families(text) for s in family.samples
    }


def test_requests_are_counted_by_route_not_by_address(fresh):
    client = fresh.test_client()
    client.get("/v1/parts/ring"), client.get("/v1/parts/bolt"), client.get("/v1/parts/none")
    client.get("/secret-address")
    counted = {key: n for key, n in figures(fresh).items() if key[0] == "kitwright_requests_total"}
    parts = ("method", "GET"), ("route", "/v1/parts/<part>")
    assert counted["kitwright_requests_total", *parts, ("status", "200")] == 2
    assert counted["kitwright_requests_total", *parts, ("status", "404")] == 1
    assert "secret" not in fresh.test_client().get("/metrics").text


def test_time_is_told_by_route_and_that_of_the_solvers_apart(fresh):
    fresh.test_client().post("/v1/package", json=QUESTION)
    found = figures(fresh)
    route = ("route", "/v1/package")
    whole = found["kitwright_request_seconds_sum", ("method", "POST"), route]
    search = found["kitwright_search_seconds_sum", route]
    assert 0 < search < whole
    assert found["kitwright_request_seconds_count", ("method", "POST"), route] == 1
    assert found["kitwright_questions_in_hand",] == 0


def test_deadline_hits_are_counted(fresh, monkeypatch):
    def late(*_):
        raise OutOfTime("no answer within 1 s")

    monkeypatch.setattr("api.routes_questions.package", late)
    fresh.test_client().post("/v1/package", json=QUESTION)
    assert figures(fresh)["kitwright_deadline_hits_total", ("route", "/v1/package")] == 1


def test_each_late_question_of_a_batch_is_counted_once(fresh):
    late = {"questions": [{"ask": "package", **QUESTION}] * 3, "deadline": 1e-9}
    fresh.test_client().post("/v1/batch", json=late)
    assert figures(fresh)["kitwright_deadline_hits_total", ("route", "/v1/batch")] == 3


def test_the_catalogue_is_told_with_its_digest_and_age(fresh, catalogue):
    info = ("digest", catalogue.digest), ("name", "Mini")
    first, second = figures(fresh), figures(fresh)
    assert first["kitwright_catalogue_info", *info] == 1
    age = ("kitwright_catalogue_age_seconds",)
    assert 0 < first[age] < second[age]
    assert first["kitwright_catalogue_refused",] == 0
    assert current_of(fresh).refused is None


# -- request ids and the log -------------------------------------------------------------------


def test_the_callers_id_comes_back(client):
    response = client.get("/v1/parts/ring", headers={"X-Request-ID": "cart-17.3"})
    assert response.headers["X-Request-ID"] == "cart-17.3"


@pytest.mark.parametrize("given", [{}, {"X-Request-ID": "a b"}, {"X-Request-ID": "x" * 65},
                                   {"X-Request-ID": '"}{"'}])
def test_without_a_plain_one_there_is_a_new_one(client, given):
    first, second = (client.get("/nothing", headers=given).headers["X-Request-ID"] for _ in "ab")
    assert len(first) == len(second) == 32
    assert first != second


@pytest.fixture
def log():
    """The lines that the service logs, as JSON."""
    stream = io.StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(JsonLines())
    logger = logging.getLogger("kitwright")
    logger.addHandler(handler)
    yield lambda: [json.loads(line) for line in stream.getvalue().splitlines()]
    logger.removeHandler(handler)


def test_a_failure_is_logged_with_its_request_and_no_more_of_the_caller(client, monkeypatch, log):
    def broken(*_):
        raise ZeroDivisionError

    monkeypatch.setattr("api.routes_questions.package", broken)
    client.get("/v1/package?vehicle=tern&year=2013&pick=ring", headers={"X-Request-ID": "r1"},
               environ_base={"REMOTE_ADDR": "198.51.100.7"})
    [line] = log()
    assert (line["level"], line["logger"], line["request_id"]) == ("error", "kitwright.api", "r1")
    assert line["route"] == "/v1/package"
    assert "ZeroDivisionError" in line["traceback"]
    for private in ("198.51.100.7", "tern", "pick=ring"):
        assert private not in json.dumps(line)


def test_every_request_may_be_logged(catalogue, log):
    from api.settings import Settings

    logging.getLogger("kitwright").setLevel(logging.INFO)
    app = create_app(catalogue, Settings(log_requests=True))
    app.test_client().get("/v1/parts/none?x=secret", headers={"X-Request-ID": "r2"})
    [line] = log()
    assert (line["route"], line["status"], line["request_id"]) == ("/v1/parts/<part>", 422, "r2")
    assert line["ms"] >= 0
    assert "secret" not in json.dumps(line)
    assert "none" not in json.dumps(line)


def test_text_for_a_person_says_the_same():
    record = logging.makeLogRecord({"msg": "refused", "levelname": "WARNING", "digest": "abc"})
    assert TextLines("%(levelname)s %(message)s").format(record) == "WARNING refused digest=abc"
