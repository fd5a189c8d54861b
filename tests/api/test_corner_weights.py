"""Corner weights over HTTP and on the command line."""

from __future__ import annotations

import json

import pytest

from rules.setup import CornerQuestion, corner_weights
from tests.support.cli_catalogue import CAR as SHOP_CAR
from tests.support.cli_catalogue import write
from tests.support.command_line import CommandLine, flat

CAR = {"vehicle": "tern", "year": 2015, "variant": "p16"}
CORNER = {"spring_rate": 30, "motion_ratio": 1, "thread_pitch": 2, "room_down": 30, "room_up": 30}
NAMES = ("left_front", "right_front", "left_rear", "right_rear")
KNOWN = {
    "corners": {
        name: {"scale": scale, **CORNER}
        for name, scale in zip(NAMES, (312, 298, 287, 303), strict=True)
    },
    "wheelbase": 2500, "front_track": 1500, "rear_track": 1480,
}
OPTIONS = (
    "--scales", "312", "298", "287", "303", "--rates", "30", "30", "--motion-ratios", "1", "1",
    "--pitch", "2", "2", "--room", "30", "30", "--wheelbase", "2500", "--tracks", "1500", "1480",
)


def ask(client, **question):
    return client.post("/v1/corner-weights", json={**CAR, **KNOWN, **question})


def test_the_answer_is_the_one_the_rules_find(client, catalogue):
    response = ask(client)
    question = CornerQuestion.model_validate({**CAR, **KNOWN})
    assert response.status_code == 200
    assert response.text == corner_weights(catalogue, question).model_dump_json()
    assert response.json["outcome"] == "reached"
    assert response.json["after"]["cross"] == pytest.approx(50)


def test_what_is_missing_is_an_answer_too(client):
    response = ask(client, wheelbase=None)
    assert response.status_code == 200
    assert response.json["outcome"] == "not_known"
    assert response.json["measure_first"][0]["what"] == "wheelbase"


@pytest.mark.parametrize(("question", "field"), [
    ({"cross": 90}, "cross"),
    ({"corners": {**KNOWN["corners"], "left_rear": {**CORNER, "scale": -3}}},
     "corners.left_rear.scale"),
    ({"corners": {name: {"scale": 300} for name in NAMES[:3]}}, "corners.right_rear"),
    ({"parts": ["sofd"]}, "parts.0"),
    ({"spring": 3}, "spring"),
])
def test_a_wrong_question_is_refused_by_field(client, question, field):
    response = ask(client, **question)
    assert response.status_code == 422
    assert response.json["errors"][0]["field"] == field


@pytest.fixture
def run(tmp_path):
    return CommandLine(write(tmp_path / "shop"))


def test_the_command_prints_the_turns(run):
    found = run("corner-weights", *SHOP_CAR, *OPTIONS, "--why")
    page = flat(found.stdout)
    assert found.exit_code == 0
    assert "these turns bring the car to what is wanted" in page
    assert "Then 50.00 %" in page
    assert "wheelbase = 2500 [question]" in page
    assert "a loaded spring can hurt" in page


def test_program_and_page_say_the_same(run):
    found = json.loads(run("corner-weights", *SHOP_CAR, *OPTIONS, "--json").stdout)
    turns = [f"{corner['turns']:+.2f}" for corner in found["corners"]]
    page = run("corner-weights", *SHOP_CAR, *OPTIONS).stdout
    assert all(turn in page for turn in turns)


def test_a_short_thread_and_a_missing_value_are_both_a_no(run):
    short = run("corner-weights", *SHOP_CAR, *OPTIONS, "--cross", "60", "--room", "1", "1")
    assert short.exit_code == 1
    assert "(end of thread)" in flat(short.stdout)
    unknown = run("corner-weights", *SHOP_CAR, "--scales", "312", "298", "287", "303")
    assert unknown.exit_code == 1
    assert "ASK OR MEASURE FIRST" in unknown.stdout
    assert "Wheelbase." in flat(unknown.stdout)


def test_heights_are_given_corner_by_corner(run):
    heights = ("--heights", "300", "300", "300", "300", "--wanted-heights", "290", "290", "290")
    found = run("corner-weights", *SHOP_CAR, *OPTIONS, *heights, "290", "--json")
    assert [c["height_change"] for c in json.loads(found.stdout)["corners"]] == pytest.approx(
        [-10] * 4, abs=0.5
    )


def test_a_value_out_of_range_names_its_field(run):
    found = run("corner-weights", *SHOP_CAR, *OPTIONS, "--cross", "95")
    assert found.exit_code == 2
    assert "cross" in found.stderr
