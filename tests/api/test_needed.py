"""The counter asks what else goes with a part."""

from __future__ import annotations

import pytest

CAR = "vehicle=tern&year=2015&variant=p16"


def test_what_is_in_every_package_is_said_with_amounts_and_reasons(client):
    answer = client.get(f"/v1/parts/big-caliper/needed?{CAR}").json
    assert answer["possible"] is True
    must = {ref["part"]: ref["qty"] for ref in answer["must"]}
    assert must["bolt"] == 4.0
    assert must["disc-280"] == 2.0
    assert must["fluid"] == pytest.approx(0.7)
    assert all(ref["because"] for ref in answer["must"])


def test_what_the_cart_holds_is_not_asked_for_again(client):
    alone = client.get(f"/v1/parts/big-caliper/needed?{CAR}").json
    beside = client.get(f"/v1/parts/big-caliper/needed?{CAR}&cart=disc-280&cart=bolt:4").json
    assert {"disc-280", "bolt"} <= {ref["part"] for ref in alone["must"]}
    assert not {"disc-280", "bolt"} & {ref["part"] for ref in beside["must"]}


def test_a_part_that_does_not_go_with_the_cart_is_an_answer(client):
    answer = client.get(f"/v1/parts/disc-280/needed?{CAR}&cart=d-stock")
    assert answer.status_code == 200


def test_a_part_that_cannot_go_on_the_car_is_an_answer_with_the_clash(client):
    answer = client.get("/v1/parts/big-caliper/needed?vehicle=gannet")
    assert answer.status_code == 200
    assert answer.json["possible"] is False
    texts = [m["text"] for clash in answer.json["clashes"] for m in clash["members"]]
    assert any("does not go here" in text for text in texts)


def test_a_colon_belongs_to_the_id_where_the_catalogue_has_such_an_id(client):
    url = f"/v1/parts/wheel-15/needed?{CAR}&cart=odd:2&cart=odd:2:3"
    assert client.get(url).status_code == 200


@pytest.mark.parametrize(("query", "field", "nearest"), [
    ("vehicle=turn&year=2015", "vehicle", "tern"),
    ("vehicle=tern&year=2015&variant=p61", "variant", "p16"),
    ("vehicle=tern&variant=p12&year=2019", "year", None),
    ("vehicle=tern&year=2015", "variant", None),
    ("vehicle=tern&variant=p12", "year", None),
    (f"{CAR}&cart=bolt&cart=disc-281", "cart.1", "disc-280"),
    (f"{CAR}&cart=bolt:0.5", "cart.0", None),
    (f"{CAR}&cart=xyz:many", "cart.0", None),
])
def test_a_question_that_names_no_car_or_part_is_refused(client, refused, query, field, nearest):
    response = client.get(f"/v1/parts/wheel-15/needed?{query}")
    body = refused(response, 422, "wrong_question", field)
    assert body["errors"][0]["nearest"] == nearest


@pytest.mark.parametrize(("query", "field"), [
    ("", "vehicle"),
    ("vehicle=tern&year=twelve", "year"),
    ("vehicle=tern&year=1700", "year"),
    ("vehicle=tern&vehicle=gannet", "vehicle"),
    (f"{CAR}&cart=bolt:many", "cart.0"),
    (f"{CAR}&cart=bolt:-1", "cart.0"),
    (f"{CAR}&cart=bolt:0", "cart.0"),
])
def test_a_query_of_the_wrong_form_is_refused(client, refused, query, field):
    refused(client.get(f"/v1/parts/wheel-15/needed?{query}"), 422, "wrong_request", field)


def test_too_many_parts_in_the_cart_are_refused(client, refused):
    query = CAR + "&cart=bolt" * 200
    refused(client.get(f"/v1/parts/wheel-15/needed?{query}"), 422, "wrong_request", "cart")


def test_the_part_asked_about_has_to_be_known_first_of_all(client, refused):
    refused(client.get("/v1/parts/nothing/needed?vehicle=none"), 404, "unknown_part", "part")
