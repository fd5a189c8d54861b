"""Re-checks an answer that was written down, with nothing but the catalogue it is from."""

from __future__ import annotations

from collections.abc import Iterator

from kb.catalogue import Catalogue
from rules import answers as a
from rules.asking import Asked, ask
from rules.clashes import Switched
from rules.verify import verify
from rules.ways_out import bounds_of
from rules.whole_car import least_package


def recheck(catalogue: Catalogue, answer: a.Package) -> a.Recheck:
    """What is wrong with an answer; empty findings when it holds.

    A package is judged by the independent verifier, and searched for anew to see that nothing is
    less; a clash is tried: together its statements must fail, and without any one of them hold.
    Raises OutOfTime past the deadline of the question.
    """
    if answer.asked is None:
        return _result(answer, ["the answer does not hold its question"])
    if answer.catalog.digest != catalogue.digest:
        return _result(answer, [
            f"the answer is from catalogue {answer.catalog.digest}, this is {catalogue.digest}"
        ])
    asked = ask(catalogue, answer.asked)
    if answer.outcome == "impossible":
        return _result(answer, list(_impossible(asked, answer)))
    findings = verify(catalogue, answer, answer.asked)
    return _result(answer, [*findings, *_least(asked, answer)])


def _result(answer: a.Package, findings: list[str]) -> a.Recheck:
    return a.Recheck(
        digest=answer.catalog.digest, outcome=answer.outcome, holds=not findings,
        findings=tuple(findings),
    )


def _least(asked: Asked, answer: a.Package) -> Iterator[str]:
    """Whether the package is as little as it says."""
    question = asked.question
    if answer.proof is None or not answer.proof.least:
        return
    found = least_package(asked.cone, question.prefer, question.deadline, bounds_of(question))
    if found is None or answer.totals is None:
        yield "no package is found for the question any more"
        return
    price = round(float(answer.totals.price) * 100)
    if question.prefer == "least_cost" and found.costs["money"] != price:
        yield f"the least package costs {found.costs['money'] / 100:.2f}, not {answer.totals.price}"


def _impossible(asked: Asked, answer: a.Package) -> Iterator[str]:
    question = asked.question
    if least_package(asked.cone, question.prefer, question.deadline, bounds_of(question)):
        yield "there is a package for the question"
        return
    with Switched(asked.problem, asked.reasons, question.deadline) as switched:
        by_text = {reason.text: switch for switch, reason in switched.said.items()}
        for number, clash in enumerate(answer.clashes, 1):
            yield from _clash(switched, by_text, number, clash)


def _clash(
    switched: Switched, by_text: dict[str, int], number: int, clash: a.Clash
) -> Iterator[str]:
    texts = [member.text for member in clash.members]
    unknown = [text for text in texts if text not in by_text]
    if unknown:
        # A budget or what is on hand is no statement of the catalogue; the search itself told.
        return
    members = [by_text[text] for text in texts]
    if switched.holds(members):
        yield f"the statements of clash {number} can hold together"
    for text, member in zip(texts, members, strict=True):
        if not switched.holds(m for m in members if m != member):
            yield f"clash {number} does not need '{text}'"
