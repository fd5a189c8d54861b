"""Questions that run out of time: said so, or answered with the best so far; never a false claim.

No test here waits for a race: the clock is turned by hand, or the problem is one that no search
settles in the time (pigeons in holes, on which every resolution proof is of exponential length:
Haken, "The intractability of resolution", Theoretical Computer Science 39, 1985).
"""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from time import monotonic
from typing import Any

import pytest

from kb.catalogue import Catalogue, load_texts
from kb.errors import OutOfTime
from rules import answers as a
from rules import asking, resolve, whole_car
from rules.asking import ask
from rules.clashes import smallest_clash, smallest_clashes
from rules.front import front
from rules.options import options
from rules.recheck import recheck
from rules.resolve import package
from rules.solution import Solution
from rules.ways_out import ways_out

SHORT = 0.5
LONG = 8.0
"""Seconds. A hard question is given SHORT and has to be over by LONG, on a busy machine too."""


@cache
def pigeons(count: int, holes: int) -> Catalogue:
    """A part that needs `count` others, each in one of fewer holes that take one each."""
    entries: dict[str, Any] = {"want": {
        "kind": "item", "name": "Want", "price": "1.00 EUR",
        "requires": [
            {"parts": [f"p{i}-{hole}" for hole in range(holes)]} for i in range(count)
        ],
    }}
    for i in range(count):
        for hole in range(holes):
            entries[f"p{i}-{hole}"] = {
                "kind": "item", "name": f"Pigeon {i} in hole {hole}", "takes": [f"h{hole}"],
                "fits": [{}], "price": f"{(i * 7 + hole * 5) % 11 + 1}.00 EUR",
            }
    car = {
        "name": "Tern", "years": "2015", "variants": {"p": {"name": "P", "engine": "e"}},
        "places": {f"h{hole}": {} for hole in range(holes)},
    }
    sections = {
        "catalog": {"name": "Pigeons"}, "vehicles": {"tern": car}, "parts": entries,
    }
    return load_texts({"all.yaml": json.dumps(sections)})


def wanted(deadline: float, **more: Any) -> a.Question:
    picks = (a.Item(part="want"),)
    return a.Question(
        vehicle="tern", picks=picks, deadline=deadline, **{"alternatives": False, **more}
    )


HARD: dict[str, Callable[[Catalogue], object]] = {
    "package": lambda c: package(c, wanted(SHORT)),
    "package under a budget": lambda c: package(c, wanted(SHORT, budget="30")),
    "options": lambda c: options(c, wanted(SHORT)),
    "offers": lambda c: front(c, wanted(SHORT)),
    "a clash": lambda c: smallest_clash(*_problem(c), deadline=SHORT),
}


def _problem(catalogue: Catalogue) -> tuple[Any, Any]:
    asked = ask(catalogue, wanted(SHORT))
    return asked.problem, asked.reasons


@pytest.mark.parametrize("question", HARD)
def test_a_question_that_no_search_settles_ends_in_time_and_claims_nothing(question: str) -> None:
    catalogue = pigeons(16, 15)
    ask(catalogue, wanted(SHORT))  # the catalogue's own tables are made once, not in the deadline
    began = monotonic()
    with pytest.raises(OutOfTime):
        HARD[question](catalogue)
    assert monotonic() - began < LONG


def test_the_same_question_in_small_is_answered() -> None:
    """So that the test above is about hardness and not about a question that is wrong."""
    assert package(pigeons(5, 4), wanted(10)).outcome == "impossible"
    assert package(pigeons(4, 4), wanted(10)).outcome == "complete"


SEARCHES = ("least", "least_of")
"""What searches for the least package: of a whole problem, and of what is left of one."""


# -- best so far ------------------------------------------------------------------------------


