"""GET /v1/drawings and the drawings themselves."""

from __future__ import annotations

from xml.etree import ElementTree as Xml

CAR = "vehicle=tern&year=2013"


def test_every_drawing_of_the_list_is_where_it_says(client):
    answer = client.get(f"/v1/drawings?{CAR}&pick=wheel-15&pick=tyre-15&pick=nut-ball:8").json
    assert answer["outcome"] != "impossible"
    assert [item["name"] for item in answer["items"]][-1] == "because"
    for item in answer["items"]:
        response = client.get(item["href"])
        assert response.status_code == 200
        assert response.mimetype == "image/svg+xml"
        root = Xml.fromstring(response.text)
        title, desc = root[0].text, root[1].text
        assert (title, desc) == (item["title"], item["alt"])


def test_the_address_of_a_drawing_holds_the_whole_question(client):
    question = f"{CAR}&pick=wheel-15&avoid=nut-ball&reversible_only=true&alternatives=false"
    answer = client.get(f"/v1/drawings?{question}").json
    package = client.get(f"/v1/package?{question}").json
    assert answer["outcome"] == package["outcome"]
    for item in answer["items"]:
        assert "avoid=nut-ball&reversible_only=true" in item["href"]
        assert client.get(item["href"]).status_code == 200


def test_a_drawing_may_neither_run_nor_fetch_anything(client):
    response = client.get(f"/v1/drawings/because.svg?{CAR}&pick=wheel-15")
    assert response.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert response.headers["X-Content-Type-Options"] == "nosniff"


def test_a_drawing_that_is_not_there_is_said_to_be_missing(client, refused):
    response = client.get(f"/v1/drawings/becaus.svg?{CAR}&pick=wheel-15")
    body = refused(response, 404, "unknown_drawing", "name")
    assert body["errors"][0]["nearest"] == "because"


def test_a_wrong_question_names_its_field(client, refused):
    for path in ("/v1/drawings", "/v1/drawings/because.svg"):
        refused(client.get(f"{path}?{CAR}&pick=whel-15"), 422, "wrong_question", "pick.0")
        refused(client.get(f"{path}?{CAR}&picks=ring"), 422, "wrong_request", "picks")
