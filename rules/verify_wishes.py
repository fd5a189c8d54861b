"""What the asker did not want, held against a package: the part of the re-check about wishes.

Reads the answer, the question and the catalogue alone, like the rest of the re-check.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from rules import answers as a


def wish_faults(
    catalogue: Catalogue, baseline: Baseline, answer: a.Package, question: a.Question
) -> Iterator[str]:
    """Each wish that a package goes against, in words. The parts and steps named must be known."""
    for line in answer.lines:
        if line.status != "kept":
            yield from _unwanted(catalogue, baseline, line.part, question)
    for gone in answer.comes_off:
        if gone.place in question.keep:
            yield f"'{gone.part}' comes off '{gone.place}', where it is to stay"
    for work in answer.work:
        if work.step in question.refuse_work:
            yield f"the work '{work.step}' is refused"
        if question.reversible_only and not catalogue.work[work.step].reversible:
            yield f"the work '{work.step}' cannot be undone"
    yield from _limits(answer, question)


def _unwanted(
    catalogue: Catalogue, baseline: Baseline, part_id: str, question: a.Question
) -> Iterator[str]:
    part = catalogue.parts[part_id]
    if part_id in question.avoid:
        yield f"'{part_id}' is not wanted"
    if part.maker and part.maker in question.avoid_makers:
        yield f"'{part_id}' is made by {part.maker}, of whom nothing is wanted"
    for place in (*part.takes, *part.clears):
        if place in question.keep and place in baseline.fitted:
            yield f"'{part_id}' displaces what is to stay in '{place}'"


def _limits(answer: a.Package, question: a.Question) -> Iterator[str]:
    totals = answer.totals
    budget = question.budget
    if budget is not None and totals is not None and Decimal(totals.price) > Decimal(budget):
        yield f"{totals.price} is more than the budget of {budget}"
    if question.certain_only and answer.outcome != "complete":
        yield "something is left to measure, which was not wanted"