@pytest.fixture
def unproven(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every search ends by its deadline with a package and no proof."""
    for name in SEARCHES:
        def least(*args: Any, real: Any = whole_car.__dict__[name]) -> Solution | None:
            found: Solution | None = real(*args)
            if found is not None:
                found.proven = False
            return found

        monkeypatch.setattr(whole_car, name, least)


@pytest.mark.usefixtures("unproven")
def test_the_best_so_far_is_marked_as_not_proven_least() -> None:
    answer = package(pigeons(3, 3), wanted(10))
    assert answer.outcome == "complete"
    assert answer.proof is not None
    assert not answer.proof.least


@pytest.mark.usefixtures("unproven")
def test_one_unproven_offer_is_an_offer_and_not_the_end_of_the_front() -> None:
    answer = front(pigeons(3, 3), wanted(10))
    assert [p.outcome for p in answer.packages] == ["complete"]
    assert not answer.complete
    assert answer.packages[0].proof is not None
    assert not answer.packages[0].proof.least


@pytest.mark.usefixtures("unproven")
def test_an_unproven_answer_holds_when_it_is_checked_again() -> None:
    catalogue = pigeons(3, 3)
    assert recheck(catalogue, package(catalogue, wanted(10))).holds


# -- one clock for the whole question ---------------------------------------------------------


class Clock:
    """A clock that stands still until it is turned."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    made = Clock()
    for module in ("asking", "clashes", "sat", "whole_car", "resolve"):
        monkeypatch.setattr(f"rules.{module}.monotonic", made)
    return made


def test_all_searches_of_a_question_share_its_deadline(clock: Clock) -> None:
    asked = ask(pigeons(3, 3), wanted(10))
    assert asked.left() == 10
    clock.now += 6
    assert asked.left() == pytest.approx(4)
    assert asked.left(0.5) == pytest.approx(2)
    clock.now += 60
    assert asked.to_tell() == asking.GRACE
    with pytest.raises(OutOfTime):
        asked.left()


def test_a_package_that_took_all_the_time_is_still_told(
    clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = whole_car.__dict__["least_of"]

    def late(*args: Any) -> Solution | None:
        found: Solution | None = real(*args)
        assert found is not None
        found.proven = False
        clock.now += 60
        return found

    monkeypatch.setattr(whole_car, "least_of", late)
    answer = package(pigeons(3, 3), wanted(10, alternatives=True))
    assert answer.outcome == "complete"
    assert answer.proof is not None
    assert not answer.proof.least
    assert {i.difference for line in answer.lines for i in line.instead} == {None}


def test_past_the_deadline_no_package_is_out_of_time_and_not_impossible(
    clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    def late(*args: Any) -> Solution | None:
        clock.now += 60
        raise OutOfTime("late")

    for name in SEARCHES:
        monkeypatch.setattr(whole_car, name, late)
    for ask_for in (package, front):
        with pytest.raises(OutOfTime):
            ask_for(pigeons(3, 3), wanted(10))


def test_a_listing_of_clashes_that_was_cut_short_says_that_there_may_be_more(
    clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    def slow(*args: Any) -> Any:
        for clash in smallest_clashes(*args):
            clock.now += 6
            yield clash

    monkeypatch.setattr(resolve, "smallest_clashes", slow)
    answer = package(pigeons(3, 2), wanted(10))
    assert len(answer.clashes) == 1
    assert answer.more_clashes


def test_ways_out_that_cannot_be_tried_in_time_are_left_out(clock: Clock) -> None:
    catalogue = pigeons(3, 2)
    assert ways_out(ask(catalogue, wanted(10)))
    asked = ask(catalogue, wanted(10))
    clock.now += 60
    assert ways_out(asked) == ()


def test_no_clash_in_time_is_out_of_time(clock: Clock) -> None:
    problem = _problem(pigeons(3, 2))
    listing = smallest_clashes(*problem, deadline=10)
    clock.now += 5
    assert next(listing)
    clock.now += 60
    assert list(listing) == []  # what was found stays found
    late = smallest_clashes(*problem, deadline=-1)
    with pytest.raises(OutOfTime):
        next(late)
