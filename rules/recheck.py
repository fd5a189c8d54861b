"""Re-checks an answer that was written down, with nothing but the catalogue it is from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from kb.catalogue import Catalogue
from kb.errors import OutOfTime
from rules import answers as a
from rules.asking import Asked, ask
from rules.beyond import clash_beyond
from rules.clashes import Switched
from rules.naming import baseline_ref, clash_of
from rules.sat import clauses
from rules.solution import Order, Solution, levels_of
from rules.verify import verify
from rules.ways_out import bounds_of, leads_as_said
from rules.whole_car import least_package


def recheck(catalogue: Catalogue, answer: a.Package) -> a.Recheck:
    """What is wrong with an answer; empty findings when it holds.

    A package is judged by the independent verifier, and searched for anew to see that nothing is
    less; a clash is tried: together its statements must fail, and without any one of them hold;
    ways out are gone. Raises QuestionError when the answer is to a question that cannot be asked,
    OutOfTime past the deadline of the question.
    """
    if answer.asked is None:
        return _result(answer, ["the answer does not hold its question"])
    if answer.catalog.digest != catalogue.digest:
        return _result(answer, [
            f"the answer is from catalogue {answer.catalog.digest}, this is {catalogue.digest}"
        ])
    asked = ask(catalogue, answer.asked)
    if answer.baseline != baseline_ref(asked.situation.baseline):
        return _result(answer, [f"the question is about {asked.situation.baseline.name}"])
    if answer.outcome == "impossible":
        return _result(answer, list(_impossible(asked, answer)))
    findings = verify(catalogue, answer, answer.asked)
    return _result(answer, [*findings, *_least(asked, answer)])


def _result(answer: a.Package, findings: list[str]) -> a.Recheck:
    return a.Recheck(
        digest=answer.catalog.digest, outcome=answer.outcome, holds=not findings,
        findings=tuple(findings),
    )


# -- the least package ------------------------------------------------------------------------


def _least(asked: Asked, answer: a.Package) -> Iterator[str]:
    """Whether the package is as little as it says."""
    proof, totals, question = answer.proof, answer.totals, asked.question
    if proof is None or totals is None:
        yield "the answer does not say what was proven"
        return
    orders = [o for o in (question.prefer, _offers(question)) if o and levels_of(o) == proof.by]
    if not orders:
        yield f"by {', '.join(proof.by)} is not the order of {question.prefer}"
    elif proof.least:
        found = least_package(asked.cone, orders[0], asked.left(), bounds_of(question))
        if found is None:
            yield "no package is found for the question any more"
        elif not found.proven:
            raise OutOfTime("that no package is less could not be proven again in time")
        else:
            yield from _compared(proof.by, answer, totals, found)


def _offers(question: a.Question) -> Order | None:
    return "offer" if question.prefer == "least_cost" else None


def _compared(
    levels: Sequence[str], answer: a.Package, totals: a.Totals, found: Solution
) -> Iterator[str]:
    """The first level in which the answer is not what the least package comes to."""
    said = {
        "unpriced": len(totals.unpriced),
        "money": int(Decimal(totals.price) * 100),
        "minutes": totals.minutes,
        "lines": sum(line.status != "kept" for line in answer.lines) + len(answer.work),
    }
    for level in levels:
        if level in said:
            least = found.costs[level] / 60 if level == "minutes" else found.costs[level]
            if abs(said[level] - least) > 0.1:
                yield f"the least package comes to {least:g} in {level}, not {said[level]:g}"
                return


# -- an impossible question -------------------------------------------------------------------


def _impossible(asked: Asked, answer: a.Package) -> Iterator[str]:
    if answer.lines or answer.work or answer.totals is not None:
        yield "an impossible question has no package"
    if least_package(asked.cone, asked.question.prefer, asked.left(), bounds_of(asked.question)):
        yield "there is a package for the question"
        return
    yield from _clashes(asked, answer.clashes)
    for number, way in enumerate(answer.ways_out, 1):
        if not leads_as_said(asked, way):
            yield f"way out {number} does not lead to the package it says"


def _clashes(asked: Asked, clashes: Sequence[a.Clash]) -> Iterator[str]:
    if not clashes:
        yield "the answer does not say what clashes"
    if len(set(clashes)) < len(clashes):
        yield "a clash is listed twice"
    with Switched(clauses(asked.problem, asked.reasons), asked.left()) as switched:
        if switched.holds(switched.switches.values()):
            if clashes != (clash_beyond(asked),):
                yield "the statements can hold together, and what else is said is not so"
            return
        for number, clash in enumerate(clashes, 1):
            yield from _clash(switched, number, clash)


def _clash(switched: Switched, number: int, clash: a.Clash) -> Iterator[str]:
    keys = [member.statement for member in clash.members]
    if len(set(keys)) < len(keys) or not switched.switches.keys() >= set(keys):
        yield f"clash {number} names what is no statement of the catalogue or the question"
        return
    members = [switched.switches[key] for key in keys]
    if clash_of(switched.said[member] for member in members) != clash:
        yield f"clash {number} does not say what is stated"
    if switched.holds(members):
        yield f"the statements of clash {number} can hold together"
    for text, member in zip((m.text for m in clash.members), members, strict=True):
        if not switched.holds(m for m in members if m != member):
            yield f"clash {number} does not need '{text}'"
