"""What is left out of a problem changes no package: the whole and what is left, side by side."""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings

from kb.catalogue import load
from rules.answers import Item, Question
from rules.asking import Asked, ask
from rules.least import Search, what_is_left
from rules.problem import Problem
from rules.sat import Sat
from rules.solution import LEVELS, Solution, levels_to_money
from tests.support.small_catalogues import Scenario, scenarios

TOLD_APART = LEVELS["least_cost"][:-2]
"""The last levels only settle ties, and count from what is left."""


def least(asked: Asked, problem: Problem, levels: tuple[str, ...] = TOLD_APART) -> Solution | None:
    return Search(asked.situation, problem, levels).least(10.0)


def left_of(asked: Asked) -> Problem | None:
    return what_is_left(asked.situation, asked.problem, 10.0)


@settings(
    deadline=None, max_examples=80, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
@given(scenarios())
def test_what_is_left_has_the_same_least_package(scenario: Scenario) -> None:
    asked = ask(scenario.catalogue(), scenario.question())
    left = left_of(asked)
    whole = least(asked, asked.problem)
    found = None if left is None else least(asked, left)
    assert (found and found.costs) == (whole and whole.costs)
    if found:
        short = least(asked, asked.problem, levels_to_money("least_cost"))
        assert short is not None
        assert short.costs["money"] == found.costs["money"]


def test_a_chosen_wheel_leaves_out_the_other_wheels_and_what_goes_with_them() -> None:
    catalogue = load("demo_catalog")
    picks = (Item(part="wheel-corrie-16"),)
    asked = ask(catalogue, Question(vehicle="quernby", year=2017, variant="q16", picks=picks))
    left = left_of(asked)
    assert left is not None
    parts = {part for part, _ in left.new_parts()}
    everything = {part for part, _ in asked.problem.new_parts()}
    assert "wheel-corrie-15" in everything - parts
    assert len(left.clauses) < len(asked.problem.clauses) / 2
    with Sat(asked.problem, asked.reasons) as sat:
        in_every = sat.must_have()
    assert {key for kind, key in map(asked.problem.atoms.__getitem__, in_every)
            if kind == "new"} <= parts
