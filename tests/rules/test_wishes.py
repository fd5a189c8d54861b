"""What the asker does not want is honoured, checked, and explained where it cannot be."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from pydantic import ValidationError

from kb.catalogue import Catalogue, load_texts
from kb.errors import QuestionError
from rules import answers as a
from rules.resolve import package
from rules.verify import verify
from tests.support.oracle import TooLarge
from tests.support.wishful import wishful

LEVELS = ("unpriced", "money")


def compare(first: int, last: int) -> tuple[int, int]:
    """Hold the packages of a row against all there are; how many were possible, and impossible."""
    possible = impossible = 0
    for seed in range(first, last):
        made = wishful(seed)
        try:
            expected = made.findings(made.keys)
        except TooLarge:
            continue
        answer = package(made.catalogue, made.question())
        assert (answer.totals is not None) == expected.possible, seed
        if answer.totals is None:
            impossible += 1
            assert answer.clashes, seed
            continue
        possible += 1
        cents = int(Decimal(answer.totals.price) * 100)
        assert [len(answer.totals.unpriced), cents] == list(expected.least(LEVELS)), seed
        new = {line.part for line in answer.lines if line.status != "kept"}
        steps = {work.step for work in answer.work}
        assert any(new == w.new and steps == w.steps for w, _ in expected.packages), seed
    return possible, impossible


def test_the_package_is_the_least_of_those_that_grant_every_wish() -> None:
    possible, impossible = compare(0, 150)
    assert possible >= 30
    assert impossible >= 30


@pytest.mark.slow
@pytest.mark.parametrize("start", range(150, 2150, 400))
def test_a_long_row_of_wishes_agrees(start: int) -> None:
    compare(start, start + 400)


SHOP = """
catalog: {name: Shop, labour_rate: "60.00 EUR"}
vehicles:
  tern:
    name: Tern
    years: 2015
    variants: {p: {name: P, engine: e1}}
    places: {seat: {}, floor: {}, roof: {}}
    fitted: {seat: stock-seat, floor: stock-mat}
parts:
  stock-seat: {kind: item, name: Stock seat, takes: [seat], fits: [{}], orderable: false}
  stock-mat: {kind: item, name: Stock mat, takes: [floor], fits: [{}], orderable: false}
  shell: {kind: item, name: Shell seat, takes: [seat], fits: [{}], price: 500.00 EUR,
          requires: [{parts: [plain-rail, fine-rail]}], work: [{steps: [cut, shim]}]}
  plain-rail: {kind: item, name: Plain rail, maker: Fellrim, price: 40.00 EUR, clears: [floor]}
  fine-rail: {kind: item, name: Fine rail, maker: Tarnworks, price: 90.00 EUR}
work:
  cut: {name: Cut the floor, effect: room, minutes: 10 min, reversible: false}
  shim: {name: Shim the rails, effect: room, minutes: 30 min, reversible: true}
