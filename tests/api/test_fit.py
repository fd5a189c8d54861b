"""The counter asks whether parts go together on a car."""

from __future__ import annotations

CAR = "vehicle=tern&year=2015&variant=p16"


def test_parts_that_go_together_are_shown_with_their_checks(client):
    sheet = client.get(f"/v1/fit?parts=wheel-15&parts=tyre-15&{CAR}").json
    checks = {line["check"]: line["verdict"] for line in sheet["checks"]}
    assert checks["tyre-rim-diameter"] == "fits"
    assert sheet["baseline"]["id"] == "tern/p16/2015"


def test_parts_that_do_not_go_together_are_an_answer(client):
    response = client.get(f"/v1/fit?parts=w-stock&parts=tyre-15&{CAR}")
    assert response.status_code == 200
    assert response.json["verdict"] == "does_not_fit"


def test_an_unknown_part_is_refused_with_the_nearest(client, refused):
    response = client.get(f"/v1/fit?parts=ring&parts=tyre-16&{CAR}")
    body = refused(response, 422, "wrong_question", "parts.1")
    assert body["errors"][0]["nearest"] == "tyre-15"


def test_parts_and_a_car_have_to_be_named(client, refused):
    refused(client.get("/v1/fit"), 422, "wrong_request", "vehicle", "parts")
