"""Stories of `kitwright plan` and `kitwright gaps`: a builder in the garage."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.support.cli_catalogue import CAR, write
from tests.support.command_line import CommandLine, flat


@pytest.fixture
def run(tmp_path: Path) -> CommandLine:
    return CommandLine(write(tmp_path / "shop"))


def a_list(folder: Path, text: str) -> str:
    path = folder / "have.csv"
    path.write_text(text, encoding="utf-8")
    return str(path)


# -- plan -------------------------------------------------------------------------------------


def test_the_plan_goes_stage_by_stage_in_one_numbering(run: CommandLine) -> None:
    found = run("plan", "caliper-big", *CAR)
    page = flat(found.stdout)
    assert found.exit_code == 0
    titles = ["TIME", "STRIP", "BRAKES", "WHEELS AND TYRES", "BEFORE THE ROAD"]
    assert sorted(titles, key=page.index) == titles
    assert page.index("Take off Stock") < page.index("Fit Big caliper")
    assert "with 4 Caliper bolt (bolt-caliper)" in page
    assert "[ ] Check the torque of the wheel nuts" in page


def test_a_plan_fits_eighty_columns(run: CommandLine) -> None:
    for words in (("plan", "caliper-big"), ("plan", "caliper-big", "--why")):
        lines = run(*words, *CAR).stdout.splitlines()
        assert max(map(len, lines)) <= 80


def test_a_plan_as_json_is_the_same_answer(run: CommandLine) -> None:
    found = json.loads(run("plan", "caliper-big", *CAR, "--json").stdout)
    numbers = [o["number"] for stage in found["stages"] for o in stage["operations"]]
    assert sorted(numbers) == list(range(1, len(numbers) + 1))


def test_no_plan_for_what_cannot_be(run: CommandLine) -> None:
    found = run("plan", "wheel-15", "wheel-15-wide", *CAR)
    assert found.exit_code in (1, 2)
    assert "Fit" not in found.stdout


# -- gaps -------------------------------------------------------------------------------------


def test_an_unfinished_bench_is_told_what_each_stage_waits_for(
    run: CommandLine, tmp_path: Path
) -> None:
    have = a_list(tmp_path, "part,qty\ncaliper-big,2\nbolt-caliper,3\ncrank senser,1\n")
    found = run("gaps", have, *CAR)
    page = flat(found.stdout)
    assert found.exit_code == 1
    assert "To be built (taken from the list, since nobody said): Big caliper" in page
    assert "brakes 1 part short" in page or "part short" in page
    assert "have 3 of 4" in page
    assert "Row 4, 'crank senser': No part is called so." in page
    assert max(map(len, found.stdout.splitlines())) <= 80


def test_a_bench_with_the_whole_order_is_ready(run: CommandLine, tmp_path: Path) -> None:
    order = json.loads(run("package", "caliper-big", *CAR, "--json").stdout)
    rows = [f"{x['part']},{x['packs'] * x['pack']:g} {x['unit']}"
            for x in order["lines"] if x["packs"]]
    have = a_list(tmp_path, "part,qty\n" + "\n".join(rows))
    found = run("gaps", have, "caliper-big", *CAR)
    assert found.exit_code == 0, found.stdout
    assert "everything is there" in found.stdout
    assert "missing" not in found.stdout


def test_a_list_that_cannot_be_read_is_said_in_one_line(run: CommandLine, tmp_path: Path) -> None:
    found = run("gaps", a_list(tmp_path, "colour\nblack\n"), "caliper-big", *CAR)
    assert found.exit_code == 2
    assert found.stderr.startswith("kitwright: no column holds parts")


# -- setup ------------------------------------------------------------------------------------


def test_a_set_up_sheet_says_what_is_known_and_asks_for_the_rest(run: CommandLine) -> None:
    found = run("setup", *CAR, "--why")
    assert found.exit_code == 0
    assert "ASK OR MEASURE FIRST" in found.stdout
    assert "Formula: least pressure" in flat(found.stdout)
    assert max(map(len, found.stdout.splitlines())) <= 80


TERMS = (
    ("--budget", "1.00", "than the budget of 1.00"),
    ("--avoid", "caliper-big", "Big caliper is not wanted"),
)


@pytest.mark.parametrize("command", ["plan", "setup", "gaps"])
@pytest.mark.parametrize(("option", "value", "said"), TERMS)
def test_the_terms_of_a_package_hold_for_plan_set_up_and_gaps(
    run: CommandLine, tmp_path: Path, command: str, option: str, value: str, said: str
) -> None:
    have = [str(a_list(tmp_path, "part,qty\nbolt-caliper,1\n"))] if command == "gaps" else []
    words = (command, *have, "caliper-big", *CAR, option, value, "--deadline", "60")
    found = run(*words)
    assert found.exit_code == 1
    assert said in " ".join(found.stdout.split())
    assert "WAYS OUT" in found.stdout
    assert json.loads(run(*words, "--json").stdout)["outcome"] == "impossible"


def test_a_wrong_term_is_said_with_its_option(run: CommandLine) -> None:
    found = run("plan", "caliper-big", *CAR, "--avoid", "caliper-bigg")
    assert found.exit_code == 2
    assert "'caliper-big'" in found.stderr
    assert "--avoid" in found.stderr
