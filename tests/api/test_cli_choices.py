"""Stories of `kitwright options`, `offers`, `verify`, and of wishes and a budget on `package`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from kb.catalogue import load
from rules.answers import Front, Item, Options, Package, Question, Recheck
from rules.front import front
from rules.options import options
from tests.support.cli_catalogue import CAR, TEXT, write
from tests.support.command_line import CommandLine, flat

CHEAPER = """
  disc-280-light: {kind: brake-disc, name: Light disc 280, maker: Fellrim, takes: [front-disc],
                   fits: [{vehicles: [tern]}], price: "300.00 EUR", mass: 3 kg,
                   dimensions: {diameter: "280 mm"}}
work:"""


@pytest.fixture
def run(tmp_path: Path) -> CommandLine:
    """The counter's catalogue with one dear and light disc more."""
    text = TEXT.replace("price: \"45.00 EUR\"", "mass: 5 kg, price: \"45.00 EUR\"")
    return CommandLine(write(tmp_path / "shop", text.replace("\nwork:", CHEAPER, 1)))


def asked(*picks: str) -> Question:
    return Question(
        vehicle="tern", year=2015, variant="t12", picks=tuple(Item(part=p) for p in picks),
    )


# -- options ----------------------------------------------------------------------------------


def test_options_list_each_place_with_what_can_be_there(run: CommandLine) -> None:
    found = run("options", "caliper-big", *CAR)
    page = flat(found.stdout)
    assert found.exit_code == 0
    assert "Big caliper (caliper-big) has to be there 200.00" in page
    assert "Disc 280 (disc-280) possible 45.00" in page
    assert "Light disc 280 (disc-280-light) possible 300.00" in page


def test_what_cannot_be_there_is_counted_and_shown_on_demand(run: CommandLine) -> None:
    words = ("options", "caliper-big", *CAR, "--place", "front-wheel")
    short, full = flat(run(*words).stdout), flat(run(*words, "--every").stdout)
    assert "cannot be there (--every shows them)" in short
    assert "Stock steel wheel (wheel-stock)" not in short
    assert "Stock steel wheel (wheel-stock) not possible" in full
    assert "front caliper" not in full


def test_why_not_is_answered_by_a_clash(run: CommandLine) -> None:
    page = flat(run("options", "caliper-big", *CAR, "--why-not", "wheel-stock",
                    "--why-not", "wheel-15").stdout)
    assert "a 14 inch wheel does not go over it" in page.split("WHY NOT STOCK STEEL WHEEL")[1]
    assert "It can be there." in page.split("WHY NOT GRAVEL WHEEL 15")[1]


def test_options_of_what_is_impossible_leave_with_no_and_the_clash(run: CommandLine) -> None:
    found = run("options", "caliper-big", "wheel-stock", *CAR)
    assert found.exit_code == 1
    assert "No: this cannot all go on this car." in flat(found.stdout)
    assert "You asked for Big caliper." in flat(found.stdout)


# -- offers -----------------------------------------------------------------------------------


def test_offers_stand_side_by_side_and_say_whether_they_are_all(run: CommandLine) -> None:
    every = run("offers", "caliper-big", *CAR, "--most", "20")
    page = flat(every.stdout)
    assert every.exit_code == 0
    assert "Disc 280" in page
    assert "Light disc 280" in page
    assert "These are all" in page
    assert "There may be more" in flat(run("offers", "caliper-big", *CAR, "--most", "1").stdout)


def test_offers_of_what_is_impossible_leave_with_no(run: CommandLine) -> None:
    found = run("offers", "caliper-big", "wheel-stock", *CAR)
    assert found.exit_code == 1
    assert "You asked for Big caliper." in flat(found.stdout)


# -- wishes and budget ------------------------------------------------------------------------


def test_wishes_change_the_package(run: CommandLine) -> None:
    plain = flat(run("package", "caliper-big", *CAR).stdout)
    assert "Disc 280 (disc-280)" in plain
    other = flat(run("package", "caliper-big", *CAR, "--avoid", "disc-280").stdout)
    assert "Light disc 280 (disc-280-light)" in other
    assert "(disc-280)" not in other


