"""What is still open: for each place and need, which parts are forced, possible or out, and why.

Exact, by entailment: a part is possible when some package has it, forced when all have it. Checks
of the whole car are judged on packages, so a part called possible may still fail one of those, and
a budget is held against packages only.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from kb.catalogue import Catalogue
from kb.errors import QuestionError, nearest_name
from rules import answers as a
from rules.asking import Asked, ask, known_part, wishes_of
from rules.clashes import smallest_clash
from rules.cone import Cone
from rules.naming import baseline_ref, catalog_ref, clash_of, part_ref
from rules.problem import Choice, NeedInstance
from rules.sat import Sat

BUDGET_ASIDE = (
    "The budget is left aside here: what is possible may still cost too much. "
    "A package or offers keep to it."
)


def options(
    catalogue: Catalogue, question: a.Question, places: tuple[str, ...] = (),
    why: tuple[str, ...] = (),
) -> a.Options:
    """The options of a question: of the named places, or of all that its picks touch.

    `why` names parts whose refusal is to be explained by a smallest clash. Raises QuestionError
    for unknown names, OutOfTime past the deadline.
    """
    asked = ask(catalogue, question)
    for i, place in enumerate(places):
        if place not in asked.situation.baseline.places:
            known = asked.situation.baseline.places
            raise QuestionError(
                f"places.{i}", f"this car has no place '{place}'", nearest_name(place, known)
            )
    for i, part in enumerate(why):
        known_part(asked.situation, part, f"why_not.{i}")
    touched = [*asked.problem.exclusive, *asked.problem.displacers]
    shown = tuple(sorted(dict.fromkeys(places or touched)))
    for place in shown:
        asked.cone.open_place(place)
    with Sat(asked.problem, asked.reasons, asked.left()) as sat:
        if not sat.solve():
            clash = clash_of(smallest_clash(asked.problem, asked.reasons, asked.left()))
            return _answer(asked, possible=False, clashes=(clash,))
        survey = _Survey(asked, sat)
        return _answer(
            asked, possible=True,
            places=tuple(survey.place(place) for place in shown),
            needs=tuple(survey.needs()),
            refused=tuple(_refused(asked, part) for part in why),
        )


def _answer(asked: Asked, **sections: object) -> a.Options:
    notes = [*asked.notes, *([BUDGET_ASIDE] if asked.question.budget is not None else [])]
    return a.Options(
        catalog=catalog_ref(asked.catalogue), baseline=baseline_ref(asked.situation.baseline),
        notes=tuple(notes), **sections,
    )


def _refused(asked: Asked, part: str) -> a.Refused:
    """Why a part is out: the smallest clash of asking for it as well."""
    at = asked.situation
    picks = {**asked.problem.picks, part: Fraction(max(at.units(part), 1))}
    cone = Cone(at, picks, asked.problem.on_hand, wishes_of(at, asked.question))
    clash = smallest_clash(cone.problem, cone.say, asked.left())
    return a.Refused(
        part=part, name=at.name(part), out=bool(clash),
        clash=clash_of(clash) if clash else None,
    )


class _Survey:
    def __init__(self, asked: Asked, sat: Sat) -> None:
        self.asked, self.sat = asked, sat
        self.at, self.problem = asked.situation, asked.problem
        self.must = sat.must_have()
        every = [
            v for v, (kind, _) in enumerate(self.problem.atoms) if kind in ("new", "stays", "step")
        ]
        self.can = sat.possible(every)

    def _state(self, literal: int) -> a.OptionState:
        if literal in self.must:
            return "forced"
        return "possible" if literal in self.can else "out"

    def place(self, place: str) -> a.PlaceOptions:
        """What can be in one place."""
        stock = self.at.baseline.fitted.get(place)
        stays = self.problem.known("stays", place)
        return a.PlaceOptions(
            place=place, name=self.at.place_name(place),
            stock=None if stock is None else a.Option(
                ref=part_ref(self.at, stock, places=(place,)),
                state="forced" if stays is None else self._state(stays),
            ),
            parts=tuple(self._options(
                Choice(literal, self.problem.atoms[literal][1])
                for literal in self.problem.exclusive.get(place, ())
            )),
        )

    def needs(self) -> Iterator[a.NeedOptions]:
        """Every certain need that more than one thing was stated for."""
        for need in self.problem.needs:
            if len(need.choices) > 1 and self._certain(need):
                steps = [c for c in need.choices if c.step]
                yield a.NeedOptions(
                    because=need.reason.text,
                    parts=tuple(self._options(c for c in need.choices if c.part)),
                    steps=tuple(
                        a.StepOption(
                            step=c.step or "", state=self._state(c.literal),
                            name=self.asked.catalogue.work[c.step or ""].name,
                        )
                        for c in steps
                    ),
                )

    def _certain(self, need: NeedInstance) -> bool:
        if need.key.startswith("stock:"):
            return False
        return all(g in self.must or not self.sat.solve([-g]) for g in need.guard)

    def _options(self, choices: Iterator[Choice]) -> Iterator[a.Option]:
        seen: dict[tuple[str, str], a.Option] = {}
        for choice in choices:
            part, place = choice.part or "", choice.stock_place or ""
            seen[part, place] = a.Option(
                ref=part_ref(self.at, part, places=(place,) if place else ()),
                state=self._state(choice.literal), stock=bool(place),
            )
        order = ("forced", "possible", "out")
        yield from sorted(
            seen.values(),
            key=lambda o: (order.index(o.state), float(o.ref.price or 0), o.ref.part),
        )
