"""Answers of one catalogue, as far as they are compared with another's."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from functools import cached_property

from kb.baseline import Baseline, baselines
from kb.catalogue import Catalogue
from kb.errors import QuestionError
from rules import answers as a
from rules.asking import Asked, ask
from rules.clashes import smallest_clash
from rules.naming import money
from rules.resolve import checked
from rules.sameness import Lines, Solved, Told, form, told_of
from rules.situation import situation_of
from rules.solution import Solution
from rules.whole_car import least_package, unknown_of_the_whole


@dataclass(frozen=True)
class Brief:
    """An answer as it is compared."""

    outcome: str
    price: str | None = None
    lines: Lines = frozenset()
    measures: frozenset[str] = frozenset()


NO_SUCH = "the catalogue does not have this car or this part"


class Answers:
    """The answers of one catalogue; what is solved is shared with the other's."""

    def __init__(self, catalogue: Catalogue, deadline: float) -> None:
        self.catalogue, self.deadline = catalogue, deadline
        self._said: dict[Hashable, str] = {}

    @cached_property
    def _cars(self) -> dict[str, Baseline]:
        return {car.id: car for car in baselines(self.catalogue)}

    def sells(self, part: str, car: str) -> bool:
        """Whether a part can be ordered for a car, given by its id."""
        known = part in self.catalogue.parts and car in self._cars
        return known and situation_of(self.catalogue, self._cars[car]).for_sale(part)

    def ask(self, question: a.Question) -> Asked | None:
        """The question as a problem; None where this catalogue does not know its car or part."""
        try:
            return ask(self.catalogue, question, lazy=True)
        except QuestionError:
            return None

    def find(self, asked: Asked, solved: Solved) -> Told | None:
        """The least package of a question, by names. Raises OutOfTime."""
        found = least_package(asked.cone, asked.question.prefer, self.deadline, solve=solved)
        assert found is None or isinstance(found, Told)
        return found

    def brief(self, asked: Asked | None, found: Told | None) -> Brief:
        """An answer as it is compared."""
        if asked is None or found is None:
            return Brief("impossible")
        unknown = unknown_of_the_whole(asked.cone, found)
        measures = found.measures | {told_of(asked.situation, what) for what in unknown}
        return Brief(
            "complete_once_measured" if measures else "complete",
            money(found.costs["money"]), found.lines, measures,
        )

    def recheck(self, asked: Asked | None, found: Told | None) -> str:
        """Have an answer re-checked, once for answers that are alike.

        What comes back says why there is none. Raises FaultyAnswer, OutOfTime.
        """
        if asked is None:
            return NO_SUCH
        key = form(asked.situation, asked.problem)
        if key not in self._said:
            again = ask(self.catalogue, asked.question, lazy=found is not None)
            self._said[key] = self._rechecked(again)
        return self._said[key]

    def _rechecked(self, asked: Asked) -> str:
        found: Solution | None = least_package(asked.cone, asked.question.prefer, self.deadline)
        if found is not None:
            checked(asked, found)
            return ""
        clash = smallest_clash(asked.problem, asked.reasons, self.deadline)
        return "; ".join(reason.text for reason in clash if reason.type != "pick")
