"""Ways out of impossible questions, against giving up every set of picks, wishes and budget."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

import pytest

from kb.catalogue import load_texts
from rules import answers as a
from rules.asking import ask
from rules.resolve import package
from rules.ways_out import ways_out
from tests.support.oracle import TooLarge
from tests.support.wishful import Keys, Wishful, wishful

EVERY = 1000
ROW = (0, 120)


@dataclass(frozen=True)
class Case:
    """An impossible question, the ways out of it, and all that could be given up by the oracle."""

    made: Wishful
    ways: tuple[a.WayOut, ...]
    smallest: set[Keys]


@cache
def impossible(first: int, last: int) -> tuple[Case, ...]:
    return tuple(_impossible(first, last))


def _impossible(first: int, last: int) -> Iterator[Case]:
    for seed in range(first, last):
        made = wishful(seed)
        try:
            if made.findings(made.keys).possible:
                continue
            smallest = made.smallest_to_give_up()
        except TooLarge:
            continue
        yield Case(made, ways_out(ask(made.catalogue, made.question()), EVERY), smallest)


def given_up(way: a.WayOut) -> Keys:
    """The keys a way out gives up; a swap gives up none."""
    return frozenset(
        {"leave_out": f"pick:{c.part}", "raise_budget": "budget",
         "give_up_wish": f"wish:{c.wish}:{c.by or ''}"}[c.type]
        for c in way.changes if c.type != "swap"
    )


def changed(made: Wishful, way: a.WayOut) -> a.Question:
    """The question after the changes of a way out, applied by hand."""
    question = made.question().model_dump()
    for change in way.changes:
        if change.type in ("leave_out", "swap"):
            question["picks"] = [
                item for item in question["picks"]
                if made.oracle.newest(item["part"]) != change.part
            ]
            if change.type == "swap":
                qty = made.oracle.picks[change.part or ""]
                question["picks"].append({"part": change.by, "qty": float(qty)})
        elif change.type == "raise_budget":
            question["budget"] = change.by
        elif change.by is None:
            question[change.wish or ""] = False
        else:
            question[change.wish or ""] = [
                v for v in question[change.wish or ""] if v != change.by
            ]
    return a.Question.model_validate(question)


def compare(first: int, last: int) -> None:
    for case in impossible(first, last):
        sets = [given_up(way) for way in case.ways if given_up(way)]
        assert len(sets) == len(set(sets)), case.made.seed
        assert set(sets) == case.smallest, case.made.seed


def test_there_are_small_and_large_ways_out_of_every_sort() -> None:
    """Without this the tests below could pass for want of cases."""
    sets = [out for case in impossible(*ROW) for out in case.smallest]
    assert {1, 2, 3} <= {len(out) for out in sets}
    sorts = {key.rpartition(":")[0] if key.startswith("wish") else key[:4]
             for out in sets for key in out}
    assert sorts == {
        "pick", "budg", "wish:keep", "wish:avoid", "wish:avoid_makers", "wish:refuse_work",
        "wish:reversible_only",
    }


def test_every_smallest_set_to_give_up_is_found_and_no_other() -> None:
    compare(*ROW)


@pytest.mark.slow
@pytest.mark.parametrize("start", range(150, 1650, 300))
def test_a_long_row_of_ways_out_agrees(start: int) -> None:
    compare(start, start + 300)


def test_each_leads_to_the_package_it_says() -> None:
    swaps = 0
    for case in impossible(*ROW):
        for way in case.ways:
            swaps += way.changes[0].type == "swap"
            answer = package(case.made.catalogue, changed(case.made, way))
            assert answer.totals is not None, case.made.seed
            found = (answer.outcome, answer.totals.price, answer.totals.minutes)
            assert found == (way.outcome, way.price, way.minutes), case.made.seed
    assert swaps >= 3


def test_least_change_comes_first_then_least_price_and_none_holds_another() -> None:
    for case in impossible(*ROW):
        order = [(len(way.changes), Decimal(way.price)) for way in case.ways]
        assert order == sorted(order), case.made.seed
        sets = [set(way.changes) for way in case.ways]
        assert not any(one < other for one in sets for other in sets), case.made.seed


def test_a_raised_budget_is_raised_no_further_than_it_must_be() -> None:
    raised = 0
    for case in impossible(*ROW):
        for way in case.ways:
            for change in way.changes:
                if change.type == "raise_budget":
                    raised += 1
                    left = set(case.made.keys) - given_up(way)
                    _, least = case.made.findings(left).least(("unpriced", "money"))
                    assert Decimal(change.by or 0) * 100 == least, case.made.seed
    assert raised >= 5


SHOP = """
catalog: {name: Shop, labour_rate: "60.00 EUR"}
vehicles:
  tern:
    name: Tern
    years: 2015
    variants: {p: {name: P, engine: e1}}
    places: {seat: {}, floor: {}}
