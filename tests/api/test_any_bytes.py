"""Requests that no client would write: any bytes as method, address, headers and body."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from werkzeug.test import create_environ, run_wsgi_app

from api.app import create_app
from api.problems import KINDS
from kb.catalogue import load_texts
from tests.api.conftest import CATALOGUE

APP = create_app(load_texts({"mini.yaml": CATALOGUE}))

BYTES = st.binary(max_size=40).map(lambda raw: raw.decode("latin-1"))
PIECES = st.sampled_from([
    "/v1/", "parts", "package", "needed", "batch", "graph", "search", "drawings", "/", "..", "%00",
    "%2f", "//", ";", "vehicle=", "tern", "&", "year=", "2013", "pick=", "ring:", "=", "?", "\\",
])
NEARLY = st.lists(PIECES | BYTES, max_size=6).map("".join)
METHODS = st.sampled_from(["GET", "POST", "HEAD", "OPTIONS", "PUT", "BREW", "get"])
HEADERS = st.dictionaries(
    st.sampled_from(["HTTP_IF_NONE_MATCH", "HTTP_ACCEPT_ENCODING", "HTTP_X_REQUEST_ID", "HTTP_HOST",
                     "HTTP_AUTHORIZATION", "HTTP_ORIGIN", "CONTENT_TYPE", "CONTENT_LENGTH",
                     "HTTP_ACCEPT", "HTTP_RANGE", "HTTP_CONTENT_ENCODING", "HTTP_COOKIE"]),
    BYTES | st.sampled_from(["*", "gzip", "application/json", "-1", "99999999999", "W/"]),
    max_size=4,
)


@given(METHODS, NEARLY, NEARLY, HEADERS, st.binary(max_size=60))
@settings(max_examples=150, deadline=None)
def test_any_bytes_get_an_answer_that_is_no_fault_of_ours(method, path, query, headers, body):
    environ = create_environ(method=method if method != "get" else "GET", data=body)
    environ |= {"REQUEST_METHOD": method, "PATH_INFO": f"/{path}", "QUERY_STRING": query, **headers}
    answer, status, sent = run_wsgi_app(APP, environ, buffered=True)
    code = int(status[:3])
    assert code < 500, status
    if sent.get("Content-Type", "").startswith("text/html"):
        assert not path.startswith("v1"), "pages are the counter's"
    elif code >= 400 and method != "HEAD" and not sent.get("Content-Encoding"):
        problem = json.loads(b"".join(answer))
        assert (problem["status"], problem["code"] in KINDS) == (code, True)
    assert all(value.isprintable() for _, value in sent.items())


@pytest.mark.parametrize("path", ["/v1/parts/%", "/v1/parts/%ff", "/v1/parts/" + "x" * 20_000])
def test_odd_addresses_of_parts(client, path):
    response = client.get(path)
    assert response.status_code in (400, 404)
    assert len(response.data) < 3_000