@pytest.mark.parametrize(("wish", "clash", "way"), [
    (("--reversible-only",), "Work that cannot be undone is refused.",
     "Give up that work that cannot be undone is refused."),
    (("--refuse-work", "trim-shield"), "The work 'Trim the splash shields' is refused.",
     "Give up that the work 'Trim the splash shields' is refused."),
    (("--keep", "front-disc"), "The stock part in the place 'front disc' is to stay.",
     "Give up that the stock part in the place 'front disc' is to stay."),
    (("--avoid-maker", "Fellrim"), "Nothing made by Fellrim is wanted.",
     "Give up that nothing made by Fellrim is wanted."),
    (("--budget", "500"), "more than the budget of 500.", "Raise the budget to"),
])
def test_a_wish_in_the_way_is_said_and_so_is_the_way_out(
    run: CommandLine, wish: tuple[str, ...], clash: str, way: str
) -> None:
    found = run("package", "caliper-big", *CAR, *wish, "--why")
    page = flat(found.stdout)
    assert found.exit_code == 1
    before, after = page.split("WAYS OUT")
    assert clash in before
    assert way in after
    assert "Leave out Big caliper. The least package then comes to 0.00 EUR." in after


def test_a_budget_that_is_enough_is_kept_to(run: CommandLine) -> None:
    total = flat(run("package", "caliper-big", *CAR).stdout).split("Total EUR ")[1].split()[0]
    assert run("package", "caliper-big", *CAR, "--budget", total).exit_code == 0
    cent_less = f"{float(total) - 0.01:.2f}"
    assert run("package", "caliper-big", *CAR, "--budget", cent_less).exit_code == 1


def test_options_and_offers_take_the_wishes_of_a_package(run: CommandLine) -> None:
    place = ("--place", "front-disc", "--every")
    shown = flat(run("options", "caliper-big", *CAR, "--avoid", "disc-280", *place).stdout)
    assert "Disc 280 (disc-280) not possible" in shown
    assert "Light disc 280 (disc-280-light) has to be there" in shown
    offered = json.loads(
        run("offers", "caliper-big", *CAR, "--avoid", "disc-280", "--json").stdout)
    lines = [{line["part"] for line in each["lines"]} for each in offered["packages"]]
    assert lines
    assert all("disc-280-light" in parts and "disc-280" not in parts for parts in lines)


def test_what_is_on_hand_counts_for_offers(run: CommandLine) -> None:
    words = ("offers", "caliper-big", *CAR, "--most", "1", "--json")
    plain, there = (
        json.loads(run(*words, *more).stdout)["packages"][0]
        for more in ((), ("--on-hand", "disc-280=2"))
    )
    assert [line["status"] for line in there["lines"] if line["part"] == "disc-280"] == ["on_hand"]
    assert float(there["totals"]["price"]) < float(plain["totals"]["price"])


def test_offers_keep_to_a_budget_and_options_say_that_they_leave_it_aside(
    run: CommandLine,
) -> None:
    assert "more than the budget of 500.00 EUR" in flat(
        run("offers", "caliper-big", *CAR, "--budget", "500").stdout)
    options = run("options", "caliper-big", *CAR, "--budget", "500")
    assert options.exit_code == 0
    assert "The budget is left aside here" in flat(options.stdout)
    assert "budget" not in flat(run("options", "caliper-big", *CAR).stdout)
    wrong = run("options", "caliper-big", *CAR, "--budget", "much")
    assert wrong.exit_code == 2
    assert "(--budget)" in wrong.stderr


# -- verify -----------------------------------------------------------------------------------


def answer_file(run: CommandLine, folder: Path, *words: str) -> Path:
    path = folder / "answer.json"
    path.write_text(run("package", *words, *CAR, "--json").stdout, encoding="utf-8")
    return path


def changed(path: Path, **fields: Any) -> Path:
    path.write_text(json.dumps({**json.loads(path.read_text()), **fields}), encoding="utf-8")
    return path


@pytest.mark.parametrize("picks", [("caliper-big",), ("caliper-big", "wheel-stock")])
def test_a_true_answer_holds(run: CommandLine, tmp_path: Path, picks: tuple[str, ...]) -> None:
    found = run("verify", str(answer_file(run, tmp_path, *picks)))
    assert (found.exit_code, found.stdout) == (0, "The answer holds.\n")


def test_a_changed_answer_does_not_hold_and_each_fault_is_said(
    run: CommandLine, tmp_path: Path
) -> None:
    path = answer_file(run, tmp_path, "caliper-big")
    found = run("verify", str(changed(path, work=[])))
    assert found.exit_code == 1
    assert found.stdout.startswith("The answer does not hold:\n - ")
    assert "takes the work trim-shield" in found.stdout


