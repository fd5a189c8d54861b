"""The packages worth comparing: those that no other beats on money, hours and mass at once."""

from __future__ import annotations

from collections.abc import Mapping

from kb.catalogue import Catalogue
from kb.errors import OutOfTime
from rules import answers as a
from rules.asking import Asked, ask
from rules.naming import baseline_ref, catalog_ref
from rules.resolve import checked, impossible
from rules.solution import Bounds, Solution
from rules.ways_out import bounds_of
from rules.whole_car import least_package


def front(catalogue: Catalogue, question: a.Question, most: int = 8) -> a.Front:
    """The front of a question, dearest last; `complete` says whether that is all of it.

    Each package is the least of those that beat every one before it in money, time or mass, so
    none of them is beaten by another (the lexicographic constraint method for several aims). Only
    packages with as few unpriced parts as possible take part. What the question prefers is of no
    account. Raises QuestionError for unknown names, OutOfTime when not even one package was found
    in time.
    """
    asked = ask(catalogue, question.model_copy(update={"prefer": "least_cost"}))
    found, complete = _unbeaten(asked, most)
    offers = tuple(_offer(asked, solution, first=not i) for i, solution in enumerate(found))
    return a.Front(
        catalog=catalog_ref(catalogue), baseline=baseline_ref(asked.situation.baseline),
        packages=offers or (impossible(asked),), complete=complete,
    )


def _unbeaten(asked: Asked, most: int) -> tuple[list[Solution], bool]:
    """Up to `most` packages none of which is beaten, and whether there are no more.

    What was found last and is not proven least might be beaten, so only a first one is kept.
    """
    found: list[Solution] = []
    while not found or found[-1].proven:
        bounds = _bounds(asked.question, [solution.costs for solution in found])
        try:
            solution = least_package(asked.cone, "offer", asked.left(), bounds)
        except OutOfTime:
            if not found:
                raise
            return found, False
        if solution is None:
            return found, True
        if found and (len(found) == most or not solution.proven):
            return found, False
        found.append(solution)
    return found, False


def _bounds(question: a.Question, points: list[Mapping[str, int]]) -> Bounds:
    at_most = dict(bounds_of(question).at_most)
    if points:
        at_most["unpriced"] = points[0]["unpriced"]
    return Bounds(at_most=at_most, beat=tuple(points))


def _offer(asked: Asked, solution: Solution, *, first: bool) -> a.Package:
    """A package of the front. Only the first is the least that was asked for."""
    package = checked(asked, solution)
    if first or package.proof is None:
        return package
    return package.model_copy(update={"proof": a.Proof(least=False, by=package.proof.by)})
