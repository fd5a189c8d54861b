"""What is needed with this part: what every package has, what is left to choose, what to offer.

Worked out by entailment over the cone of the part (and the cart), without looking for the least
package: an answer holds for every package there is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from kb.catalogue import Catalogue
from kb.graph import node
from rules import answers as a
from rules.asking import Asked, ask
from rules.clashes import smallest_clash
from rules.cone import Cone
from rules.naming import (
    baseline_ref,
    catalog_ref,
    cautions_of,
    clash_of,
    measure_of,
    part_ref,
)
from rules.problem import Asker, Choice, NeedInstance, Problem
from rules.reasons import Reasons
from rules.sat import Sat

NOTHING = Fraction(0)


@dataclass(frozen=True, slots=True)
class _Open:
    """A need that is certain to be there, and what can still meet it."""

    need: NeedInstance
    choices: tuple[Choice, ...]
    met: bool


def needed(catalogue: Catalogue, part: str, question: a.Question) -> a.Needed:
    """What is needed with `part` on the question's car, beside the question's picks (the cart).

    Raises QuestionError for unknown names, OutOfTime past the deadline.
    """
    cart = question.model_copy(update={"picks": (a.Item(part=part), *question.picks)})
    alone = question.model_copy(update={"picks": (a.Item(part=part),)})
    asked = ask(catalogue, cart)
    against: tuple[a.ClashMember, ...] = ()
    if question.picks and (clash := _clash(asked)):
        against = clash.members
        asked = ask(catalogue, alone)
    with Sat(asked.problem, asked.reasons, question.deadline) as sat:
        if sat.solve():
            return _Survey(asked, sat, part).answer(against)
    return _refused(asked, part, against, _smallest(asked))


def _clash(asked: Asked) -> a.Clash | None:
    with Sat(asked.problem, asked.reasons, asked.question.deadline) as sat:
        if sat.solve():
            return None
    return _smallest(asked)


def _smallest(asked: Asked) -> a.Clash:
    return clash_of(smallest_clash(asked.problem, asked.reasons, asked.question.deadline))


def _refused(
    asked: Asked, part: str, against: tuple[a.ClashMember, ...], clash: a.Clash
) -> a.Needed:
    return a.Needed(
        catalog=catalog_ref(asked.catalogue), baseline=baseline_ref(asked.situation.baseline),
        part=part_ref(asked.situation, part), possible=False, notes=tuple(asked.notes),
        conflicts_with_cart=against, clashes=(clash,),
    )


class _Survey:
    def __init__(self, asked: Asked, sat: Sat, part: str) -> None:
        self.asked, self.sat = asked, sat
        self.at, self.problem = asked.situation, asked.problem
        self.part = next(iter(asked.problem.picks)) if asked.problem.picks else part
        self.must = sat.must_have()
        self.open = [o for need in self.problem.needs if (o := self._survey(need))]
        self.amounts: dict[str, Fraction] = {}
        self.falling_on: dict[str, list[_Open]] = {}
        """Certain needs that only one part can meet, by that part."""
        for found in self.open:
            parts = {choice.part for choice in found.choices}
            if len(parts) == 1 and (only := parts.pop()) is not None:
                self.falling_on.setdefault(only, []).append(found)

    def answer(self, against: tuple[a.ClashMember, ...]) -> a.Needed:
        """The whole answer."""
        measures = (
            measure_of(self.at, judged.members, judged.verdict) for judged in self.problem.judged
            if judged.verdict.verdict == "not_known" and self.must.issuperset(judged.literals)
        )
        parts = [key for kind, key in self._atoms() if kind == "new"]
        steps = [key for kind, key in self._atoms() if kind == "step"]
        return a.Needed(
            catalog=catalog_ref(self.asked.catalogue), baseline=baseline_ref(self.at.baseline),
            part=part_ref(self.at, self.part, self._amount(self.part)),
            possible=True, notes=tuple(self.asked.notes),
            must=tuple(self._must(parts)), choose=tuple(self._groups()),
            offer=tuple(self._offers()), conflicts_with_cart=against,
            work=tuple(self._work(steps)), measure_first=tuple(dict.fromkeys(measures)),
            comes_off=tuple(self._comes_off()), stays=tuple(self._stays()),
            cautions=tuple(cautions_of(self.at, parts, steps, ())),
        )

    def _atoms(self) -> Iterator[tuple[str, str]]:
        for variable in sorted(self.must):
            yield self.problem.atoms[variable]

    # -- needs that are certain ------------------------------------------------------------------

    def _survey(self, need: NeedInstance) -> _Open | None:
        if need.key.startswith("stock:") or not all(self._certain(g) for g in need.guard):
            return None
        possible = tuple(c for c in need.choices if self._possible(c.literal))
        return _Open(need, possible, any(c.literal in self.must for c in possible))

    def _certain(self, literal: int) -> bool:
        if literal in self.must:
            return True
        kind = self.problem.atoms[abs(literal)][0]
        if literal > 0 and kind in ("new", "step", "stays"):
            return False
        return not self.sat.solve([-literal])

    def _possible(self, literal: int) -> bool:
        return literal in self.must or self.sat.solve([literal])

    def _amount(self, part: str) -> Fraction:
        """The least of a part that every package wants."""
        if part not in self.amounts:
            self.amounts[part] = self.problem.own_amount(part)  # also ends any circle
            each, once = NOTHING, NOTHING
            for found in self.falling_on.get(part, ()):
                amount = self._asked(found.need)
                each, once = (
                    (each + amount, once) if found.need.each else (each, max(once, amount))
                )
            self.amounts[part] = max(self.amounts[part], each, once)
        return self.amounts[part]

    def _asked(self, need: NeedInstance) -> Fraction:
        """The least that a certain need asks for."""
        if not need.each:
            return need.amount
        certain = [
            self._units(asker) for asker in need.askers
            if asker.literal == 0 or asker.literal in self.must
        ]
        if not certain:
            # One of them is there, though not always the same one.
            certain = [min(
                (self._units(asker) for asker in need.askers if self._possible(asker.literal)),
                default=NOTHING,
            )]
        return need.amount * sum(certain, NOTHING)

    def _units(self, asker: Asker) -> Fraction:
        return self._amount(asker.part) if asker.part else Fraction(asker.units)

    # -- sections of the answer ------------------------------------------------------------------

    def _must(self, parts: Sequence[str]) -> Iterator[a.PartRef]:
        for part in parts:
            if part not in self.problem.picks:
                amount = max(self._amount(part), Fraction(1) if not self._unit(part) else NOTHING)
                yield part_ref(self.at, part, amount, self._because(part))

    def _unit(self, part: str) -> str:
        return self.at.parts[part].pack.unit

    def _because(self, part: str) -> str:
        """The first certain statement that asks for a part."""
        variable = self.problem.variables["new", part]
        for found in self.falling_on.get(part, ()):
            if {c.literal for c in found.choices} == {variable}:
                return found.need.reason.text
        for place in self.at.parts[part].takes:
            if reason := self._why_off(place):
                return reason
        return f"every package with {self.at.name(self.part)} has it"

    def _why_off(self, place: str) -> str:
        """The statement by which a stock part cannot stay, given what is certain."""
        variable = self.problem.variables.get(("stays", place))
        if variable is None:
            return ""
        for clause in self.problem.clauses:
            if -variable in clause.literals and all(
                -other in self.must for other in clause.literals if other != -variable
            ):
                return clause.reason.text
        return ""

    def _groups(self) -> Iterator[a.Group]:
        seen: set[frozenset[int]] = set()
        for found in self.open:
            options = frozenset(c.literal for c in found.choices)
            steps_only = all(c.step is not None for c in found.choices)
            if not found.met and len(options) > 1 and options not in seen and not steps_only:
                seen.add(options)
                yield self._group(found.need.reason.text, self._asked(found.need), found.choices)
        for place, takers in self.problem.exclusive.items():
            stays = self.problem.variables.get(("stays", place))
            displacers = self.problem.displacers.get(place, [])
            if stays is None or self.must.intersection(displacers) or self.sat.solve([stays]):
                continue
            options = frozenset(t for t in takers if self._possible(t))
            if len(options) > 1 and not any(options <= other for other in seen):
                seen.add(options)
                choices = [
                    Choice(t, self.problem.atoms[t][1]) for t in takers if t in options
                ]
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

    def _offers(self) -> Iterator[a.PartRef]:
        picks = self.problem.picks
        for edge in self.at.graph.out(node("part", self.part), "recommends"):
            offer = edge.statement
            if offer.part in picks or not self.at.holds(offer.when):
                continue
            if not self.at.buyable(offer.part):
                continue
            amount = offer.each.value * self._amount(self.part) if offer.each else Fraction(1)
            problem = Cone(self.at, {**picks, offer.part: amount}, self.problem.on_hand).problem
            if _solvable(problem, self.asked.reasons, self.asked.question.deadline):
                yield part_ref(self.at, offer.part, amount, offer.why or "")

    def _work(self, steps: Sequence[str]) -> Iterator[a.StepRef]:
        for step in steps:
            literal = self.problem.variables["step", step]
            why = next(
                (f.need.reason.text for f in self.open
                 if any(c.literal == literal for c in f.choices)), "",
            )
            yield self._step(step, why)
        for found in self.open:
            names = [c.step for c in found.choices if c.step]
            if len(names) > 1 and not found.met:
                for name in names:
                    yield self._step(name, f"one of: {found.need.reason.text}")

    def _step(self, step: str, why: str) -> a.StepRef:
        work = self.asked.catalogue.work[step]
        return a.StepRef(step=step, name=work.name, minutes=work.minutes.value, because=why)

    def _comes_off(self) -> Iterator[a.PartRef]:
        off = [
            place for place in self.problem.displacers
            if not self._possible(self.problem.variables["stays", place])
        ]
        for part, places in self._by_part(off):
            by = self.must.intersection(self.problem.displacers[places[0]])
            taken = [self.at.name(self.problem.atoms[v][1]) for v in sorted(by)]
            why = self._why_off(places[0]) or (
                f"{taken[0]} takes its place" if taken else self._vacant(places[0])
            )
            yield part_ref(self.at, part, self._count(places), why, places)

    def _stays(self) -> Iterator[a.PartRef]:
        relied: dict[str, str] = {}
        for found in self.open:
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


def _solvable(problem: Problem, reasons: Reasons, deadline: float) -> bool:
    with Sat(problem, reasons, deadline) as sat:
        return sat.solve()
