"""The same request again gets the same reply without being worked out again, within bounds."""

from __future__ import annotations

import pytest

from api import working
from api.app import create_app, prepared
from api.current import current_of
from api.replies import BESIDE, Replies, Reply
from api.settings import Settings
from api.shortcut import MOST_BODY
from kb.catalogue import load_texts

TEXT = """
catalog: {{name: Shop}}
vehicles:
  tern: {{name: Tern, years: 2015, variants: {{p: {{name: P, engine: a}}}}, places: {{lamp: {{}}}}}}
parts:
  lamp: {{kind: item, name: {name}, price: 5.00 EUR, takes: [lamp], fits: [{{vehicles: [tern]}}]}}
"""
PATH = "/v1/parts/lamp"
QUESTION = {"vehicle": "tern", "picks": [{"part": "lamp"}]}
TOKEN = "a-token-of-some-length"


@pytest.fixture
def worked(monkeypatch):
    """Notes each answer that is worked out."""
    noted = []
    through = working.worked_out

    def watched(view, given):
        noted.append(given)
        return through(view, given)

    monkeypatch.setattr("api.endpoint.worked_out", watched)
    return noted


def served(name="Lamp", **settings):
    return create_app(load_texts({"a.yaml": TEXT.format(name=name)}), Settings(**settings))


def alike(one, other):
    """Whether two responses are the same but for the id of their request."""
    headers = [{k: v for k, v in r.headers if k != "X-Request-ID"} for r in (one, other)]
    return (one.status, one.data, headers[0]) == (other.status, other.data, headers[1])


@pytest.mark.parametrize("gzip", [True, False])
def test_the_same_request_gets_the_same_reply_and_is_worked_out_once(worked, gzip):
    client = served().test_client()
    headers = {"Accept-Encoding": "gzip"} if gzip else {}
    for ask in (
        lambda: client.get(PATH, headers=headers),
        lambda: client.post("/v1/package", json=QUESTION, headers=headers),
    ):
        first, again = ask(), ask()
        assert first.status_code == 200
        assert alike(first, again)
        assert first.headers["X-Request-ID"] != again.headers["X-Request-ID"]
    assert len(worked) == 2


@pytest.mark.parametrize("other", [
    {"path": "/v1/parts"}, {"query_string": "x=1"}, {"headers": {"If-None-Match": "*"}},
    {"headers": {"Accept-Encoding": "gzip"}}, {"headers": {"Origin": "https://a.example"}},
    {"method": "HEAD"}, {"method": "POST", "json": QUESTION},
])
def test_what_a_reply_depends_on_is_never_mixed_up(other):
    """Each other request gets what it would get if the first had never been asked."""
    settings = {"cors_origins": ("https://a.example",)}
    fresh, used = served(**settings).test_client(), served(**settings).test_client()
    used.get(PATH)
    given = {"path": PATH, "method": "GET", **other}
    assert alike(fresh.open(**given), used.open(**given))


def test_bodies_are_told_apart(worked):
    client = served().test_client()
    first = client.post("/v1/package", json=QUESTION)
    other = client.post("/v1/package", json={**QUESTION, "prefer": "least_mass"})
    assert len(worked) == 2
    assert first.headers["ETag"] != other.headers["ETag"]
    assert client.post("/v1/package", data=b"{}", content_type="text/plain").status_code == 415


def test_a_kept_reply_is_not_for_those_without_the_token():
    client = served(token=TOKEN).test_client()
    right = {"Authorization": f"Bearer {TOKEN}"}
    assert client.get(PATH, headers=right).status_code == 200
    assert client.get(PATH, headers=right).status_code == 200
    assert client.get(PATH).status_code == 401
    assert client.get(PATH, headers={"Authorization": "Bearer wrong"}).status_code == 401


def test_another_catalogue_is_asked_anew():
    app = served()
    client = app.test_client()
    assert client.get(PATH).json["name"] == "Lamp"
    new = load_texts({"a.yaml": TEXT.format(name="Torch")})
    current_of(app).swap(prepared(app, new))
    answer = client.get(PATH).json
    assert (answer["name"], answer["catalog"]["digest"]) == ("Torch", new.digest)


@pytest.mark.parametrize("path", ["/v1/parts/lmap", "/healthz", "/readyz", "/metrics"])
def test_problems_and_what_is_about_now_are_not_kept(path):
    app = served()
    app.test_client().get(path)
    assert len(current_of(app).served.replies._kept) == 0


def test_a_large_body_is_not_kept_but_answered():
    app = served()
    padded = b'{"vehicle": "tern"' + b" " * MOST_BODY + b"}"
    response = app.test_client().post(
        "/v1/package", data=padded, content_type="application/json")
    assert response.status_code == 200
    assert len(current_of(app).served.replies._kept) == 0


def test_every_request_is_counted_and_has_its_id():
    client = served().test_client()
    for _ in range(3):
        client.get(PATH)
    assert client.get(PATH, headers={"X-Request-ID": "mine"}).headers["X-Request-ID"] == "mine"
    told = client.get("/metrics").text
    labels = 'method="GET",route="/v1/parts/<part>",status="200"'
    assert f"kitwright_requests_total{{{labels}}} 4.0" in told


def test_nothing_is_kept_where_no_room_is_given(worked):
    client = served(answer_bytes=0).test_client()
    assert alike(client.get(PATH), client.get(PATH))
    assert len(worked) == 2


def reply(size):
    return Reply("200 OK", (), b"x" * size, "/")


def test_the_least_asked_for_go_first_when_room_runs_out():
    kept = Replies(2 * (BESIDE + 10))
    for key in "ab":
        kept.keep(key, reply(10))
    assert kept.get("a")
    kept.keep("c", reply(10))
    assert [key for key in "abc" if kept.get(key)] == ["a", "c"]


def test_what_is_larger_than_the_room_is_not_kept():
    kept = Replies(BESIDE + 100)
    kept.keep("a", reply(101))
    assert kept.get("a") is None
