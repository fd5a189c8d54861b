"""Remembered kits asked again: does the catalogue still give the answer it must?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from kb.errors import KitwrightError
from kb.remembered import Pick, RememberedKit
from kb.units import format_number
from rules import answers as a
from rules.audit_base import Finding, Scene
from rules.resolve import package


def remembered_kits(scene: Scene) -> Iterator[Finding]:
    """Remembered kits whose answer is not what it has to be."""
    for key, kit in scene.catalogue.kits.items():
        try:
            answer = package(scene.catalogue, question_of(kit))
            faults = list(_faults(kit, answer))
        except KitwrightError as error:
            faults = [f"no answer: {error}"]
        for fault in faults:
            yield scene.finding(
                "error", "kit-changed", "kits", key, f"the remembered kit '{key}': {fault}",
                "mend what changed it, or remember the new answer",
            )


def question_of(kit: RememberedKit) -> a.Question:
    """A remembered kit as the question it remembers."""
    return a.Question(
        vehicle=kit.vehicle, variant=kit.variant, year=kit.year, prefer=kit.prefer,
        picks=_items(kit.picks), on_hand=_items(kit.on_hand), alternatives=False,
    )


def _items(picks: Iterable[Pick]) -> tuple[a.Item, ...]:
    return tuple(
        a.Item(part=pick.part, qty=float(pick.amount.value) if pick.amount else None)
        for pick in picks
    )


def _faults(kit: RememberedKit, answer: a.Package) -> Iterator[str]:
    if answer.outcome != kit.outcome:
        because = "".join(
            f" ({'; '.join(member.text for member in clash.members)})"
            for clash in answer.clashes[:1]
        )
        yield f"{_words(answer.outcome)}{because}, expected {_words(kit.outcome)}"
        return
    amounts = {line.part: line.qty for line in answer.lines}
    for part, amount in kit.parts.items():
        wanted = float(amount.value)
        if part not in amounts:
            yield f"'{part}' is not in it, expected {amount}"
        elif amounts[part] != wanted:
            found = f"{amounts[part]:g} {amount.unit}".strip()
            yield f"'{part}' is in it as {found}, expected {format_number(amount.value)}"
    if kit.price and answer.totals and Decimal(answer.totals.price) != kit.price.value:
        found = f"{answer.totals.price} {answer.totals.currency}"
        yield f"it comes to {found}, expected {kit.price}"


def _words(outcome: str) -> str:
    return outcome.replace("_", " ")
