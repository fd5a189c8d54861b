"""A shop looks through the parts and at one of them."""

from __future__ import annotations

import pytest


def ids(page):
    return [item["part"] for item in page["items"]]


def test_parts_are_listed_in_the_order_of_their_ids(client, catalogue):
    page = client.get("/v1/parts").json
    assert ids(page) == sorted(catalogue.parts)
    assert (page["total"], page["next"]) == (len(catalogue.parts), None)
    assert page["catalog"]["digest"] == catalogue.digest


def test_turning_pages_shows_every_part_once(client, catalogue):
    seen, after, pages = [], "", 0
    while after is not None:
        page = client.get("/v1/parts", query_string={"limit": 4, "after": after}).json
        assert len(page["items"]) <= 4
        assert page["total"] == len(catalogue.parts)
        seen, after, pages = seen + ids(page), page["next"], pages + 1
    assert seen == sorted(catalogue.parts)
    assert pages == -(-len(catalogue.parts) // 4)


def test_a_page_can_start_after_a_part_that_is_gone(client):
    assert ids(client.get("/v1/parts?after=bolx&limit=1").json) == ["brake-kit"]


@pytest.mark.parametrize(("query", "found"), [
    ("kind=wheel", ["w-stock", "wheel-15"]),
    ("place=front-disc", ["d-stock", "disc-280"]),
    ("q=CALIPER+bolt", ["bolt", "bolt-old"]),
    ("q=fellrim", ["wheel-15"]),
    ("kind=wheel&q=stock", ["w-stock"]),
    ("kind=gasket", []),
])
def test_filters_all_have_to_hold(client, query, found):
    page = client.get(f"/v1/parts?{query}").json
    assert (ids(page), page["total"]) == (found, len(found))


def test_a_row_says_what_an_order_form_needs(client):
    row = client.get("/v1/parts?q=nut-ball").json["items"][0]
    assert row == {
        "part": "nut-ball", "name": "Ball nut", "kind": "wheel-nut", "maker": None,
        "price": "6.00", "pack": 4.0, "unit": "", "places": ["front-nuts"], "orderable": True,
    }


def test_a_replaced_part_is_not_orderable_and_names_its_successor(client):
    old, new = client.get("/v1/parts/bolt-old").json, client.get("/v1/parts/bolt").json
    assert (old["orderable"], old["superseded_by"]) == (False, ["bolt"])
    assert (new["orderable"], new["supersedes"]) == (True, ["bolt-old"])


def test_everything_known_about_a_part_is_shown(client):
    part = client.get("/v1/parts/wheel-15").json
    assert part["dimensions"] == {
        "rim": "6.5 J x 15", "bolt_circle": "4 x 100", "centre_bore": "63.4 mm",
        "nut_seat": "ball-R12",
    }
    assert {"offset", "load_rating"} <= set(part["not_known"])
    assert not set(part["not_known"]) & set(part["dimensions"])
    assert (part["mass"], part["fitting_minutes"], part["note"]) == (7.1, 10.0, "Made to order.")
    assert part["cautions"][-1] == "Not for towing."


def test_the_contents_of_a_kit_are_shown_with_amounts(client):
    contents = client.get("/v1/parts/brake-kit").json["contents"]
    assert [(c["part"], c["qty"]) for c in contents] == [
        ("big-caliper", 2.0), ("disc-280", 2.0), ("bolt", 4.0)]


def test_statements_are_said_in_words_with_amount_condition_basis_and_source(client):
    said = client.get("/v1/parts/big-caliper").json["statements"]
    assert [(s["type"], s["text"], s["amount"], s["on"]) for s in said] == [
        ("fits", "Big caliper goes on Tern", "", "on tern, years 2013-2019"),
        ("requires", "Big caliper needs a brake disc (diameter 280 mm): made for it", "", ""),
        ("requires", "Big caliper needs Caliper bolt", "2 for each", ""),
        ("requires", "Big caliper needs Fluid", "0.7 L in all", "without pressure-sensors"),
        ("conflicts", "Big caliper cannot be combined with a wheel (rim 5.5 J x 14): "
         "the wheel is too small inside", "", ""),
    ]
    assert (said[0]["basis"], said[0]["source"]) == ("trial_fitted", "shop car 3")


def test_what_is_worth_offering_is_a_statement_too(client):
    said = client.get("/v1/parts/wheel-15").json["statements"]
    assert said[0]["text"] == "worth offering with it: Brush: the spokes are narrow"


def test_an_unknown_part_is_not_found_and_the_nearest_is_named(client, refused):
    body = refused(client.get("/v1/parts/wheel-16"), 404, "unknown_part", "part")
    assert body["errors"][0]["nearest"] == "wheel-15"
    assert "wheel-15" in body["detail"]


@pytest.mark.parametrize(("query", "field", "nearest"), [
    ("kind=weel", "kind", "wheel"), ("place=front-weel", "place", "front-wheel"),
])
def test_a_filter_that_names_nothing_known_is_refused(client, refused, query, field, nearest):
    body = refused(client.get(f"/v1/parts?{query}"), 422, "wrong_question", field)
    assert body["errors"][0]["nearest"] == nearest


@pytest.mark.parametrize(("query", "field"), [
    ("limit=0", "limit"), ("limit=501", "limit"), ("limit=many", "limit"),
    ("q=" + "x" * 201, "q"), ("limit=", "limit"),
])
def test_a_filter_out_of_bounds_is_refused(client, refused, query, field):
    refused(client.get(f"/v1/parts?{query}"), 422, "wrong_request", field)
