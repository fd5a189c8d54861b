"""Stories of `kitwright needed`: what has to be sold with this part, whatever else is chosen."""

from __future__ import annotations

from pathlib import Path

import pytest

from kb.catalogue import load
from rules.answers import Item, Needed, Question
from rules.needed import needed
from tests.support.cli_catalogue import CAR, write
from tests.support.command_line import CommandLine, flat


@pytest.fixture
def run(tmp_path: Path) -> CommandLine:
    return CommandLine(write(tmp_path / "shop"))


def test_what_is_always_needed_and_what_is_left_to_choose(run: CommandLine) -> None:
    found = run("needed", "wheel-15", *CAR)
    page = flat(found.stdout)
    assert found.exit_code == 0
    assert "What is needed with 2 x Gravel wheel 15 (wheel-15):" in page
    always, choice = page.split("CHOICE 1: 2 OF ONE OF THESE")
    assert "8 Ball-seat nut (nut-ball) 6 6.00" in always
    assert "2 Ring 63.4 to 56.1 (ring-634) 1 3.00" in always
    assert choice.index("Road tyre 15 (tyre-15) 60.00") < choice.index("(tyre-15-gravel) 70.00")


def test_offers_work_and_what_comes_off(run: CommandLine) -> None:
    page = flat(run("needed", "caliper-big", *CAR).stdout)
    assert "WORTH OFFERING" in page
    assert "Rubber mat (mat-rubber) 12.00 A tray of fluid is easily spilt." in page
    assert "1 h 15 min Trim the splash shields (trim-shield)" in page
    assert "2 Stock caliper (caliper-stock) Big caliper takes its place." in page


def test_a_stock_part_that_will_do_is_named_before_what_could_replace_it(run: CommandLine) -> None:
    page = flat(run("needed", "hub-cap", *CAR).stdout)
    will_do = page.split("THE STOCK PART WILL DO")[1]
    on_the_car = "On the car: Stock steel wheel (wheel-stock). Instead of it:"
    assert f"it clips into a wheel. {on_the_car}" in will_do
    assert "Gravel wheel 15 (wheel-15) 100.00" in will_do


def test_nothing_needed_is_said_plainly(run: CommandLine) -> None:
    page = flat(run("needed", "mat-rubber", *CAR).stdout)
    assert "Rubber mat (mat-rubber) goes on this car, and nothing has to be bought" in page


def test_a_cart_that_clashes_is_a_no_with_the_part_alone_below(run: CommandLine) -> None:
    found = run("needed", "caliper-big", *CAR, "--cart", "wheel-stock")
    page = flat(found.stdout)
    assert found.exit_code == 1
    assert "goes on this car, but not together with the cart." in page
    assert page.index("CLASHES WITH THE CART") < page.index("ALWAYS NEEDED")
    assert "What follows is for the part alone, without the cart." in page


def test_a_cart_that_goes_with_it_counts_as_there(run: CommandLine) -> None:
    alone = run("needed", "wheel-15", *CAR).stdout
    with_tyres = run("needed", "wheel-15", *CAR, "--cart", "tyre-15")
    assert with_tyres.exit_code == 0
    assert "CHOICE" in alone
    assert "CHOICE" not in with_tyres.stdout


def test_a_part_that_is_not_for_this_car(tmp_path: Path) -> None:
    text = """
catalog: {name: Shop}
vehicles:
  a: {name: A, years: 2015-2016, variants: {v: {name: one, engine: e}}}
  b: {name: B, years: 2015-2016, variants: {v: {name: one, engine: e}}}
parts:
  hook: {kind: item, name: Tow hook, fits: [{vehicles: [b]}]}
"""
    run = CommandLine(write(tmp_path, text))
    found = run("needed", "hook", "--vehicle", "a", "--year", "2015")
    assert found.exit_code == 1
    assert "No: Tow hook (hook) cannot go on this car." in found.stdout
    assert "WHAT CANNOT HOLD TOGETHER" in found.stdout


def test_json_is_the_answer_itself(run: CommandLine) -> None:
    found = run("needed", "caliper-big", *CAR, "--cart", "tyre-15", "--json")
    question = Question(
        vehicle="tern", year=2015, variant="t12", picks=(Item(part="tyre-15"),)
    )
    expected = needed(load(run.folder), "caliper-big", question)
    assert Needed.model_validate_json(found.stdout) == expected


@pytest.mark.parametrize("columns", [80, 120])
@pytest.mark.parametrize("part", ["caliper-big", "wheel-15"])
def test_a_page_never_exceeds_its_width(run: CommandLine, columns: int, part: str) -> None:
    page = run("needed", part, *CAR, columns=columns).stdout
    assert max(map(len, page.splitlines())) <= columns
    assert "…" not in page
