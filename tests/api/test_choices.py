"""A shop back end asks what is still open, and for packages to compare. (Contract held as ever.)"""

from __future__ import annotations

import pytest

from rules.answers import Front, Options, Package, Question
from rules.front import front
from rules.options import options
from rules.resolve import package

CAR = {"vehicle": "tern", "year": 2015, "variant": "p16"}
BIG = {"part": "big-caliper"}


def post(client, what, **question):
    return client.post(f"/v1/{what}", json={**CAR, **question})


def test_options_are_those_that_the_rules_find(client, catalogue):
    response = post(client, "options", picks=[BIG], places=["front-wheel"], why_not=["w-stock"])
    question = Question(**CAR, picks=[BIG])
    expected = options(catalogue, question, ("front-wheel",), ("w-stock",))
    assert response.status_code == 200
    assert response.text == expected.model_dump_json()


def test_options_tell_forced_possible_and_out_and_why(client):
    body = post(client, "options", picks=[BIG], why_not=["w-stock", "wheel-15"]).json
    places = {place["place"]: place for place in body["places"]}
    assert places["front-wheel"]["stock"]["state"] == "out"
    assert places["front-caliper"]["parts"][0]["state"] == "forced"
    stock, new = body["refused"]
    assert (stock["out"], new["out"], new["clash"]) == (True, False, None)
    assert "the wheel is too small inside" in stock["clash"]["members"][-1]["text"]
    assert stock["clash"]["members"][-1]["statement"].startswith("conflict:part:big-caliper/")


def test_options_of_an_impossible_question_are_an_answer_with_a_clash(client):
    body = post(client, "options", picks=[BIG, {"part": "w-stock"}]).json
    assert (body["possible"], body["places"]) == (False, [])
    assert body["clashes"][0]["members"]


def test_offers_are_those_that_the_rules_find(client, catalogue):
    response = post(client, "offers", picks=[BIG], most=2)
    assert response.status_code == 200
    assert response.text == front(catalogue, Question(**CAR, picks=[BIG]), 2).model_dump_json()


def test_an_impossible_question_has_one_offer_that_says_why(client):
    (only,) = post(client, "offers", picks=[BIG], budget="1.00").json["packages"]
    assert only["outcome"] == "impossible"
    assert "1.00" in only["clashes"][0]["members"][-1]["text"]


@pytest.mark.parametrize(("wish", "value", "text"), [
    ("keep", ["front-caliper"], "the stock part in the place 'front caliper' is to stay"),
    ("avoid", ["disc-280"], "Disc 280 is not wanted"),
    ("avoid_makers", ["Fellrim"], "nothing made by Fellrim is wanted"),
    ("budget", "100.00", "more than the budget of 100.00"),
])
def test_a_wish_that_cannot_be_granted_is_explained_with_ways_out(client, wish, value, text):
    body = post(client, "package", picks=[BIG], **{wish: value}).json
    assert body["outcome"] == "impossible"
    said = [m["text"] for clash in body["clashes"] for m in clash["members"]]
    assert any(text in each for each in said)
    kinds = {change["type"] for way in body["ways_out"] for change in way["changes"]}
    assert kinds >= {"leave_out", "raise_budget" if wish == "budget" else "give_up_wish"}


def test_a_way_out_can_be_taken(client):
    body = post(client, "package", picks=[BIG], avoid=["disc-280"]).json
    way = next(w for w in body["ways_out"] if w["changes"][0]["type"] == "give_up_wish")
    assert (way["changes"][0]["wish"], way["changes"][0]["by"]) == ("avoid", "disc-280")
    again = post(client, "package", picks=[BIG]).json
    assert (again["outcome"], again["totals"]["price"]) == (way["outcome"], way["price"])


@pytest.mark.parametrize(("what", "field", "body", "nearest"), [
    ("package", "keep.0", {"keep": ["front-disk"]}, "front-disc"),
    ("package", "avoid.1", {"avoid": ["ring", "disc-208"]}, "disc-280"),
    ("package", "avoid_makers.0", {"avoid_makers": ["Felrim"]}, "Fellrim"),
    ("options", "places.0", {"places": ["front-wheels"]}, "front-wheel"),
    ("options", "why_not.0", {"why_not": ["wheel-51"]}, "wheel-15"),
    ("offers", "picks.0.part", {"picks": [{"part": "rign"}]}, "ring"),
])
def test_a_name_that_is_not_known_is_refused_with_the_nearest(
    client, refused, what, field, body, nearest
):
    response = post(client, what, **{"picks": [BIG], **body})
    problem = refused(response, 422, "wrong_question", field)
    assert nearest in str(problem["errors"])


@pytest.mark.parametrize(("what", "body", "field"), [
    ("package", {"budget": "lots"}, "budget"), ("package", {"budget": 100}, "budget"),
    ("offers", {"most": 0}, "most"), ("offers", {"most": 21}, "most"),
    ("options", {"why_not": ["ring"] * 21}, "why_not"), ("options", {"why": ["ring"]}, "why"),
    ("options", {"reversible_only": "perhaps"}, "reversible_only"),
])
def test_a_question_of_another_form_is_refused(client, what, body, field):
    response = post(client, what, picks=[BIG], **body)
    assert response.status_code == 422
    assert response.json["errors"][0]["field"] == field


def test_answers_can_be_read_back_as_what_they_are(client, catalogue):
    assert Options.model_validate(post(client, "options", picks=[BIG]).json).possible
    assert Front.model_validate(post(client, "offers", picks=[BIG]).json).packages
    found = Package.model_validate(post(client, "package", picks=[BIG]).json)
    assert found == package(catalogue, Question(**CAR, picks=[BIG]))