"""


@pytest.fixture(scope="module")
def shop() -> Catalogue:
    return load_texts({"shop.yaml": SHOP})


def shell(**more: Any) -> a.Question:
    return a.Question(
        vehicle="tern", picks=(a.Item(part="shell"),), **{"alternatives": False, **more}
    )


def contents(answer: a.Package) -> set[str]:
    return {line.part for line in answer.lines} | {work.step for work in answer.work}


GRANTED = [
    ({}, {"shell", "plain-rail", "cut"}, "550.00"),
    ({"keep": ("floor",)}, {"shell", "fine-rail", "cut"}, "600.00"),
    ({"avoid": ("plain-rail",)}, {"shell", "fine-rail", "cut"}, "600.00"),
    ({"avoid_makers": ("Fellrim",)}, {"shell", "fine-rail", "cut"}, "600.00"),
    ({"refuse_work": ("cut",)}, {"shell", "plain-rail", "shim"}, "570.00"),
    ({"reversible_only": True}, {"shell", "plain-rail", "shim"}, "570.00"),
    ({"budget": "550.00"}, {"shell", "plain-rail", "cut"}, "550.00"),
]
"""Wishes, and by hand what the least package then is: labour at 1.00 a minute."""


@pytest.mark.parametrize(("wish", "expected", "price"), GRANTED)
def test_each_wish_is_granted_at_the_least_cost(
    shop: Catalogue, wish: dict[str, Any], expected: set[str], price: str
) -> None:
    answer = package(shop, shell(**wish))
    assert contents(answer) == expected
    assert answer.totals is not None
    assert answer.totals.price == price


@pytest.mark.parametrize(("wish", "fault"), [
    ({"keep": ("floor",)}, "'stock-mat' comes off 'floor', where it is to stay"),
    ({"keep": ("floor",)}, "'plain-rail' displaces what is to stay in 'floor'"),
    ({"avoid": ("plain-rail",)}, "'plain-rail' is not wanted"),
    ({"avoid_makers": ("Fellrim",)}, "'plain-rail' is made by Fellrim, of whom nothing is wanted"),
    ({"refuse_work": ("cut",)}, "the work 'cut' is refused"),
    ({"reversible_only": True}, "the work 'cut' cannot be undone"),
    ({"budget": "549.99"}, "550.00 is more than the budget of 549.99"),
])
def test_the_recheck_refuses_a_package_against_each_wish(
    shop: Catalogue, wish: dict[str, Any], fault: str
) -> None:
    """A package found without the wish is held against the question with it."""
    answer = package(shop, shell())
    assert verify(shop, answer, shell()) == []
    assert fault in verify(shop, answer, shell(**wish))


def test_nothing_to_measure_is_a_wish_too(shop: Catalogue) -> None:
    unsure = load_texts({"shop.yaml": SHOP.replace("takes: [seat], fits: [{}], price", (
        "takes: [seat], price"))})
    answer = package(unsure, shell())
    assert answer.outcome == "complete_once_measured"
    fault = "something is left to measure, which was not wanted"
    assert fault in verify(unsure, answer, shell(certain_only=True))
    assert package(unsure, shell(certain_only=True)).outcome == "impossible"


@pytest.mark.parametrize(("wish", "said"), [
    ({"keep": ("seat",)}, "the stock part in the place 'seat' is to stay"),
    ({"avoid": ("shell",)}, "Shell seat is not wanted"),
    ({"avoid_makers": ("Fellrim", "Tarnworks")}, "nothing made by Tarnworks is wanted"),
    ({"refuse_work": ("cut", "shim")}, "the work 'Shim the rails' is refused"),
    ({"reversible_only": True, "refuse_work": ("shim",)}, "work that cannot be undone is refused"),
    ({"budget": "500"},
     "the least package costs 550.00 EUR, 50.00 EUR more than the budget of 500.00 EUR"),
])
def test_a_wish_that_cannot_be_granted_is_in_the_clash(
    shop: Catalogue, wish: dict[str, Any], said: str
) -> None:
    answer = package(shop, shell(**wish))
    assert answer.outcome == "impossible"
    assert said in [member.text for member in answer.clashes[0].members]


@pytest.mark.parametrize(("wish", "field", "nearest"), [
    ({"keep": ("floors",)}, "keep.0", "floor"),
    ({"keep": ("floor", "roof")}, "keep.1", ""),
    ({"avoid": ("shel",)}, "avoid.0", "shell"),
    ({"avoid_makers": ("Felrim",)}, "avoid_makers.0", "Fellrim"),
    ({"refuse_work": ("cuts",)}, "refuse_work.0", "cut"),
])
def test_a_wish_for_what_is_not_known_is_said_to_be_one(
    shop: Catalogue, wish: dict[str, Any], field: str, nearest: str
) -> None:
    with pytest.raises(QuestionError) as error:
        package(shop, shell(**wish))
    assert (error.value.field, error.value.nearest) == (field, nearest)


@pytest.mark.parametrize("budget", ["-1", "1.234", "1e3", "nan", "", "12345678"])
def test_a_budget_is_a_plain_sum_of_money(budget: str) -> None:
    with pytest.raises(ValidationError):
        shell(budget=budget)


def test_of_two_wishes_against_one_part_a_clash_names_the_one_that_suffices(
    shop: Catalogue,
) -> None:
    """The fine rail is the only one left, and nothing by its maker is wanted in any case."""
    answer = package(shop, shell(
        avoid=("plain-rail", "fine-rail"), avoid_makers=("Tarnworks",),
    ))
    members = [{m.statement for m in clash.members if m.type == "wish"} for clash in answer.clashes]
    assert len(members) == 2
    assert {"wish:avoid:plain-rail", "wish:avoid_makers:Tarnworks"} in members
    assert {"wish:avoid:plain-rail", "wish:avoid:fine-rail"} in members
    given_up = [{c.by for c in way.changes if c.wish} for way in answer.ways_out]
    assert [by for by in given_up if by] == [{"plain-rail"}, {"fine-rail", "Tarnworks"}]
