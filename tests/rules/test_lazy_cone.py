"""A cone that grows only where a package needs it gives the same least package as the full one."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import HealthCheck, given, settings

from api.asking import demo_folder
from kb.catalogue import Catalogue, load
from rules import answers as a
from rules.alike import alike
from rules.amounts import tallies
from rules.asking import Asked, ask
from rules.situation import situation_of
from rules.solution import Solution
from rules.whole_car import least_package
from tests.support.dice import SeededDice
from tests.support.small_catalogues import Scenario, large_scenario, scenarios

LEVELS = ("unpriced", "money", "open", "minutes", "lines")


def same(catalogue: Catalogue, question: a.Question) -> bool:
    """Whether both cones give one package. True also says that the lazy one stayed smaller."""
    full, lazy = ask(catalogue, question), ask(catalogue, question, lazy=True)
    found, quick = (
        least_package(asked.cone, question.prefer, 20.0) for asked in (full, lazy)
    )
    assert _told(full, found) == _told(lazy, quick)
    return len(lazy.problem.atoms) < len(full.problem.atoms)


def _told(asked: Asked, found: Solution | None) -> object:
    if found is None:
        return None
    costs = [found.costs[level] for level in LEVELS]
    amounts = tallies(asked.situation, asked.problem, found)
    return costs, found.new, found.steps, found.kits, amounts


@settings(deadline=None, max_examples=150, derandomize=True, database=None,
          suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(scenarios())
def test_on_small_catalogues(scenario: Scenario) -> None:
    catalogue = scenario.catalogue()
    preferences: tuple[a.Preference, ...] = (
        "least_cost", "least_work", "least_mass", "fewest_parts",
    )
    for prefer in preferences:
        same(catalogue, scenario.question(prefer=prefer))


def test_what_is_asked_for_only_by_what_waits_is_not_missed() -> None:
    """The knock sensor bars stock unit and stock loom together; their successors need each other,
    and what else asks for them comes in with the engine.
    """
    assert same(load(demo_folder()), a.Question(
        vehicle="quernby", variant="q16", year=2016, picks=(a.Item(part="sensor-knock"),),
        alternatives=False, deadline=60,
    )) is False, "so much comes in that the whole cone does"


@pytest.mark.slow
@pytest.mark.parametrize("prefer", ["least_cost", "least_work", "fewest_parts"])
def test_on_larger_catalogues(prefer: a.Preference) -> None:
    scenes = [large_scenario(SeededDice(seed)) for seed in range(60)]
    smaller = [same(scene.catalogue(), scene.question(prefer=prefer)) for scene in scenes]
    assert sum(smaller) > 20


@pytest.mark.slow
def test_on_the_demo() -> None:
    demo = load(demo_folder())
    questions = [
        a.Question(vehicle=cars[0].vehicle_id, variant=cars[0].variant_id, year=cars[0].year,
                   picks=(a.Item(part=part),), alternatives=False)
        for cars in alike(demo) for part in demo.parts
        if situation_of(demo, cars[0]).for_sale(part)
    ]
    smaller = [same(demo, question) for question in Random(3).sample(questions, 60)]
    assert sum(smaller) > 15
