"""Random catalogues of 30 to 80 parts, answered by Kitwright and by CP-SAT (OR-tools).

CP-SAT is a general-purpose solver that knows nothing of Kitwright; its model has every part of the
catalogue in it, so these tests also hold the cone to its word: what it leaves out never matters.
"""

from __future__ import annotations

import pytest

from rules.resolve import package
from tests.support.asking import oracle_for
from tests.support.cp_reference import CpReference, Least
from tests.support.dice import SeededDice
from tests.support.small_catalogues import Scenario, large_scenario, small_scenario


def by_reference(scenario: Scenario) -> Least | None:
    return CpReference(oracle_for(scenario.catalogue(), scenario)).least()


def by_kitwright(scenario: Scenario) -> Least | None:
    answer = package(scenario.catalogue(), scenario.question(deadline=60))
    if answer.totals is None:
        return None
    assert answer.proof is not None
    assert answer.proof.least
    return Least(len(answer.totals.unpriced), round(float(answer.totals.price) * 100))


@pytest.mark.parametrize("seed", range(25))
def test_a_large_catalogue_has_the_same_least_cost(seed: int) -> None:
    scenario = large_scenario(SeededDice(seed))
    assert by_kitwright(scenario) == by_reference(scenario)


def test_the_large_catalogues_are_large_and_mostly_possible() -> None:
    made = [large_scenario(SeededDice(seed)) for seed in range(25)]
    assert all(30 <= len(scenario.sections["parts"]) <= 90 for scenario in made)
    possible = [by_reference(scenario) is not None for scenario in made]
    assert 0.3 <= sum(possible) / len(possible) <= 0.8


def test_the_two_references_agree_on_small_catalogues() -> None:
    """The model and the oracle read the language alike."""
    for seed in range(120):
        scenario = small_scenario(SeededDice(seed))
        tried = oracle_for(scenario.catalogue(), scenario).findings()
        least = Least(*map(int, tried.least(("unpriced", "money")))) if tried.possible else None
        assert by_reference(scenario) == least, seed


@pytest.mark.slow
@pytest.mark.parametrize("start", range(25, 325, 100))
def test_a_long_row_of_large_catalogues_agrees(start: int) -> None:
    for seed in range(start, start + 100):
        scenario = large_scenario(SeededDice(seed))
        assert by_kitwright(scenario) == by_reference(scenario), seed
