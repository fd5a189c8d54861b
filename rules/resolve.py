"""From a question to a package: build the problem, find the least package, explain it, re-check."""

from __future__ import annotations

from time import monotonic

from kb.catalogue import Catalogue
from kb.collection import no_collection
from kb.errors import FaultyAnswer
from rules import answers as a
from rules.asking import Asked, ask
from rules.assembly import Assembly
from rules.beyond import clash_beyond
from rules.clashes import smallest_clashes
from rules.naming import baseline_ref, catalog_ref, clash_of
from rules.solution import Solution
from rules.verify import verify
from rules.ways_out import bounds_of, ways_out
from rules.whole_car import least_for

MOST_CLASHES = 4
SHARE = 0.5
"""Of the time left, what looking for clashes may take: the rest is for ways out."""


@no_collection()
def package(catalogue: Catalogue, question: a.Question) -> a.Package:
    """The least complete package for a question, or why there is none.

    Raises QuestionError for unknown names, OutOfTime when the deadline passes without any answer,
    FaultyAnswer when the independent re-check finds fault.
    """
    asked = ask(catalogue, question)
    solution = least_for(asked, question.prefer, asked.left(), bounds_of(question))
    return impossible(asked) if solution is None else checked(asked, solution)


def checked(asked: Asked, solution: Solution) -> a.Package:
    """A solution as a package that passed the independent re-check. Raises FaultyAnswer."""
    answer = Assembly(asked, solution).package()
    findings = verify(asked.catalogue, answer, asked.question)
    if findings:
        raise FaultyAnswer(findings)
    return answer


def impossible(asked: Asked) -> a.Package:
    """The answer to a question that has no package: its clashes, and the ways out.

    Raises OutOfTime when the time left is too short to say why.
    """
    time = asked.left(SHARE)
    ends = monotonic() + time
    found = list(smallest_clashes(asked.problem, asked.reasons, MOST_CLASHES + 1, time))
    more = len(found) > MOST_CLASHES or monotonic() > ends
    found.sort(key=len)
    clashes = [clash_of(clash) for clash in found[:MOST_CLASHES]] or [clash_beyond(asked)]
    return a.Package(
        catalog=catalog_ref(asked.catalogue),
        baseline=baseline_ref(asked.situation.baseline),
        outcome="impossible",
        notes=tuple(asked.notes),
        clashes=tuple(clashes),
        more_clashes=more,
        ways_out=ways_out(asked),
        asked=asked.question,
    )
