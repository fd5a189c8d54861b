"""Random small catalogues, answered by Kitwright and by trying every package one by one.

The oracle (tests/support/oracle.py) is written from the meaning of the language and shares no code
with the solver, so every agreement here is between two independent readings.
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import HealthCheck, assume, given, settings

from kb.catalogue import Catalogue
from rules.answers import Preference
from rules.asking import Asked, ask
from rules.least import least
from rules.resolve import package
from rules.sat import Sat
from rules.solution import LEVELS, Solution
from tests.support.asking import oracle_for
from tests.support.dice import SeededDice
from tests.support.oracle import Findings, TooLarge
from tests.support.small_catalogues import Scenario, scenarios, small_scenario

quick = settings(
    deadline=None, max_examples=120, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
DECISIVE: dict[Preference, Sequence[str]] = {
    "least_cost": ("unpriced", "money", "minutes", "lines"),
    "least_work": ("minutes", "unpriced", "money", "lines"),
    "fewest_parts": ("lines", "unpriced", "money", "minutes"),
}
"""The costs that no part from outside the cone can lower. Mass is not among them: a lighter part
that nobody asked for would."""


def tried(catalogue: Catalogue, scenario: Scenario, only: frozenset[str] | None = None) -> Findings:
    try:
        return oracle_for(catalogue, scenario, only).findings()
    except TooLarge:
        assume(False)
        raise


def parts_and_steps(asked: Asked, variables: frozenset[int]) -> set[str]:
    atoms = [asked.problem.atoms[v] for v in variables]
    return {key for kind, key in atoms if kind in ("new", "step")}


def costs(solution: Solution, levels: Sequence[str]) -> tuple[int, ...]:
    return tuple(solution.costs[level] for level in levels)


@quick
@given(scenarios())
def test_there_is_a_package_exactly_when_trying_them_all_finds_one(scenario: Scenario) -> None:
    catalogue = scenario.catalogue()
    expected = tried(catalogue, scenario)
    answer = package(catalogue, scenario.question())  # raises when its own re-check finds fault
    assert (answer.outcome != "impossible") == expected.possible


@quick
@given(scenarios())
def test_what_every_package_has_is_found(scenario: Scenario) -> None:
    """Amounts left aside, as in the search for what every package has."""
    catalogue = scenario.catalogue()
    expected = tried(catalogue, scenario)
    asked = ask(catalogue, scenario.question())
    with Sat(asked.problem, asked.reasons) as sat:
        assert sat.solve() == bool(expected.worlds)
        if expected.worlds:
            must = parts_and_steps(asked, sat.must_have())
            assert must == expected.must_have(amounts=False)
            assert not expected.possible or must <= expected.must_have(amounts=True)


@quick
@given(scenarios())
def test_the_least_package_is_the_least_of_all(scenario: Scenario) -> None:
    catalogue = scenario.catalogue()
    expected = tried(catalogue, scenario)
    assume(expected.possible)
    asked = ask(catalogue, scenario.question())
    for prefer, levels in DECISIVE.items():
        solution = least(asked.situation, asked.problem, prefer)
        assert solution is not None
        assert solution.proven
        assert costs(solution, levels) == expected.least(levels), prefer


@quick
@given(scenarios())
def test_every_level_of_the_costs_is_least_among_the_parts_in_question(scenario: Scenario) -> None:
    """Within the cone all costs are compared, mass included; not the tie-breaks after them."""
    catalogue = scenario.catalogue()
    asked = ask(catalogue, scenario.question())
    inside = frozenset(key for key, _ in asked.problem.new_parts())
    expected = tried(catalogue, scenario, inside)
    assume(expected.possible)
    outside = kept_outside(asked)
    for prefer, levels in LEVELS.items():
        compared = [level for level in levels if level not in ("open", "amount", "rank")]
        solution = least(asked.situation, asked.problem, prefer)
        assert solution is not None
        solution.costs["mass"] += outside
        found = costs(solution, compared)
        if prefer == "least_mass":
            # What nobody asks for is not added for its lightness: no better than the lightest of
            # all packages, no worse than the lightest from which nothing can be left out.
            assert expected.least(compared) <= found <= expected.irreducible().least(compared)
        else:
            assert found == expected.least(compared), prefer


def kept_outside(asked: Asked) -> int:
    """The mass in grams of the stock parts that no part in question could displace."""
    car, parts = asked.situation.baseline, asked.situation.parts
    masses = {
        place: mass.value * 1000 * car.places[place].count
        for place, part in car.fitted.items() if (mass := parts[part].mass)
    }
    return sum(
        round(grams) for place, grams in masses.items() if place not in asked.problem.displacers
    )


@pytest.mark.slow
@pytest.mark.parametrize("start", range(0, 3000, 500))
def test_a_long_row_of_catalogues_agrees(start: int) -> None:
    for seed in range(start, start + 500):
        scenario = small_scenario(SeededDice(seed))
        catalogue = scenario.catalogue()
        try:
            expected = oracle_for(catalogue, scenario).findings()
        except TooLarge:
            continue
        answer = package(catalogue, scenario.question())
        assert (answer.outcome != "impossible") == expected.possible, seed
        if answer.totals is not None:
            cents = round(float(answer.totals.price) * 100)
            least_costs = expected.least(("unpriced", "money"))
            assert (len(answer.totals.unpriced), cents) == least_costs, seed
