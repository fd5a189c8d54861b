"""Stories of `kitwright package`: a parts counter asks, reads the list and orders from it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from api.text_package import proof_line
from kb.catalogue import load
from rules.answers import Item, Package, Proof, Question
from rules.resolve import package
from tests.support.cli_catalogue import CAR, LONG_ID, write
from tests.support.command_line import CommandLine, flat


@pytest.fixture
def run(tmp_path: Path) -> CommandLine:
    return CommandLine(write(tmp_path / "shop"))


# -- the order --------------------------------------------------------------------------------


def test_the_order_lists_packs_names_ids_reasons_and_prices(run: CommandLine) -> None:
    found = run("package", "wheel-15", "tyre-15", *CAR)
    page = flat(found.stdout)
    assert found.exit_code == 0
    assert page.startswith("Tern 1.2 petrol, 2015 (tern/t12/2015) Yes: the list is complete")
    assert "2 Gravel wheel 15 (wheel-15), Fellrim 200.00" in page
    assert "2 packs of 6 Ball-seat nut (nut-ball) 12.00 need 8" in page
    assert "4 spare" in page
    assert "It centres the 63.4 mm bore on the 56.1 mm hub." in page


def test_picks_come_first_then_what_is_needed_then_what_was_chosen(run: CommandLine) -> None:
    page = run("package", "wheel-15", *CAR).stdout
    titles = ["Asked for", "Needed as well", "Chosen, where there was a choice"]
    assert sorted(titles, key=page.index) == titles
    assert page.index("(wheel-15)") < page.index("(nut-ball)") < page.index("(tyre-15)")


def test_a_choice_names_what_else_would_do_and_the_difference(run: CommandLine) -> None:
    page = flat(run("package", "wheel-15", *CAR).stdout)
    assert "or instead: Gravel tyre 15 (tyre-15-gravel), +20.00" in page
    quick = flat(run("package", "wheel-15", *CAR, "--no-alternatives").stdout)
    assert "or instead: Gravel tyre 15 (tyre-15-gravel)" in quick
    assert "+20.00" not in quick


def test_a_kit_is_ordered_once_and_its_contents_stand_below_it(run: CommandLine) -> None:
    page = flat(run("package", "caliper-big", *CAR).stdout)
    assert "2 Big caliper (caliper-big), comes in kit-big in kit" in page
    assert "1 Big brake kit (kit-big) 460.00 It brings 3 parts of this list." in page
    below = page.split("Comes in the kit Big brake kit (kit-big)")[1]
    assert "4 Caliper bolt (bolt-caliper) in kit Two bolts hold each caliper." in below


def test_below_a_picked_kit_stands_what_its_contents_are_for(run: CommandLine) -> None:
    page = flat(run("package", "kit-big", *CAR).stdout)
    assert "1 Big brake kit (kit-big) 460.00 It brings 3 parts of this list." in page
    assert "2 Disc 280 (disc-280) in kit The caliper is made for a 280 mm disc." in page
    assert "contains" not in page


def test_what_comes_off_says_where_from_and_for_what(run: CommandLine) -> None:
    page = flat(run("package", "caliper-big", *CAR).stdout)
    assert "2 Stock caliper (caliper-stock): front caliper makes room for Big caliper" in page
    assert "8 Stock nut (nut-stock): front wheel nuts makes room for Ball-seat nut" in page


def test_work_says_time_effect_caution_and_that_it_cannot_be_undone(run: CommandLine) -> None:
    page = flat(run("package", "caliper-big", *CAR).stdout)
    assert "1 h 15 min Trim the splash shields (trim-shield)" in page
    assert "Effect: the shield clears the larger disc. It cannot be undone." in page
    assert page.count("Wear eye protection.") == 1  # with the work, not again among the rest


def test_totals_add_up_and_the_proof_says_what_was_proven(run: CommandLine) -> None:
    """2 x 30 min of fitting + 75 min of work at 60.00 an hour = 135.00; kit, wheels, tyres, rings
    and nuts = 460 + 200 + 120 + 6 + 12 = 798.00 (sums by hand)."""
    page = flat(run("package", "caliper-big", *CAR).stdout)
    assert "Parts 798.00 Labour 135.00 Total EUR 933.00 Time 2 h 15 min" in page
    assert "no list costs less" in page


def test_what_has_no_price_is_not_hidden_in_the_total(run: CommandLine) -> None:
    page = flat(run("package", "gift", *CAR).stdout)
    assert "Unpriced thing (gift) no price" in page
    assert "Not in the total, because the catalogue has no price: Unpriced thing (gift)." in page


def test_what_is_on_hand_costs_nothing_and_what_is_left_of_it_is_said(run: CommandLine) -> None:
    page = flat(run("package", "wheel-15", "tyre-15", *CAR, "--on-hand", "ring-634=5").stdout)
    assert "2 Ring 63.4 to 56.1 (ring-634) on hand" in page
    assert "On hand and not used: 3 of ring-634." in page


def test_part_of_a_line_on_hand_is_taken_off_the_order(run: CommandLine) -> None:
    page = flat(run("package", "wheel-15", "tyre-15", *CAR, "--on-hand", "nut-ball=3").stdout)
    assert "1 pack of 6 Ball-seat nut (nut-ball) 6.00 need 8" in page
    assert "3 on hand" in page


def test_an_amount_may_be_given_in_pieces_or_in_the_unit_it_is_sold_by(run: CommandLine) -> None:
    litres = run("package", "grease=0.7L", *CAR).stdout
    assert "2 packs of 0.5 L" in litres
    assert run("package", "grease=700 mL", *CAR).stdout == litres
    assert run("package", "grease=0.7", *CAR).stdout == litres


# -- what is not certain, or not possible -----------------------------------------------------


def test_what_must_be_measured_stands_before_the_order(run: CommandLine) -> None:
    found = run("package", "mat-plain", *CAR)
    page = found.stdout
    assert found.exit_code == 0
    assert "Not certain yet: the list is complete once the question below is answered" in flat(page)
    assert page.index("ASK OR MEASURE FIRST") < page.index("THE ORDER")
    assert "1. Trial fit of Plain mat on Tern" in flat(page)


def test_an_impossible_wish_is_answered_by_the_statements_that_clash(run: CommandLine) -> None:
    found = run("package", "caliper-big", "wheel-stock", *CAR)
    page = flat(found.stdout)
    assert found.exit_code == 1
    assert "No: this cannot all go on this car." in page
    assert "1. You asked for Big caliper. 2. You asked for Stock steel wheel. 3." in page
    assert "a 14 inch wheel does not go over it. [measured; shop car 3]" in page
    assert "THE ORDER" not in page


# -- reasons ----------------------------------------------------------------------------------


def test_why_prints_the_whole_chain_and_every_check(run: CommandLine) -> None:
    short = flat(run("package", "caliper-big", *CAR).stdout)
    full = flat(run("package", "caliper-big", *CAR, "--why").stdout)
    chain = (
        "because you asked for Big caliper and Big caliper cannot be combined with Stock steel "
        "wheel: a 14 inch wheel does not go over it [measured; shop car 3]"
    )
    assert chain in full
    assert chain not in short
    assert "Formula: bore - spigot" in full
    assert "margin 7.3 mm" in full  # 63.4 - 56.1, by hand
    assert "(--why shows each)" in short


@pytest.mark.parametrize(
    ("proof", "unpriced", "said"),
    [
        (Proof(least=False, by=("money",)), (), "best list found in the time given"),
        (Proof(least=True, by=("money", "open")), (), "no list costs less"),
        (Proof(least=True, by=("minutes", "unpriced")), ("gift",), "no list takes less time."),
        (
            Proof(least=True, by=("unpriced", "money", "open")), ("gift",),
            "no list costs less (parts in whole packs, and labour), "
            "of those with as few unpriced parts.",
        ),
    ],
)
def test_the_proof_claims_no_more_than_was_proven(
    proof: Proof, unpriced: tuple[str, ...], said: str
) -> None:
    assert said in proof_line(proof, unpriced)


# -- for programs, and for paper --------------------------------------------------------------


def test_json_is_the_answer_itself(run: CommandLine) -> None:
    found = run("package", "wheel-15=2", *CAR, "--json", "--prefer", "fewest_parts")
    question = Question(
        vehicle="tern", year=2015, variant="t12", picks=(Item(part="wheel-15", qty=2),),
        prefer="fewest_parts",
    )
    assert Package.model_validate_json(found.stdout) == package(load(run.folder), question)


@pytest.mark.parametrize("columns", [60, 80, 120, 300])
@pytest.mark.parametrize(
    "picks", [("caliper-big",), ("wheel-15", LONG_ID), ("caliper-big", "wheel-stock")]
)
@pytest.mark.parametrize("why", [(), ("--why",)])
def test_a_page_never_exceeds_its_width_and_cuts_nothing_off(
    run: CommandLine, columns: int, picks: tuple[str, ...], why: tuple[str, ...]
) -> None:
    page = run("package", *picks, *CAR, *why, columns=columns).stdout
    assert max(map(len, page.splitlines())) <= min(columns, 120)
    assert "…" not in page
    if LONG_ID in picks:
        assert LONG_ID in "".join(page.split())


def test_figures_of_the_order_end_in_one_column(run: CommandLine) -> None:
    page = run("package", "wheel-15", "tyre-15", "grease", *CAR).stdout
    order = page.split("THE ORDER")[1].split("COMES OFF")[0]
    ends = {len(line) for line in order.splitlines() if line.endswith(".00")}
    assert ends == {80}


def test_a_wide_page_has_a_column_of_reasons(run: CommandLine) -> None:
    assert "Because" in run("package", "wheel-15", *CAR, columns=120).stdout
    assert "Because" not in run("package", "wheel-15", *CAR, columns=80).stdout


def test_a_name_cannot_steer_the_terminal(run: CommandLine) -> None:
    page = run("package", "odd", *CAR).stdout
    assert "\x1b" not in page
    assert "Odd [31mname (odd)" in page


def test_piped_through_a_real_process(run: CommandLine) -> None:
    command = [
        sys.executable, "-m", "api.cli", "package", "caliper-big", *CAR,
        "--catalog", str(run.folder),
    ]
    root = Path(__file__).parents[2]
    found = subprocess.run(command, cwd=root, capture_output=True, encoding="utf-8", check=False)
    assert (found.returncode, found.stderr) == (0, "")
    assert "\x1b" not in found.stdout
    assert max(map(len, found.stdout.splitlines())) <= 80
    assert "Big brake kit (kit-big)" in found.stdout
