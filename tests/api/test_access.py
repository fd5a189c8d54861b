"""Who may ask: nobody is asked for anything unless a token or origins are set."""

from __future__ import annotations

from base64 import b64encode

import pytest
from pydantic import SecretStr

from api.app import create_app
from api.settings import Settings

TOKEN = "a-token-of-some-length"
ORIGIN = "https://shop.example"
BODY = {"vehicle": "gannet"}


def client_with(catalogue, **settings):
    return create_app(catalogue, Settings(**settings)).test_client()


@pytest.fixture(scope="module")
def closed(catalogue):
    return client_with(catalogue, token=SecretStr(TOKEN))


@pytest.fixture(scope="module")
def half_open(catalogue):
    return client_with(catalogue, token=SecretStr(TOKEN), token_for="non-get")


def bearer(token):
    return {"Authorization": f"Bearer {token}"}


@pytest.mark.parametrize("path", ["/", "/v1/parts", "/metrics", "/openapi.json", "/nothing"])
def test_without_the_token_nothing_is_told(closed, refused, path):
    response = closed.get(path)
    refused(response, 401, "token_needed")
    assert response.headers["WWW-Authenticate"].startswith("Bearer")


@pytest.mark.parametrize("sent", ["", "wrong", TOKEN[:-1], TOKEN + "x", "ü"])
def test_a_wrong_token_is_no_token(closed, refused, sent):
    refused(closed.get("/v1/parts", headers=bearer(sent)), 401, "token_needed")


def test_with_the_token_everything_works(closed):
    assert closed.get("/v1/parts", headers=bearer(TOKEN)).status_code == 200
    assert closed.post("/v1/package", json=BODY, headers=bearer(TOKEN)).status_code == 200


def test_a_browser_may_send_the_token_as_a_password(closed):
    sent = b64encode(f"anyone:{TOKEN}".encode()).decode()
    assert closed.get("/", headers={"Authorization": f"Basic {sent}"}).status_code == 200


@pytest.mark.parametrize("path", ["/healthz", "/readyz"])
def test_health_is_told_to_everyone(closed, path):
    assert closed.get(path).status_code == 200


def test_a_token_may_be_for_what_is_not_get_only(half_open, refused):
    assert half_open.get("/v1/parts").status_code == 200
    refused(half_open.post("/v1/package", json=BODY), 401, "token_needed")
    assert half_open.post("/v1/package", json=BODY, headers=bearer(TOKEN)).status_code == 200


def test_the_document_says_where_the_token_is_needed(half_open, client):
    said = half_open.get("/openapi.json").json
    assert said["components"]["securitySchemes"]["token"]["scheme"] == "bearer"
    assert said["paths"]["/v1/package"]["post"]["security"] == [{"token": []}]
    assert "401" in said["paths"]["/v1/package"]["post"]["responses"]
    assert "security" not in said["paths"]["/v1/package"]["get"]
    assert not client.get("/openapi.json").json["components"]["securitySchemes"]


def test_pages_of_other_origins_may_not_ask_unless_named(client, catalogue):
    assert "Access-Control-Allow-Origin" not in client.get(
        "/v1/parts", headers={"Origin": ORIGIN}).headers
    named = client_with(catalogue, cors_origins=(ORIGIN,))
    answer = named.get("/v1/parts", headers={"Origin": ORIGIN})
    assert answer.headers["Access-Control-Allow-Origin"] == ORIGIN
    assert "ETag" in answer.headers["Access-Control-Expose-Headers"]
    assert {"Origin", "Accept-Encoding"} <= set(answer.headers["Vary"].split(", "))
    for other in ("https://other.example", "https://shop.example.other.example", "null"):
        answer = named.get("/v1/parts", headers={"Origin": other})
        assert "Access-Control-Allow-Origin" not in answer.headers


def test_a_browser_asks_first_without_the_token(catalogue):
    both = client_with(catalogue, token=SecretStr(TOKEN), cors_origins=(ORIGIN,))
    asked = both.options("/v1/package", headers={
        "Origin": ORIGIN, "Access-Control-Request-Method": "POST",
        "Access-Control-Request-Headers": "authorization,content-type"})
    assert asked.status_code == 200
    assert asked.headers["Access-Control-Allow-Origin"] == ORIGIN
    assert "POST" in asked.headers["Access-Control-Allow-Methods"]
    refusal = both.post("/v1/package", json=BODY, headers={"Origin": ORIGIN})
    assert refusal.headers["Access-Control-Allow-Origin"] == ORIGIN, "so that the page can say why"
