"""A request is answered wholly from the catalogue that answered when it came in."""

from __future__ import annotations

from api.app import create_app, prepared
from api.current import catalogue, current_of
from kb.catalogue import load_texts

OLD = load_texts({"a.yaml": "catalog: {name: Old}\nparts: {lamp: {kind: item, name: Lamp}}"})
NEW = load_texts({"a.yaml": "catalog: {name: New}\nparts: {bulb: {kind: item, name: Bulb}}"})


def test_the_next_request_is_answered_from_the_new_catalogue_alone():
    app = create_app(OLD)
    client = app.test_client()
    before = client.get("/v1/parts")
    current_of(app).swap(prepared(app, NEW))
    after = client.get("/v1/parts", headers={"If-None-Match": before.headers["ETag"]})
    assert after.status_code == 200
    assert after.json["catalog"]["digest"] == NEW.digest
    assert [row["part"] for row in after.json["items"]] == ["bulb"]
    assert client.get("/v1/parts/lamp").status_code == 404


def test_a_request_in_hand_keeps_its_catalogue():
    app = create_app(OLD)
    with app.test_request_context("/"):
        first = catalogue()
        current_of(app).swap(prepared(app, NEW))
        assert catalogue() is first is OLD
    with app.test_request_context("/"):
        assert catalogue() is NEW


def test_the_examples_are_those_of_the_catalogue_that_answers():
    app = create_app(OLD)
    client = app.test_client()
    before = client.get("/openapi.json")
    current_of(app).swap(prepared(app, load_texts({"a.yaml": """
vehicles:
  plover: {name: Plover, years: 2015, variants: {t: {name: T, engine: e}}, places: {lamp: {}}}
parts: {lamp: {kind: item, name: Lamp, price: 5.00 EUR, takes: [lamp]}}
"""})))
    after = client.get("/openapi.json")
    assert "plover" in after.text
    assert "plover" not in before.text
