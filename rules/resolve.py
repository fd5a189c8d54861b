"""From a question to a package: build the problem, find the least package, explain it, re-check."""

from __future__ import annotations

from kb.catalogue import Catalogue
from kb.errors import FaultyAnswer
from rules import answers as a
from rules.asking import Asked, ask
from rules.assembly import Assembly
from rules.naming import baseline_ref, catalog_ref, clash_of
from rules.sat import smallest_clash
from rules.verify import verify
from rules.whole_car import least_package


def package(catalogue: Catalogue, question: a.Question) -> a.Package:
    """The least complete package for a question, or why there is none.

    Raises QuestionError for unknown names, OutOfTime when the deadline passes without any answer,
    FaultyAnswer when the independent re-check finds fault.
    """
    asked = ask(catalogue, question)
    solution = least_package(asked.cone, question.prefer, question.deadline)
    if solution is None:
        return _impossible(asked)
    answer = Assembly(asked, solution).package()
    findings = verify(catalogue, answer, question)
    if findings:
        raise FaultyAnswer(findings)
    return answer


def _impossible(asked: Asked) -> a.Package:
    clash = smallest_clash(asked.problem, asked.reasons, asked.question.deadline)
    notes = list(asked.notes)
    if not clash:
        notes.append("there is too little on hand of a part that cannot be ordered")
    return a.Package(
        catalog=catalog_ref(asked.catalogue),
        baseline=baseline_ref(asked.situation.baseline),
        outcome="impossible",
        notes=tuple(notes),
        clashes=(clash_of(clash),) if clash else (),
    )