def test_an_answer_from_yesterdays_catalogue_does_not_hold(
    run: CommandLine, tmp_path: Path
) -> None:
    path = answer_file(run, tmp_path, "caliper-big")
    newer = (run.folder / "counter.yaml").read_text().replace("300.00", "290.00")
    (run.folder / "counter.yaml").write_text(newer)
    found = run("verify", str(path))
    assert found.exit_code == 1
    assert "the answer is from catalogue" in found.stdout


@pytest.mark.parametrize("text", ["", "{", "[]", '{"outcome": "complete"}', "null", "\x00"])
def test_what_is_no_answer_is_said_to_be_none(
    run: CommandLine, tmp_path: Path, text: str
) -> None:
    path = tmp_path / "answer.json"
    path.write_text(text)
    found = run("verify", str(path))
    assert found.exit_code == 2
    assert "is not an answer" in found.stderr
    assert found.stderr.count("\n") == 1


def test_a_file_that_is_not_there_is_a_wrong_question(run: CommandLine, tmp_path: Path) -> None:
    assert run("verify", str(tmp_path / "none.json")).exit_code == 2


# -- errors, programs and paper ---------------------------------------------------------------


@pytest.mark.parametrize(("words", "said"), [
    (("options", "caliper-bug", *CAR), "there is no part 'caliper-bug'"),
    (("options", *CAR, "--place", "front-whel"), "did you mean 'front-wheel'?"),
    (("options", *CAR, "--why-not", "disc-208"), "did you mean 'disc-280'?"),
    (("offers", "caliper-bug", *CAR), "did you mean 'caliper-big'?"),
    (("offers", "caliper-big", *CAR, "--most", "0"), "0 is not in the range"),
    (("package", "caliper-big", *CAR, "--keep", "front-disk"), "did you mean 'front-disc'?"),
    (("package", "caliper-big", *CAR, "--keep", "mat"), "no stock part in the place 'mat'"),
    (("package", "caliper-big", *CAR, "--avoid", "disc-208"), "did you mean 'disc-280'?"),
    (("package", "caliper-big", *CAR, "--avoid-maker", "Felrim"), "did you mean 'Fellrim'?"),
    (("package", "caliper-big", *CAR, "--refuse-work", "trim"), "there is no work step 'trim'"),
    (("package", "caliper-big", *CAR, "--budget", "lots"),
     "'lots' is not a sum of money, such as 1500.00 (--budget)"),
    (("package", "caliper-big", *CAR, "--prefer", "offer"), "'offer' is not one of"),
])
def test_a_wrong_question_is_said_in_one_line(
    run: CommandLine, words: tuple[str, ...], said: str
) -> None:
    found = run(*words)
    assert (found.exit_code, found.stdout) == (2, "")
    assert said in flat(found.stderr)
    assert "fault in" not in found.stderr


def test_json_is_the_answer_itself(run: CommandLine, tmp_path: Path) -> None:
    catalogue = load(run.folder)
    found = run("options", "caliper-big", *CAR, "--json", "--why-not", "wheel-stock")
    expected = options(catalogue, asked("caliper-big"), why=("wheel-stock",))
    assert Options.model_validate_json(found.stdout) == expected
    offers = run("offers", "caliper-big", *CAR, "--json")
    question = asked("caliper-big").model_copy(update={"alternatives": False})
    assert Front.model_validate_json(offers.stdout) == front(catalogue, question, 3)
    path = answer_file(run, tmp_path, "caliper-big")
    checked = run("verify", str(path), "--json")
    assert Recheck.model_validate_json(checked.stdout).holds
    assert Package.model_validate_json(path.read_bytes()).outcome == "complete"


PAGES = [
    ("options", "caliper-big", *CAR, "--every", "--why-not", "wheel-stock"),
    ("options", "caliper-big", "wheel-stock", *CAR),
    ("offers", "caliper-big", *CAR, "--most", "20"),
    ("package", "caliper-big", *CAR, "--budget", "500", "--why"),
    ("package", "caliper-big", *CAR, "--reversible-only", "--keep", "front-disc", "--why"),
]


@pytest.mark.parametrize("columns", [60, 80, 300])
@pytest.mark.parametrize("words", PAGES, ids=lambda words: " ".join(words[:2]))
def test_a_page_never_exceeds_its_width_and_cuts_nothing_off(
    run: CommandLine, columns: int, words: tuple[str, ...]
) -> None:
    found: Result = run(*words, columns=columns)
    assert max(map(len, found.stdout.splitlines())) <= min(columns, 120)
    assert "…" not in found.stdout
    assert "fault in" not in found.stderr
