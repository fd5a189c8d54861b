"""Answers are sent as gzip to callers that take it, and are the same answers."""

from __future__ import annotations

import gzip

import pytest

URL = "/v1/vehicles"


def test_a_caller_that_takes_gzip_gets_the_same_answer_in_fewer_bytes(client):
    plain = client.get(URL)
    packed = client.get(URL, headers={"Accept-Encoding": "gzip, br"})
    assert packed.headers["Content-Encoding"] == "gzip"
    assert len(packed.data) < len(plain.data) / 2
    assert gzip.decompress(packed.data) == plain.data
    assert int(packed.headers["Content-Length"]) == len(packed.data)
    assert "Content-Encoding" not in plain.headers


@pytest.mark.parametrize("accepted", [
    None, "", "identity", "br", "gzip;q=0", "gzip;q=0, *", "identity, gzip;q=0.5"])
def test_who_does_not_take_it_is_not_sent_it(client, accepted):
    given = {} if accepted is None else {"Accept-Encoding": accepted}
    assert "Content-Encoding" not in client.get(URL, headers=given).headers


@pytest.mark.parametrize("accepted", ["gzip", "*", "br;q=1, gzip; q=0.5", "GZIP"])
def test_who_takes_it_in_any_spelling_is_sent_it(client, accepted):
    got = client.get(URL, headers={"Accept-Encoding": accepted})
    assert got.headers["Content-Encoding"] == "gzip"


def test_caches_are_told_what_it_depends_on(client):
    packed = client.get(URL, headers={"Accept-Encoding": "gzip"})
    unchanged = client.get(URL, headers={"If-None-Match": packed.headers["ETag"]})
    for response in (client.get(URL), packed, unchanged):
        assert response.headers["Vary"] == "Accept-Encoding"


def test_one_tag_for_the_answer_however_it_is_coded(client):
    """A tag that two codings share has to be weak (RFC 9110, section 8.8.3)."""
    packed = client.get(URL, headers={"Accept-Encoding": "gzip"})
    plain = client.get(URL)
    assert packed.headers["ETag"] == plain.headers["ETag"]
    assert plain.headers["ETag"].startswith('W/"')
    for accepted in ("gzip", "identity"):
        again = client.get(URL, headers={
            "Accept-Encoding": accepted, "If-None-Match": packed.headers["ETag"]})
        assert (again.status_code, again.data) == (304, b"")
        assert "Content-Encoding" not in again.headers


def test_a_short_answer_is_not_worth_it(client):
    assert "Content-Encoding" not in client.get(
        "/healthz", headers={"Accept-Encoding": "gzip"}).headers
