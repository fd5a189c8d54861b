"""The re-check of packages catches every way to spoil one.

Each package of a row of random catalogues, and of a hand-made one, is spoiled in all the ways of
tests/support/mutations.py. Where a spoiled package might by chance be another good one, the oracle
that tries every package says whether it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import pytest

from kb.baseline import find_baseline
from kb.catalogue import Catalogue
from rules import answers as a
from rules.resolve import package
from rules.verify import verify
from tests.support.asking import oracle_for
from tests.support.dice import SeededDice
from tests.support.mini import mini, mini_question
from tests.support.mutations import Mutant, Spoiler
from tests.support.oracle import TooLarge
from tests.support.small_catalogues import small_scenario

SEEDS = range(220)
ALWAYS_CAUGHT = (
    "dropped_lines", "dropped_work", "dropped_reasons", "fewer", "more_than_supplied",
    "false_sums", "put_back", "renamed",
)


@dataclass(frozen=True)
class Case:
    """A good package, how to spoil it, and the other good packages there are."""

    name: str
    catalogue: Catalogue
    question: a.Question
    spoiler: Spoiler
    others: frozenset[tuple[frozenset[str], frozenset[str]]]

    def faults(self, mutant: Mutant) -> list[str]:
        return verify(self.catalogue, mutant.package, self.question)


@cache
def random_cases() -> tuple[Case, ...]:
    return tuple(_random_cases())


def _random_cases() -> Iterator[Case]:
    for seed in SEEDS:
        scenario = small_scenario(SeededDice(seed))
        catalogue, question = scenario.catalogue(), scenario.question()
        answer = package(catalogue, question)
        if answer.outcome != "complete" or not answer.lines:
            continue
        try:
            oracle = oracle_for(catalogue, scenario)
            packages = oracle.findings().packages
        except TooLarge:
            continue
        others = frozenset((world.new, world.steps) for world, _ in packages)
        spoiler = Spoiler(catalogue, oracle.car, answer)
        yield Case(f"seed {seed}", catalogue, question, spoiler, others)


@cache
def mini_cases() -> tuple[Case, ...]:
    catalogue = mini()
    car = find_baseline(catalogue, "tern", 2015)
    found = []
    for part in ("k1", "big", "wheel15", "tyre15", "spacer", "nutb", "d280", "oil"):
        question = mini_question(part)
        answer = package(catalogue, question)
        assert answer.outcome != "impossible", part
        spoiler = Spoiler(catalogue, car, answer)
        found.append(Case(part, catalogue, question, spoiler, frozenset()))
    return tuple(found)


def all_cases() -> tuple[Case, ...]:
    return (*random_cases(), *mini_cases())


def test_there_is_enough_to_spoil() -> None:
    assert len(random_cases()) >= 80
    sizes = [len(case.spoiler.good.lines) for case in all_cases()]
    assert sum(size > 2 for size in sizes) >= 20


def test_good_packages_pass() -> None:
    for case in all_cases():
        assert verify(case.catalogue, case.spoiler.good, case.question) == [], case.name


@pytest.mark.parametrize("way", ALWAYS_CAUGHT)
def test_spoiled_packages_are_caught(way: str) -> None:
    spoiled = 0
    for case in all_cases():
        for mutant in getattr(case.spoiler, way)():
            spoiled += 1
            assert case.faults(mutant), f"{case.name}: {mutant.what}"
    assert spoiled >= 20


@pytest.mark.parametrize("way", ["swapped", "added"])
def test_another_part_is_caught_unless_it_is_just_as_good(way: str) -> None:
    """A swap of one good part for another is no fault; all others are."""
    caught = 0
    for case in random_cases():
        for mutant in getattr(case.spoiler, way)():
            if (mutant.new, mutant.steps) not in case.others:
                caught += 1
                assert case.faults(mutant), f"{case.name}: {mutant.what}"
    assert caught >= 200


@pytest.mark.parametrize(("pick", "conflicting"), [("big", "w-stock"), ("k1", "w-stock")])
def test_a_part_that_conflicts_is_caught(pick: str, conflicting: str) -> None:
    case = next(case for case in mini_cases() if case.name == pick)
    mutant = next(m for m in case.spoiler.added() if m.what == f"{conflicting} as well")
    assert any(f"conflicts with '{conflicting}'" in fault for fault in case.faults(mutant))


def test_one_too_many_is_caught_where_nothing_asks_for_it() -> None:
    for case in mini_cases():
        for mutant in case.spoiler.more():
            assert case.faults(mutant), f"{case.name}: {mutant.what}"


def test_a_stock_part_relied_on_must_be_said() -> None:
    case = next(case for case in mini_cases() if case.name == "spacer")
    (mutant,) = case.spoiler.dropped_kept_lines()
    assert case.faults(mutant) == ["'spacer' relies on a stock part that is not listed"]


def test_a_lost_caution_is_caught() -> None:
    case = next(case for case in mini_cases() if case.name == "big")
    (mutant,) = case.spoiler.dropped_cautions()
    faults = case.faults(mutant)
    assert "a caution of 'big' is missing" in faults
    assert "a caution of the work 'move-hose' is missing" in faults


def test_an_answer_from_another_catalogue_is_not_even_looked_at() -> None:
    one, other = random_cases()[:2]
    assert verify(other.catalogue, one.spoiler.good, other.question) == [
        "the answer is from another catalogue"
    ]
