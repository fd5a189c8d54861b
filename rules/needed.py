"""What is needed with this part: what every package has, what is left to choose, what to offer.

Worked out by entailment over the cone of the part (and the cart), without looking for the least
package: an answer holds for every package there is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from kb.catalogue import Catalogue
from kb.graph import node
from kb.statements import Recommendation
from rules import answers as a
from rules.asking import Asked, ask
from rules.clashes import smallest_clash
from rules.naming import (
    baseline_ref,
    catalog_ref,
    cautions_of,
    clash_of,
    measure_of,
    part_ref,
)
from rules.posed import Posed, in_reach, posed
from rules.problem import Choice
from rules.survey import NOTHING, Survey


def needed(catalogue: Catalogue, part: str, question: a.Question) -> a.Needed:
    """What is needed with `part` on the question's car, beside the question's picks (the cart).

    Raises QuestionError for unknown names, OutOfTime past the deadline.
    """
    with_cart = question.model_copy(update={"picks": (a.Item(part=part), *question.picks)})
    asked = ask(catalogue, with_cart)
    if answer := _possible(asked, ()):
        return answer
    clash = _smallest(asked)
    if not question.picks:
        return _refused(asked, (), clash)
    alone = question.model_copy(update={"picks": (a.Item(part=part),)})
    asked = ask(catalogue, alone)
    return _possible(asked, clash.members) or _refused(asked, clash.members, _smallest(asked))


def _smallest(asked: Asked) -> a.Clash:
    return clash_of(smallest_clash(in_reach(asked), asked.reasons, asked.question.deadline))


def _refused(asked: Asked, against: tuple[a.ClashMember, ...], clash: a.Clash) -> a.Needed:
    return a.Needed(
        catalog=catalog_ref(asked.catalogue), baseline=baseline_ref(asked.situation.baseline),
        part=part_ref(asked.situation, _meant(asked)), possible=False, notes=tuple(asked.notes),
        conflicts_with_cart=against, clashes=(clash,),
    )


def _meant(asked: Asked) -> str:
    """The part that is asked about: the first pick."""
    return next(iter(asked.picks))


def _possible(asked: Asked, against: tuple[a.ClashMember, ...]) -> a.Needed | None:
    """The answer where there is a package, None where there is not."""
    offers = list(_recommended(asked))
    with posed(asked, asked.picks, [offer.part for offer in offers]) as question:
        if not question.sat.solve():
            return None
        sections = _Sections(asked, question)
        answer = sections.answer(against)
        amount = sections.survey.amount(_meant(asked))
    offered = tuple(_offers(asked, offers, amount))
    return answer.model_copy(update={"offer": offered}) if offered else answer


def _recommended(asked: Asked) -> Iterator[Recommendation]:
    """What the catalogue recommends with the part on this car."""
    at = asked.situation
    for edge in at.graph.out(node("part", _meant(asked)), "recommends"):
        offer = edge.statement
        if offer.part not in asked.picks and at.holds(offer.when) and at.buyable(offer.part):
            yield offer


def _offers(
    asked: Asked, recommended: Iterable[Recommendation], units: Fraction
) -> Iterator[a.PartRef]:
    """Those of what is recommended that can go on the car as well."""
    for offer in recommended:
        amount = offer.each.value * units if offer.each else Fraction(1)
        with posed(asked, {**asked.picks, offer.part: amount}) as question:
            if question.sat.solve():
                yield part_ref(asked.situation, offer.part, amount, offer.why or "")


class _Sections:
    """The sections of an answer, each in an order that is the same however it was found."""

    def __init__(self, asked: Asked, question: Posed) -> None:
        self.asked, self.at, self.problem = asked, asked.situation, question.problem
        self.part, self._question = _meant(asked), question
        self.survey = Survey(question)
        self.must, self.possible = self.survey.must, self.survey.entailed.possible
        self._off = [
            place for place in sorted(self.problem.displacers)
            if not self.possible(self.problem.variables["stays", place])
        ]
        """The places whose stock part no package keeps."""

    def answer(self, against: tuple[a.ClashMember, ...]) -> a.Needed:
        """The whole answer, but for what is offered."""
        parts, steps = self.survey.parts(), self.survey.keys("step")
        return a.Needed(
            catalog=catalog_ref(self.asked.catalogue), baseline=baseline_ref(self.at.baseline),
            part=part_ref(self.at, self.part, self.survey.amount(self.part)),
            possible=True, notes=tuple(self.asked.notes),
            must=tuple(self._must(parts)), choose=tuple(self._groups()),
            conflicts_with_cart=against,
            work=tuple(self._work(steps)), measure_first=tuple(self._measures()),
            comes_off=tuple(self._comes_off()), stays=tuple(self._stays()),
            cautions=tuple(cautions_of(self.at, parts, steps, ())),
        )

    def _measures(self) -> list[a.Measure]:
        found = {
            measure_of(self.at, judged.members, judged.verdict)
            for judged in self._question.look_up.not_known(self.must)
        }
        return sorted(found, key=lambda measure: (measure.what, measure.because))

    def _must(self, parts: Sequence[str]) -> Iterator[a.PartRef]:
        for part in parts:
            if part not in self.asked.picks:
                least = NOTHING if self._unit(part) else Fraction(1)
                amount = max(self.survey.amount(part), least)
                yield part_ref(self.at, part, amount, self._because(part))

    def _unit(self, part: str) -> str:
        return self.at.parts[part].pack.unit

    def _because(self, part: str) -> str:
        """The first certain statement that asks for a part."""
        variable = self.problem.variables["new", part]
        for found in self.survey.falling_on.get(part, ()):
            if {c.literal for c in found.choices} == {variable}:
                return found.need.reason.text
        for place in self.at.parts[part].takes:
            if reason := self._why_off(place):
                return reason
        return f"every package with {self.at.name(self.part)} has it"

    def _why_off(self, place: str) -> str:
        """The statement by which a stock part cannot stay, given what is certain."""
        variable = self.problem.variables.get(("stays", place), 0)
        reasons = [
            clause.reason for clause in self._question.look_up.against.get(variable, ())
            if all(-other in self.must for other in clause.literals if other != -variable)
        ]
        reasons.sort(key=lambda reason: (reason.type == "check", reason.key))
        return reasons[0].text if reasons else ""

    def _groups(self) -> Iterator[a.Group]:
        seen: set[frozenset[int]] = set()
        inside = self._question.inside
        for found in self.survey.open:
            options = frozenset(c.literal for c in found.choices)
            steps_only = all(c.step is not None for c in found.choices)
            if not found.met and len(options) > 1 and options not in seen and not steps_only:
                seen.add(options)
                amount = self.survey.asked(found.need)
                yield self._group(found.need.reason.text, amount, found.choices)
        for place in self._off:
            if self.must.intersection(self.problem.displacers[place]):
                continue
            takers = self.problem.exclusive.get(place, ())
            options = frozenset(t for t in takers if t in inside and self.possible(t))
            if len(options) > 1 and not any(options <= other for other in seen):
                seen.add(options)
                choices = [Choice(t, self.problem.atoms[t][1]) for t in takers if t in options]
                count = Fraction(self.at.baseline.places[place].count)
                yield self._group(self._why_off(place) or self._vacant(place), count, choices)

    def _vacant(self, place: str) -> str:
        return f"the stock part in the place '{self.at.place_name(place)}' cannot stay"

    def _group(self, because: str, qty: Fraction, choices: Iterable[Choice]) -> a.Group:
        parts = [c.part for c in choices if c.part and not c.stock_place]
        stock: dict[str, tuple[str, ...]] = {}
        for choice in choices:
            if choice.part and choice.stock_place:
                before = stock.get(choice.part, ())
                stock[choice.part] = (*before, choice.stock_place)
        unit = self._unit(parts[0]) if parts else ""
        return a.Group(
            because=because, qty=float(qty), unit=unit,
            options=tuple(sorted(
                (part_ref(self.at, part) for part in dict.fromkeys(parts)),
                key=lambda ref: (ref.price is None, float(ref.price or 0), ref.part),
            )),
            stock=tuple(part_ref(self.at, part, places=places) for part, places in stock.items()),
        )

    def _work(self, steps: Sequence[str]) -> Iterator[a.StepRef]:
        for step in steps:
            literal = self.problem.variables["step", step]
            why = next(
                (f.need.reason.text for f in self.survey.open
                 if any(c.literal == literal for c in f.choices)), "",
            )
            yield self._step(step, why)
        for found in self.survey.open:
            names = [c.step for c in found.choices if c.step]
            if len(names) > 1 and not found.met:
                for name in names:
                    yield self._step(name, f"one of: {found.need.reason.text}")

    def _step(self, step: str, why: str) -> a.StepRef:
        work = self.asked.catalogue.work[step]
        return a.StepRef(step=step, name=work.name, minutes=work.minutes.value, because=why)

    def _comes_off(self) -> Iterator[a.PartRef]:
        for part, places in self._by_part(self._off):
            by = self.must.intersection(self.problem.displacers[places[0]])
            taken = sorted(self.at.name(self.problem.atoms[v][1]) for v in by)
            why = self._why_off(places[0]) or (
                f"{taken[0]} takes its place" if taken else self._vacant(places[0])
            )
            yield part_ref(self.at, part, self._count(places), why, places)

    def _stays(self) -> Iterator[a.PartRef]:
        relied: dict[str, str] = {}
        for found in self.survey.open:
            for choice in found.choices:
                if choice.stock_place and choice.literal in self.must:
                    relied.setdefault(choice.stock_place, found.need.reason.text)
        for part, places in self._by_part(relied):
            yield part_ref(self.at, part, self._count(places), relied[places[0]], places)

    def _by_part(self, places: Iterable[str]) -> Iterator[tuple[str, tuple[str, ...]]]:
        """Stock parts with those of these places they are in."""
        found: dict[str, tuple[str, ...]] = {}
        for place in places:
            part = self.at.baseline.fitted[place]
            found[part] = (*found.get(part, ()), place)
        yield from found.items()

    def _count(self, places: Iterable[str]) -> Fraction:
        return Fraction(sum(self.at.baseline.places[place].count for place in places))

