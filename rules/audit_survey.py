"""What is possible on every car of a catalogue, worked out in one visit to each group of cars.

The whole problem of a car is large, and there may be hundreds of cars: each is built once, asked
all that the finders want to know of it, and let go.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from typing import NamedTuple

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.entries import Part
from kb.graph import graph_of, node
from rules.alike import Cars
from rules.audit_whole import Whole
from rules.problem import Reason
from rules.situation import Situation

Question = tuple[str, ...]


class Why(NamedTuple):
    """What rules a part out, in one sentence, and whether something computed is among it."""

    text: str
    computed: bool
    statements: frozenset[tuple[str, str]] = frozenset()
    """The type and the key of each statement in it."""


class Failing(NamedTuple):
    """A group of cars that a part is meant for, and that has no package with it."""

    cars: Cars
    but_for_checks: bool
    """Whether there would be one if nothing were computed."""
    known: Why | None
    """Why there is none, for the first of its groups."""


class Survey:
    """The answers of every group."""

    def __init__(self, catalogue: Catalogue, groups: Collection[Cars]) -> None:
        self.catalogue = catalogue
        self.impossible: list[Cars] = []
        """Groups that no package at all is possible on."""
        self.meant: Counter[str] = Counter()
        """Per part looked at, on how many of the other groups it is meant to go."""
        self.failing: dict[str, list[Failing]] = {}
        """Per part looked at, those of these groups that have no package with it."""
        self.only_on_impossible: set[str] = set()
        """Parts looked at that are meant for groups that no package is possible on."""
        self.called: set[str] = set()
        """Work steps that something calls for."""
        self.done: set[str] = set()
        """Work steps that are in some package."""
        self.fired: set[str] = set()
        """General rules that something can set off."""
        self.bitten: set[str] = set()
        """General rules that change some package."""
        self.unmeasured: list[tuple[Cars, list[tuple[str, Question]]]] = []
        """Per group, each measurement that is lacking, with the question that waits for it."""
        stock = {part for cars in groups for car in cars for part in car.fitted.values()}
        self._looked_at = {
            key for key, part in catalogue.parts.items()
            if part.orderable and key not in stock and not self._replaced(key)
        }
        for cars in groups:
            self._visit(cars)
        self.only_on_impossible -= self.meant.keys()

    def looked_at(self, part: str) -> bool:
        """Whether a part is on sale to be added: neither stock nor replaced."""
        return part in self._looked_at

    def _replaced(self, part: str) -> bool:
        return bool(graph_of(self.catalogue).into(node("part", part), "supersedes"))

    def _visit(self, cars: Cars) -> None:
        whole = Whole(Situation(self.catalogue, cars[0]))  # not kept: there may be very many
        meant = [part for part in whole.at.graph.parts_on(whole.at.car)
                 if part in self._looked_at and is_meant(cars[0], self.catalogue.parts[part])]
        if not whole.empty_is_possible:
            self.impossible.append(cars)
            self.only_on_impossible.update(meant)
            return
        self.meant.update(meant)
        self._failing(whole, cars, [part for part in meant if part not in whole.possible_parts])
        self.called.update(step for step, _ in whole.problem.steps())
        self.done |= whole.possible_steps
        self._rules(whole)
        self.unmeasured.append((cars, list(dict.fromkeys(_unmeasured(whole)))))

    def _failing(self, whole: Whole, cars: Cars, parts: Collection[str]) -> None:
        in_it = [part for part in parts if whole.problem.known("new", part) is not None]
        told = whole.why_not(part for part in in_it if part not in self.failing)
        for part in parts:
            known = why(told[part]) if part in told else None
            failing = Failing(cars, whole.possible_but_for_checks(part), known)
            self.failing.setdefault(part, []).append(failing)

    def _rules(self, whole: Whole) -> None:
        for key, rule in self.catalogue.rules.items():
            if key not in self.fired and whole.rule_can_fire(key):
                self.fired.add(key)
            if key not in self.bitten and rule.then_any and whole.rule_can_bite(key):
                self.bitten.add(key)


def why(reasons: Iterable[Reason]) -> Why:
    """Reasons in one sentence."""
    told = list(reasons)
    text = "; ".join(reason.text for reason in told)
    statements = frozenset((reason.type, reason.key) for reason in told)
    return Why(text, any(reason.type == "check" for reason in told), statements)


def is_meant(car: Baseline, part: Part) -> bool:
    """Whether a part is listed for a car, if it is for any, and the car has its places."""
    listed = not part.fits or any(car.applies(fits) for fits in part.fits)
    return listed and all(place in car.places for place in part.takes)


def _unmeasured(whole: Whole) -> Iterator[tuple[str, Question]]:
    """Measurements that are lacking, each with the parts of a question that waits for it."""
    for judged in whole.problem.judged:
        members = (member.part for member in judged.members if not member.stock_place)
        if judged.verdict.verdict == "not_known" and whole.possible_parts.issuperset(members):
            question = tuple(member.part for member in judged.members)
            for what in judged.verdict.measure:
                yield what, question
    for need in whole.problem.needs:
        for choice in need.choices:
            if choice.open is not None and choice.part in whole.possible_parts:
                for what in whole.problem.atoms[choice.open][1].split("; "):
                    yield what, (need.owner.partition(":")[2], choice.part)