parts:
  dear-seat: {kind: item, name: Dear seat, takes: [seat], fits: [{}], price: 900.00 EUR}
  plain-seat: {kind: item, name: Plain seat, takes: [seat], fits: [{}], price: 200.00 EUR}
  bolt-a: {kind: bolt, name: Bolt A, price: 2.00 EUR, conflicts: [{part: plain-seat}]}
  bolt-b: {kind: bolt, name: Bolt B, price: 3.00 EUR}
  bolt-m: {kind: bolt, name: Bolt by the metre, price: 3.00 EUR, pack: 1 m}
  mat: {kind: item, name: Mat, takes: [floor], fits: [{}], price: 50.00 EUR}
  leftover: {kind: item, name: Leftover clip, orderable: false}
  old-rail: {kind: item, name: Old rail, price: 10.00 EUR, requires: [{part: leftover, each: 2}]}
  cheap-clip: {kind: item, name: Cheap clip, price: 1.00 EUR}
  good-clip: {kind: item, name: Good clip, price: 4.00 EUR}
  strip: {kind: seal, name: Strip, price: 10.00 EUR,
          requires: [{parts: [cheap-clip, good-clip], each: 2}]}
"""


def shop_answer(*picks: str, **more: object) -> a.Package:
    items = [
        {"part": part, "qty": float(qty) if qty else None}
        for part, _, qty in (pick.partition("=") for pick in picks)
    ]
    question = {"vehicle": "tern", "picks": items, "alternatives": False, **more}
    return package(load_texts({"shop.yaml": SHOP}), a.Question.model_validate(question))


def said(answer: a.Package) -> list[tuple[str, ...]]:
    return [tuple(change.text for change in way.changes) for way in answer.ways_out]


def test_an_amount_asked_for_is_kept_when_a_pick_is_swapped() -> None:
    answer = shop_answer("bolt-a=7", "plain-seat")
    (swap,) = [way for way in answer.ways_out if way.changes[0].by == "bolt-b"]
    assert swap.price == "221.00"  # 200.00 + 7 x 3.00, by hand
    assert "bolt-m" not in {c.by for way in answer.ways_out for c in way.changes}  # no 7 metres


def test_too_small_a_budget_is_raised_or_what_is_dear_left_out_or_swapped() -> None:
    answer = shop_answer("dear-seat", "mat", budget="300")
    assert said(answer) == [
        ("leave out Dear seat",), ("take Plain seat in place of Dear seat",),
        ("raise the budget to 950.00 EUR",),
    ]
    assert [way.price for way in answer.ways_out] == ["50.00", "250.00", "950.00"]


def test_the_clash_with_a_budget_names_only_what_is_too_dear() -> None:
    (clash,) = shop_answer("dear-seat", "mat", budget="300").clashes
    assert [member.text for member in clash.members] == [
        "you asked for Dear seat",
        "the least package costs 900.00 EUR, 600.00 EUR more than the budget of 300.00 EUR",
    ]


def test_wishes_that_make_a_budget_too_small_are_named_and_can_be_given_up() -> None:
    """The mat is beside the point; without the other wish the strip could have the cheap clip."""
    answer = shop_answer("strip", budget="15", avoid=["mat", "cheap-clip"])
    assert [member.text for member in answer.clashes[0].members] == [
        "you asked for Strip", "Cheap clip is not wanted",
        "the least package costs 18.00 EUR, 3.00 EUR more than the budget of 15.00 EUR",
    ]
    assert said(answer) == [
        ("leave out Strip",), ("give up that Cheap clip is not wanted",),
        ("raise the budget to 18.00 EUR",),
    ]


def test_too_little_on_hand_is_said_by_name_and_the_pick_can_be_left_out() -> None:
    on_hand = [{"part": "leftover", "qty": 1.0}]
    answer = shop_answer("old-rail", "mat", on_hand=on_hand)
    (clash,) = answer.clashes
    assert [member.text for member in clash.members] == [
        "you asked for Old rail",
        "there is too little of Leftover clip, which is on hand and cannot be ordered",
    ]
    assert ("leave out Old rail",) in said(answer)
    assert all(way.changes[0].part == "old-rail" for way in answer.ways_out)
