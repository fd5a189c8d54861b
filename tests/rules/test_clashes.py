"""The clashes of impossible questions: real, irreducible, all of them, each once.

Three independent readings: the oracle, on a catalogue in which only a clash's own statements still
stand; another method on another solver for the listing of all; and what was asked, for budgets.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import product

import pytest

from kb.catalogue import load_texts
from rules import answers as a
from rules.asking import ask
from rules.clashes import smallest_clashes
from rules.naming import clash_of
from rules.resolve import MOST_CLASHES, package
from tests.support.all_clashes import TooMany, all_clashes
from tests.support.oracle import TooLarge
from tests.support.relaxed import Unfit, can_hold
from tests.support.wishful import Wishful, wishful

Keys = frozenset[str]
ROW = (0, 90)


@dataclass(frozen=True)
class Case:
    """An impossible question and every clash found for it."""

    made: Wishful
    clashes: tuple[a.Clash, ...]

    @property
    def keys(self) -> list[Keys]:
        return [frozenset(m.statement for m in clash.members) for clash in self.clashes]


@cache
def impossible(first: int, last: int) -> tuple[Case, ...]:
    return tuple(_impossible(first, last))


def _impossible(first: int, last: int) -> Iterator[Case]:
    for seed in range(first, last):
        made = wishful(seed)
        if found := listing(made):
            yield Case(made, found)


def listing(made: Wishful, most: int = 300) -> tuple[a.Clash, ...]:
    asked = ask(made.catalogue, made.question())
    found = smallest_clashes(asked.problem, asked.reasons, most, deadline=60)
    return tuple(map(clash_of, found))


def complete(first: int, last: int) -> int:
    compared = 0
    for case in impossible(first, last):
        asked = ask(case.made.catalogue, case.made.question())
        try:
            expected = all_clashes(asked)
        except TooMany:
            continue
        compared += 1
        assert len(case.keys) == len(set(case.keys)), case.made.seed
        assert one_by_one(case.clashes) == expected, case.made.seed
    return compared


def one_by_one(clashes: tuple[a.Clash, ...]) -> set[Keys]:
    """The clashes with every statement by itself, those that say the same one after the other."""
    return {
        frozenset(keys) for clash in clashes
        for keys in product(*((m.statement, *m.also) for m in clash.members))
    }


def real_and_irreducible(first: int, last: int) -> set[str]:
    """Check the clashes of a row; the sorts of statement that were struck out."""
    sorts: set[str] = set()
    for case in impossible(first, last):
        for keys in case.keys[:2]:
            try:
                assert not can_hold(case.made, keys, all_sold=False), (case.made.seed, keys)
                for key in sorted(keys):
                    assert can_hold(case.made, keys - {key}, all_sold=True), (case.made.seed, key)
                    sorts.add(key.partition(":")[0])
            except (TooLarge, Unfit):
                continue
    return sorts


def test_the_listing_holds_every_clash_and_each_once() -> None:
    assert complete(*ROW) >= 40
    assert max(len(case.clashes) for case in impossible(*ROW)) >= 10


@pytest.mark.slow
@pytest.mark.parametrize("start", range(90, 1290, 300))
def test_a_long_row_of_listings_is_complete(start: int) -> None:
    assert complete(start, start + 300) >= 100


def test_by_the_meaning_of_the_language_each_clash_is_real_and_irreducible() -> None:
    """Struck out of the catalogue's text, every other statement is seen to be beside the point."""
    assert real_and_irreducible(*ROW) >= {
        "pick", "wish", "need", "conflict", "place", "contents", "sale", "rule", "work",
    }


@pytest.mark.slow
@pytest.mark.parametrize("start", range(90, 1290, 300))
def test_a_long_row_of_clashes_is_irreducible(start: int) -> None:
    assert real_and_irreducible(start, start + 300) >= {"pick", "fit", "fits"}


def test_a_short_listing_is_the_beginning_of_the_long_one_and_says_that_there_is_more() -> None:
    more = 0
    for case in impossible(*ROW):
        assert listing(case.made, 3) == case.clashes[:3]
        answer = package(case.made.catalogue, case.made.question())
        assert set(answer.clashes) <= set(case.clashes)
        assert len(answer.clashes) == min(len(case.clashes), MOST_CLASHES)
        assert answer.more_clashes == (len(case.clashes) > MOST_CLASHES), case.made.seed
        lengths = [len(clash.members) for clash in answer.clashes]
        assert lengths == sorted(lengths)
        more += answer.more_clashes
    assert more >= 5


def test_the_same_question_has_the_same_clashes_on_a_catalogue_read_anew() -> None:
    for case in impossible(*ROW)[:30]:
        assert listing(wishful(case.made.seed)) == case.clashes


def test_where_the_statements_can_hold_the_picks_and_wishes_to_blame_are_found() -> None:
    """A budget: judged by trying every package, prices included."""
    seen = 0
    for seed in range(130):
        made = wishful(seed)
        answer = package(made.catalogue, made.question())
        if answer.outcome != "impossible":
            continue
        keys = [m.statement.removesuffix(":") if "budget" in m.statement else m.statement
                for m in answer.clashes[0].members]
        if "wish:budget" not in keys:
            continue
        seen += 1
        blamed = {key.replace("wish:budget", "budget") for key in keys}
        assert not made.findings(blamed).possible, seed
        for key in blamed:
            assert made.findings(blamed - {key}).possible, (seed, key)
    assert seen >= 5


BOTH = """
catalog: {name: Both}
vehicles: {tern: {name: Tern, years: 2015, variants: {p: {name: P, engine: e}}}}
parts:
  rail: {kind: item, name: Rail, price: 1.00 EUR, conflicts: [{part: mat, why: it lifts the mat}]}
  mat: {kind: item, name: Mat, price: 1.00 EUR, conflicts: [{part: rail, why: it hides the bolts},
        {part: hook, when: {present: [{part: cap}]}}]}
  hook: {kind: item, name: Hook, price: 1.00 EUR, conflicts: [{part: mat}]}
  cap: {kind: item, name: Cap, price: 1.00 EUR}
"""


def both(*picks: str) -> tuple[a.Clash, ...]:
    return package(load_texts({"both.yaml": BOTH}), a.Question(
        vehicle="tern", picks=tuple(a.Item(part=part) for part in picks))).clashes


def test_a_conflict_that_both_parts_state_is_one_clash_with_both_statements() -> None:
    (clash,) = both("rail", "mat")
    last = clash.members[-1]
    assert last.text == ("Mat cannot be combined with Rail: it hides the bolts; "
                         "Rail cannot be combined with Mat: it lifts the mat")
    assert {last.statement, *last.also} == {
        "conflict:part:mat/part:rail/conflicts/0", "conflict:part:rail/part:mat/conflicts/0"}


def test_conflicts_that_hold_on_different_terms_stay_apart() -> None:
    assert [len(clash.members) for clash in both("hook", "mat", "cap")] == [3, 4]
