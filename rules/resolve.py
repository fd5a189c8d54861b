"""From a question to a package: build the problem, find the least package, explain it, re-check."""

from __future__ import annotations

from kb.catalogue import Catalogue
from kb.errors import FaultyAnswer, OutOfTime
from rules import answers as a
from rules.asking import Asked, ask
from rules.assembly import Assembly
from rules.clashes import smallest_clashes
from rules.least import Solution
from rules.naming import baseline_ref, catalog_ref, clash_of, money
from rules.problem import Reason
from rules.verify import verify
from rules.ways_out import bounds_of, ways_out
from rules.whole_car import least_package

MOST_CLASHES = 4


def package(catalogue: Catalogue, question: a.Question) -> a.Package:
    """The least complete package for a question, or why there is none.

    Raises QuestionError for unknown names, OutOfTime when the deadline passes without any answer,
    FaultyAnswer when the independent re-check finds fault.
    """
    asked = ask(catalogue, question)
    solution = least_package(
        asked.cone, question.prefer, question.deadline, bounds_of(question)
    )
    return impossible(asked) if solution is None else checked(asked, solution)


def checked(asked: Asked, solution: Solution) -> a.Package:
    """A solution as a package that passed the independent re-check. Raises FaultyAnswer."""
    answer = Assembly(asked, solution).package()
    findings = verify(asked.catalogue, answer, asked.question)
    if findings:
        raise FaultyAnswer(findings)
    return answer


def impossible(asked: Asked) -> a.Package:
    """The answer to a question that has no package: its clashes, and the ways out."""
    deadline = asked.question.deadline
    found = list(smallest_clashes(asked.problem, asked.reasons, MOST_CLASHES + 1, deadline))
    found.sort(key=len)
    clashes = [clash_of(clash) for clash in found[:MOST_CLASHES]] or [_beyond_statements(asked)]
    return a.Package(
        catalog=catalog_ref(asked.catalogue),
        baseline=baseline_ref(asked.situation.baseline),
        outcome="impossible",
        notes=tuple(asked.notes),
        clashes=tuple(clashes),
        more_clashes=len(found) > MOST_CLASHES,
        ways_out=ways_out(asked),
        asked=asked.question,
    )


def _beyond_statements(asked: Asked) -> a.Clash:
    """The clash of a question whose statements can hold: the budget, or too little on hand."""
    question = asked.question
    if question.budget is not None:
        free = ask(asked.catalogue, question.model_copy(update={"budget": None}))
        try:
            solution = least_package(free.cone, question.prefer, question.deadline)
        except OutOfTime:
            solution = None
        if solution is not None:
            price = solution.costs["money"]
            short = money(price - bounds_of(question).at_most["money"])
            text = (
                f"the least package costs {money(price)}, {short} more than the budget of "
                f"{question.budget}"
            )
            return clash_of([*_picks(asked), Reason("wish", "budget", text)])
    text = "there is too little of a part that is on hand and cannot be ordered"
    return clash_of([*_picks(asked), Reason("sale", "amount", text)])


def _picks(asked: Asked) -> list[Reason]:
    return [asked.reasons.pick(part) for part in asked.problem.picks]
