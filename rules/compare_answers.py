"""Answers of one catalogue, kept for cars on which the same problem comes up.

Two cars whose cones hold the same statements have the same least package, as long as the checks of
the whole car, which are made when a package is found, say nothing against it on either.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

from kb.catalogue import Catalogue
from kb.errors import QuestionError
from rules import answers as a
from rules.asking import Asked, ask
from rules.clashes import smallest_clash
from rules.combining import judge
from rules.cone import Cone
from rules.problem import Problem
from rules.resolve import checked
from rules.solution import Solution
from rules.whole_car import DECISIVE, least_package


@dataclass(frozen=True)
class Brief:
    """An answer as it is compared."""

    outcome: str
    price: str | None = None
    lines: frozenset[tuple[str, float, str]] = frozenset()
    measures: frozenset[str] = frozenset()
    why: str = ""


@dataclass(frozen=True)
class Found:
    """What the solver found: enough to tell whether two answers are one. None: there is none."""

    asked: Asked
    solution: Solution | None

    @property
    def mark(self) -> Hashable:
        """Equal for equal packages at equal costs."""
        if self.solution is None:
            return None
        found = self.solution
        return (
            frozenset(found.new), frozenset(found.steps), frozenset(found.kits.items()),
            frozenset(found.costs.items()),
            frozenset((need.key, c.part, c.stock_place, c.step) for need, c in found.assigned),
        )


class Answers:
    """The answers of one catalogue."""

    def __init__(self, catalogue: Catalogue, deadline: float) -> None:
        self.catalogue, self.deadline = catalogue, deadline
        self._kept: dict[Hashable, Found] = {}

    def ask(self, question: a.Question) -> Asked | None:
        """The question as a problem; None where this catalogue does not know its car or part."""
        try:
            return ask(self.catalogue, question)
        except QuestionError:
            return None

    def find(self, asked: Asked) -> Found:
        """The least package of a question. Raises OutOfTime."""
        key = form(asked.cone)
        kept = self._kept.get(key)
        if kept and (kept.solution is None or not _objections(asked.cone, kept.solution)):
            return kept
        before = len(asked.problem.judged)
        found = Found(asked, least_package(asked.cone, asked.question.prefer, self.deadline))
        if len(asked.problem.judged) == before:
            self._kept[key] = found
        return found

    def brief(self, found: Found) -> Brief:
        """An answer written out and re-checked. Raises FaultyAnswer, OutOfTime."""
        if found.solution is None:
            clash = smallest_clash(found.asked.problem, found.asked.reasons, self.deadline)
            why = "; ".join(r.text for r in clash if r.type != "pick")
            return Brief("impossible", why=why)
        answer = checked(found.asked, found.solution)
        return Brief(
            answer.outcome, answer.totals.price if answer.totals else None,
            frozenset((n.part, n.qty, n.unit) for n in answer.lines if n.status != "kept"),
            frozenset(measure.what for measure in answer.measure_first),
        )


def _objections(cone: Cone, solution: Solution) -> bool:
    """Whether a check of the whole car speaks against a package on this car."""
    displaced = cone.problem.displacers.keys() - solution.stays
    return any(
        found.check.whole_car and (found.verdict.verdict in DECISIVE or found.verdict.needs)
        for found in judge(cone.at, sorted(solution.new), displaced)
    )


def form(cone: Cone) -> Hashable:
    """A cone by what it holds rather than by numbers: equal for equal problems."""
    problem = cone.problem
    names = _names(cone)

    def named(literals: tuple[int, ...]) -> frozenset[tuple[bool, Hashable]]:
        return frozenset((literal > 0, names[abs(literal)]) for literal in literals)

    return (
        cone.at.baseline.vehicle_id, frozenset(problem.picks.items()),
        frozenset(problem.on_hand.items()), frozenset(problem.units.items()),
        frozenset(named(clause.literals) for clause in problem.clauses),
        frozenset(
            (need.owner, named(need.guard), need.amount, need.each,
             frozenset((names[q.literal], q.part, q.units) for q in need.askers if q.literal),
             frozenset((names[c.literal], c.part, names[c.open or 0]) for c in need.choices))
            for need in problem.needs
        ),
        frozenset((p, named(tuple(takers))) for p, takers in problem.exclusive.items()),
        frozenset((p, named(tuple(takers))) for p, takers in problem.displacers.items()),
    )


def _names(cone: Cone) -> list[Hashable]:
    """A name for each variable; groups are named by their members."""
    problem: Problem = cone.problem
    names: list[Hashable] = [
        (kind, key, cone.at.baseline.fitted[key]) if kind == "stays" else (kind, key)
        for kind, key in problem.atoms
    ]
    for group, members in problem.members.items():
        names[group] = ("any", frozenset(names[member] for member in members))
    return names
