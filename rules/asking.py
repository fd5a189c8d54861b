"""From a question to a problem: names looked up, successors put in, amounts made exact."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from time import monotonic

from kb.baseline import find_baseline
from kb.catalogue import Catalogue
from kb.collection import no_collection
from kb.errors import OutOfTime, QuestionError, nearest_name
from kb.units import format_number
from rules import answers as a
from rules.cone import Cone
from rules.problem import Problem
from rules.reasons import Reasons
from rules.situation import Situation, situation_of
from rules.wishes import Wishes

GRACE = 1.0
"""Seconds: a package that took all the time to find is not lost for want of time to explain it."""


@dataclass
class Asked:
    """A question whose names are looked up; its problem is made on first use."""

    catalogue: Catalogue
    question: a.Question
    situation: Situation
    """The car the question is about."""
    picks: dict[str, Fraction]
    on_hand: dict[str, Fraction]
    wishes: Wishes
    notes: list[str]
    ends: float
    """When the question's deadline passes, by the clock `monotonic`."""
    lazy: bool = False
    """Whether only what the least package turns out to need is looked at."""

    @cached_property
    def cone(self) -> Cone:
        """What the question can reach."""
        with no_collection():
            return Cone(self.situation, self.picks, self.on_hand, self.wishes, lazy=self.lazy)

    def left(self, share: float = 1.0) -> float:
        """The seconds left for the question, or a share of them. Raises OutOfTime when none are."""
        left = self.ends - monotonic()
        if left <= 0:
            raise OutOfTime(f"no answer within {self.question.deadline:g} s")
        return left * share

    def to_tell(self) -> float:
        """The seconds for putting into words what was found: some, even past the deadline."""
        return max(self.ends - monotonic(), GRACE)

    @property
    def problem(self) -> Problem:
        """The question in the solvers' terms."""
        return self.cone.problem

    @cached_property
    def reasons(self) -> Reasons:
        """What says the statements in words."""
        return Reasons(self.situation)


def ask(catalogue: Catalogue, question: a.Question, *, lazy: bool = False) -> Asked:
    """The problem of a question, its time running from now.

    `lazy`: only as much of it as the least package turns out to need, which is quicker where that
    is all that is asked; not where mass comes before the number of lines.

    Raises QuestionError for what the catalogue does not know.
    """
    ends = monotonic() + question.deadline
    baseline = find_baseline(catalogue, question.vehicle, question.year, question.variant)
    situation = situation_of(catalogue, baseline)
    notes: list[str] = []
    picks = _amounts(situation, question.picks, "picks", notes)
    on_hand = _amounts(situation, question.on_hand, "on_hand", notes)
    for kit, count in list(on_hand.items()):
        for inner, amount in situation.unpacked(kit).items():
            on_hand[inner] = on_hand.get(inner, Fraction(0)) + count * amount
    return Asked(
        catalogue, question, situation, picks, on_hand, wishes_of(situation, question), notes, ends,
        lazy=lazy and question.prefer != "least_mass",
    )


def wishes_of(situation: Situation, question: a.Question) -> Wishes:
    """The wishes of a question. Raises QuestionError for names that are not known."""
    makers: Collection[str] = ()
    if question.avoid_makers:
        makers = {part.maker for part in situation.parts.values() if part.maker}
    known: Collection[str]
    for field, what, known in (
        ("keep", "place on this car", situation.baseline.places),
        ("avoid", "part", situation.parts),
        ("avoid_makers", "maker", makers),
        ("refuse_work", "work step", situation.catalogue.work),
    ):
        for i, name in enumerate(getattr(question, field)):
            if name not in known:
                raise QuestionError(
                    f"{field}.{i}", f"there is no {what} '{name}'", nearest_name(name, known)
                )
    for i, place in enumerate(question.keep):
        if place not in situation.baseline.fitted:
            raise QuestionError(
                f"keep.{i}", f"there is no stock part in the place '{place}' to keep",
                nearest_name(place, situation.baseline.fitted),
            )
    return Wishes(
        question.keep, question.avoid, question.avoid_makers, question.refuse_work,
        question.reversible_only, question.certain_only,
    )


def _amounts(
    situation: Situation, items: Iterable[a.Item], where: str, notes: list[str]
) -> dict[str, Fraction]:
    found: dict[str, Fraction] = {}
    for i, item in enumerate(items):
        part = known_part(situation, item.part, f"{where}.{i}.part")
        if where == "picks" and (newer := current(situation, part)) != part:
            notes.append(
                f"{situation.name(part)} ({part}) was replaced by {situation.name(newer)} ({newer})"
            )
            part = newer
        qty = _quantity(situation, part, item.qty, f"{where}.{i}.qty")
        units = situation.units(part)
        if where == "picks" and item.qty is not None and qty < units:
            notes.append(
                f"{situation.name(part)}: this car takes {units}, not {format_number(qty)}"
            )
        found[part] = found.get(part, Fraction(0)) + qty
    return found


def known_part(situation: Situation, part: str, where: str) -> str:
    """A part id that the catalogue has. Raises QuestionError with the nearest one otherwise."""
    if part not in situation.parts:
        near = nearest_name(part, situation.parts)
        raise QuestionError(where, f"there is no part '{part}'", near)
    return part


def current(situation: Situation, part: str) -> str:
    """The part to order today: the newest successor of one that was replaced."""
    after = [p for p in situation.successors(part) if situation.buyable(p)]
    return after[-1] if after else part


def _quantity(situation: Situation, part: str, qty: float | None, where: str) -> Fraction:
    pack = situation.parts[part].pack
    if qty is None:
        return pack.value if pack.unit else Fraction(max(situation.units(part), 1))
    exact = Fraction(str(qty))
    if not pack.unit and exact.denominator != 1:
        raise QuestionError(where, f"'{part}' is sold by the piece; expected a whole number")
    return exact
