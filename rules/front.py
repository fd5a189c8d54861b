"""The packages worth comparing: those that no other beats on money, hours and mass at once."""

from __future__ import annotations

from collections.abc import Mapping
from time import monotonic

from kb.catalogue import Catalogue
from kb.errors import OutOfTime
from rules import answers as a
from rules.asking import ask
from rules.least import Bounds
from rules.naming import baseline_ref, catalog_ref
from rules.resolve import checked, impossible
from rules.ways_out import bounds_of
from rules.whole_car import least_package


def front(catalogue: Catalogue, question: a.Question, most: int = 8) -> a.Front:
    """The front of a question, dearest last; `complete` says whether that is all of it.

    Each package is the least of those that beat every one before it in money, time or mass, so
    none of them is beaten by another (the lexicographic constraint method for several aims). Only
    packages with as few unpriced parts as possible take part. Raises QuestionError for
    unknown names, OutOfTime when not even one package was found in time.
    """
    asked = ask(catalogue, question)
    found: list[a.Package] = []
    points: list[Mapping[str, int]] = []
    ends = monotonic() + question.deadline
    finished = False
    while len(points) < most:
        try:
            solution = least_package(
                asked.cone, "least_cost", max(ends - monotonic(), 0.01), _bounds(question, points)
            )
        except OutOfTime:
            if not points:
                raise
            break
        if solution is None:
            finished = True
            break
        if not solution.proven:
            break
        points.append(solution.costs)
        found.append(checked(asked, solution))
    if not points:
        found.append(impossible(asked))
    return a.Front(
        catalog=catalog_ref(catalogue), baseline=baseline_ref(asked.situation.baseline),
        packages=tuple(found), complete=finished,
    )


def _bounds(question: a.Question, points: list[Mapping[str, int]]) -> Bounds:
    at_most = dict(bounds_of(question).at_most)
    if points:
        at_most["unpriced"] = points[0]["unpriced"]
    return Bounds(at_most=at_most, beat=tuple(points))
