"""Answers that were given are at hand for the next caller, within bounds, for one catalogue."""

from __future__ import annotations

import pytest

from api import working
from api.app import create_app, prepared
from api.current import current_of
from api.kept import BESIDE, KeptAnswers, Written
from api.settings import Settings
from kb.catalogue import load_texts

TEXT = "catalog: {name: Shop}\nparts: {lamp: {kind: item, name: %s}}"
PATH = "/v1/parts/lamp"


@pytest.fixture
def worked(monkeypatch):
    """Counts the answers that are worked out."""
    counted = []
    through = working.worked_out

    def watched(view, given):
        counted.append(given)
        return through(view, given)

    monkeypatch.setattr("api.endpoint.worked_out", watched)
    return counted


def served(**settings):
    return create_app(load_texts({"a.yaml": TEXT % "Lamp"}), Settings(**settings))


def test_the_same_question_is_worked_out_once(worked):
    client = served().test_client()
    first, second = client.get(PATH), client.get(PATH)
    assert first.data == second.data
    assert first.headers["ETag"] == second.headers["ETag"]
    assert len(worked) == 1
    client.get("/v1/parts")
    assert len(worked) == 2


def test_nothing_is_kept_where_no_room_is_given(worked):
    client = served(answer_bytes=0).test_client()
    assert client.get(PATH).data == client.get(PATH).data
    assert len(worked) == 2


def test_another_catalogue_is_asked_anew(worked):
    app = served()
    client = app.test_client()
    assert client.get(PATH).json["name"] == "Lamp"
    current_of(app).swap(prepared(app, load_texts({"a.yaml": TEXT % "Torch"})))
    assert client.get(PATH).json["name"] == "Torch"


def test_a_problem_is_not_kept(worked):
    client = served().test_client()
    for _ in range(2):
        assert client.get("/v1/parts/lmap").status_code == 404
    assert len(worked) == 2


def test_the_least_asked_for_go_first_when_room_runs_out():
    kept = KeptAnswers(2 * (BESIDE + 10))
    for tag in "ab":
        kept.keep(tag, Written(b"0123456789", "text/plain"))
    assert kept.get("a")
    kept.keep("c", Written(b"0123456789", "text/plain"))
    assert [tag for tag in "abc" if kept.get(tag)] == ["a", "c"]


def test_what_is_larger_than_the_room_is_not_kept():
    kept = KeptAnswers(100)
    kept.keep("a", Written(b"x" * 101, "text/plain"))
    assert kept.get("a") is None
