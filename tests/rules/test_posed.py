"""What is kept with a car between questions changes no answer, whatever was asked before."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings

from kb.catalogue import Catalogue, load
from rules import posed
from rules.answers import Item, Needed, Package, Preference, Question
from rules.needed import needed
from rules.resolve import package
from tests.support.small_catalogues import Scenario, scenarios

PARTS = (
    "wheel-corrie-16", "caliper-cairn", "tyre-kerbline-16", "pad-cairn-road", "disc-284-slot",
    "fluid-dot4-1", "helper-r-60", "washer-copper-10",
)
CAR = Question(vehicle="quernby", year=2017, variant="q16", deadline=60)


def item(part: str) -> Item:
    return Item(part=part)


def answers(catalogue: Catalogue, parts: Iterable[str], question: Question) -> dict[str, Needed]:
    return {part: needed(catalogue, part, question) for part in parts}


def package_alone(catalogue: Catalogue, question: Question) -> Package:
    """The package from a problem of the question's own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("rules.whole_car.has_kept_problem", lambda asked: False)
        return package(catalogue, question)


def keep(monkeypatch: pytest.MonkeyPatch, *, all_of_them: bool) -> None:
    monkeypatch.setattr(posed, "WORTH_KEEPING", 0 if all_of_them else 10**9)


@pytest.fixture
def patch() -> Iterable[pytest.MonkeyPatch]:
    with pytest.MonkeyPatch.context() as made:
        yield made


@pytest.mark.parametrize("question", [
    CAR, CAR.model_copy(update={"picks": (Item(part="caliper-cairn"),)}),
    CAR.model_copy(update={"on_hand": (Item(part="fluid-dot4-1", qty=1),)}),
    CAR.model_copy(update={"keep": ("front-disc",)}),
])
def test_the_order_of_questions_does_not_matter(
    question: Question, patch: pytest.MonkeyPatch
) -> None:
    keep(patch, all_of_them=False)
    alone = answers(load("demo_catalog"), PARTS, question)
    keep(patch, all_of_them=True)
    assert answers(load("demo_catalog"), PARTS, question) == alone
    assert answers(load("demo_catalog"), reversed(PARTS), question) == alone


@settings(
    deadline=None, max_examples=100, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
@given(scenarios())
def test_small_catalogues_are_answered_alike(scenario: Scenario) -> None:
    question = scenario.question()
    with pytest.MonkeyPatch.context() as patch:
        keep(patch, all_of_them=False)
        fresh = scenario.catalogue()
        alone = answers(fresh, fresh.parts, question)
        keep(patch, all_of_them=True)
        assert answers(scenario.catalogue(), reversed(list(fresh.parts)), question) == alone


@pytest.mark.parametrize("largest", [posed.LARGEST, 0])
def test_carts_of_parts_that_were_asked_about_apart_are_answered_alike(
    largest: int, patch: pytest.MonkeyPatch
) -> None:
    patch.setattr(posed, "LARGEST", largest)
    cart = CAR.model_copy(update={"picks": tuple(map(item, ("helper-r-60", "tyre-kerbline-16")))})
    some = PARTS[:4]
    keep(patch, all_of_them=False)
    alone = answers(load("demo_catalog"), some, cart)
    keep(patch, all_of_them=True)
    met = load("demo_catalog")
    answers(met, PARTS, CAR)
    assert answers(met, some, cart) == alone


CARTS = (
    ("caliper-cairn", "wheel-corrie-16"),
    ("damper-grit-f", "clip-hose", "kit-rear-fold"),
    ("gearbox-heavy", "flywheel-p20-steel", "tyre-kerbline-16"),
    ("kit-front-tor-late", "sensor-snap-433", "hose-f-braid-bubble", "threadlock"),
    ("disc-266-vent", "pad-holm-road"),
)


@pytest.mark.parametrize("prefer", ["least_cost", "least_work"])
def test_a_package_is_the_same_from_a_kept_problem(prefer: Preference) -> None:
    catalogue = load("demo_catalog")
    for parts in CARTS:
        picks = tuple(Item(part=part) for part in parts)
        question = CAR.model_copy(update={"picks": picks, "prefer": prefer})
        assert package(catalogue, question) == package_alone(catalogue, question), parts


@settings(
    deadline=None, max_examples=150, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
@given(scenarios())
def test_small_catalogues_give_the_same_package_whatever_is_kept(scenario: Scenario) -> None:
    question = replace(scenario, on_hand=()).question()
    alone = package_alone(scenario.catalogue(), question)
    with pytest.MonkeyPatch.context() as patch:
        keep(patch, all_of_them=True)
        fresh, used = scenario.catalogue(), scenario.catalogue()
        assert package(fresh, question) == alone
        answers(used, used.parts, question.model_copy(update={"picks": ()}))
        assert package(used, question) == alone
