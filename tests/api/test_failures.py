"""Whatever goes wrong, the caller gets problem details and nothing else."""

from __future__ import annotations

import pytest

from api.problems import KINDS, LONGEST_TEXT
from api.settings import Settings
from kb.errors import FaultyAnswer, OutOfTime

QUESTION = {"vehicle": "gannet"}
MOST_BYTES = Settings().most_bytes


@pytest.mark.parametrize(("path", "nearest"), [
    ("/v1/vehicle", "/v1/vehicles"), ("/v1/parts/", "/v1/parts"), ("/helthz", "/healthz"),
    ("/xyz", None),
])
def test_an_unknown_route(client, refused, path, nearest):
    body = refused(client.get(path), 404, "no_such_route", "path")
    assert body["errors"][0]["nearest"] == nearest


@pytest.mark.parametrize(("method", "path", "allowed"), [
    ("DELETE", "/v1/parts/ring", {"GET", "HEAD", "OPTIONS"}),
    ("PUT", "/v1/package", {"GET", "HEAD", "OPTIONS", "POST"}),
    ("POST", "/healthz", {"GET", "HEAD", "OPTIONS"}),
])
def test_a_method_that_is_not_allowed(client, refused, method, path, allowed):
    response = client.open(path, method=method)
    refused(response, 405, "method_not_allowed")
    assert set(response.headers["Allow"].split(", ")) == allowed


def test_an_unknown_parameter_is_never_passed_over(client, refused, app):
    for path, item in app.api_doc["paths"].items():
        if "{" not in path and "get" in item:
            body = refused(client.get(f"{path}?verbose=1"), 422, "wrong_request",
                           *_missing(app, path), "verbose")
            assert "unknown" in body["errors"][-1]["message"]


def _missing(app, path):
    parameters = app.api_doc["paths"][path]["get"].get("parameters", ())
    return [p["name"] for p in parameters if p["required"]]


def test_a_body_that_is_too_large(client, refused):
    body = b'{"vehicle": "' + b"x" * MOST_BYTES + b'"}'
    response = client.post("/v1/package", data=body, content_type="application/json")
    assert str(MOST_BYTES) in refused(response, 413, "body_too_large")["detail"]


def test_a_body_just_within_the_limit_is_read(client, refused):
    body = b'{"vehicle": "gannet"' + b" " * (MOST_BYTES - 21) + b"}"
    assert len(body) == MOST_BYTES
    response = client.post("/v1/package", data=body, content_type="application/json")
    assert response.status_code == 200


def test_running_out_of_time(client, refused, monkeypatch):
    monkeypatch.setattr("api.routes_questions.package", _raise(OutOfTime("no answer within 1 s")))
    response = client.post("/v1/package", json=QUESTION)
    assert refused(response, 503, "out_of_time")["detail"] == "no answer within 1 s"
    assert int(response.headers["Retry-After"]) > 0


def test_a_faulty_answer_is_withheld_and_logged(client, refused, monkeypatch, caplog):
    monkeypatch.setattr("api.routes_questions.package", _raise(FaultyAnswer(["two discs short"])))
    response = client.post("/v1/package", json=QUESTION)
    refused(response, 500, "faulty_answer")
    assert "two discs short" not in response.text
    assert "two discs short" in caplog.text


def test_an_unforeseen_error_tells_the_log_and_not_the_caller(
    client, refused, monkeypatch, caplog
):
    monkeypatch.setattr("api.routes_questions.package", _raise(ZeroDivisionError("secret")))
    response = client.post("/v1/package", json=QUESTION)
    refused(response, 500, "internal_error")
    assert "secret" not in response.text
    assert "ZeroDivisionError: secret" in caplog.text


def test_an_error_of_the_validator_in_an_answer_is_ours_and_not_the_callers(
    client, refused, monkeypatch
):
    def broken(*_):
        from rules.answers import Item
        Item.model_validate({})

    monkeypatch.setattr("api.routes_questions.package", broken)
    refused(client.post("/v1/package", json=QUESTION), 500, "internal_error")


def _raise(error):
    def raising(*_):
        raise error

    return raising


def test_ids_are_echoed_only_inside_json_and_cut_short(client, refused):
    script = "<script>alert(1)</script>\n\x07" + "x" * 5000
    response = client.post("/v1/package", json={"vehicle": script})
    body = refused(response, 422, "wrong_question", "vehicle")
    assert len(body["detail"]) == LONGEST_TEXT
    assert len(response.data) < 3 * LONGEST_TEXT
    assert "\x07" not in response.text
    assert response.headers["X-Content-Type-Options"] == "nosniff"


def test_every_kind_of_problem_is_described_where_its_type_points(client):
    for code, kind in KINDS.items():
        described = client.get(f"/problems/{code}").json
        assert described == {
            "code": code, "status": kind.status, "title": kind.title, "meaning": kind.meaning,
        }


def test_an_unknown_kind_of_problem(client, refused):
    body = refused(client.get("/problems/unknown_prt"), 404, "unknown_problem", "code")
    assert body["errors"][0]["nearest"] == "unknown_part"


def test_codes_are_a_promise(client):
    """A caller may have any of these in his code: none may go."""
    promised = {
        "malformed_request", "malformed_json", "no_such_route", "unknown_part", "unknown_problem",
        "method_not_allowed", "unchanged", "body_too_large", "not_json", "wrong_request",
        "wrong_question", "refused", "internal_error", "faulty_answer", "out_of_time",
    }
    assert promised <= set(client.get("/v1").json["problems"])
