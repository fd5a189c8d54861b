"""From a question to a package: build the problem, find the least package, explain it, re-check."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import Any

from kb.baseline import Baseline, find_baseline
from kb.catalogue import Catalogue
from kb.errors import FaultyAnswer, OutOfTime, QuestionError, nearest_name
from kb.units import format_number
from rules import answers as a
from rules.amounts import Tally, need_amount, tallies
from rules.combining import Combined, judge
from rules.cone import Cone
from rules.explain import Explanation, Step
from rules.least import LEVELS, Solution, fitting_minutes, labour_cents
from rules.problem import Clause, Judged, Problem, Reason
from rules.reasons import Reasons
from rules.sat import Sat, smallest_clash
from rules.situation import Situation, situation_of
from rules.verify import verify
from rules.whole_car import least_package

GENERAL_CAUTION = (
    "This list helps to order parts. The vehicle maker's manual, local rules and a licensed "
    "workshop decide what is done to a car that goes on the road."
)


def package(catalogue: Catalogue, question: a.Question) -> a.Package:
    """The least complete package for a question, or why there is none.

    Raises QuestionError for unknown names, OutOfTime when the deadline passes without any answer,
    FaultyAnswer when the independent re-check finds fault.
    """
    asked = ask(catalogue, question)
    solution = least_package(asked.cone, question.prefer, question.deadline)
    if solution is None:
        return _impossible(asked)
    answer = _Assembly(asked, solution).package()
    findings = verify(catalogue, answer, question)
    if findings:
        raise FaultyAnswer(findings)
    return answer


@dataclass(slots=True)
class Asked:
    """A question turned into a problem."""

    catalogue: Catalogue
    question: a.Question
    cone: Cone
    notes: list[str]

    @property
    def situation(self) -> Situation:
        """The car the question is about."""
        return self.cone.at

    @property
    def problem(self) -> Problem:
        """The question in the solvers' terms."""
        return self.cone.problem

    @property
    def reasons(self) -> Reasons:
        """What says the statements in words."""
        return self.cone.say


def ask(catalogue: Catalogue, question: a.Question) -> Asked:
    """The problem of a question. Raises QuestionError for what the catalogue does not know."""
    baseline = find_baseline(catalogue, question.vehicle, question.year, question.variant)
    situation = situation_of(catalogue, baseline)
    notes: list[str] = []
    picks = _amounts(situation, question.picks, "picks", notes)
    on_hand = _amounts(situation, question.on_hand, "on_hand", notes)
    for kit in list(on_hand):
        for inner, amount in situation.parts[kit].contents.items():
            on_hand[inner] = on_hand.get(inner, Fraction(0)) + on_hand[kit] * amount.value
    return Asked(catalogue, question, Cone(situation, picks, on_hand), notes)


def _amounts(
    situation: Situation, items: Iterable[a.Item], where: str, notes: list[str]
) -> dict[str, Fraction]:
    found: dict[str, Fraction] = {}
    for i, item in enumerate(items):
        part = known_part(situation, item.part, f"{where}.{i}.part")
        if where == "picks":
            part = _current(situation, part, notes)
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


def _current(situation: Situation, part: str, notes: list[str]) -> str:
    """The part to order today: the newest successor of one that was replaced."""
    after = [p for p in situation.successors(part) if situation.buyable(p)]
    if not after:
        return part
    notes.append(
        f"{situation.name(part)} ({part}) was replaced by {situation.name(after[-1])} ({after[-1]})"
    )
    return after[-1]


def _quantity(situation: Situation, part: str, qty: float | None, where: str) -> Fraction:
    pack = situation.parts[part].pack
    if qty is None:
        return pack.value if pack.unit else Fraction(max(situation.units(part), 1))
    exact = Fraction(str(qty))
    if not pack.unit and exact.denominator != 1:
        raise QuestionError(where, f"'{part}' is sold by the piece; expected a whole number")
    return exact


# -- impossible ---------------------------------------------------------------------------------


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


def clash_of(reasons: Iterable[Reason]) -> a.Clash:
    """A clash in the words of the catalogue: picks first."""
    order = ("pick", "wish", "contents", "need", "rule", "work")
    rank = {kind: i for i, kind in enumerate(order)}
    members = sorted(reasons, key=lambda r: rank.get(r.type, len(order)))
    return a.Clash(members=tuple(
        a.ClashMember(type=r.type, text=r.text, basis=r.basis, source=r.source) for r in members
    ))


# -- possible ---------------------------------------------------------------------------------


def catalog_ref(catalogue: Catalogue) -> a.CatalogRef:
    """The catalogue as named in an answer."""
    header = catalogue.header
    return a.CatalogRef(name=header.name, digest=catalogue.digest, currency=header.currency)


def baseline_ref(baseline: Baseline) -> a.BaselineRef:
    """The car as named in an answer."""
    return a.BaselineRef(
        id=baseline.id, name=baseline.name, vehicle=baseline.vehicle_id,
        variant=baseline.variant_id, year=baseline.year,
        equipment=tuple(sorted(baseline.equipment)),
    )


def money(cents: int) -> str:
    """Hundredths of the currency as a decimal text."""
    return str((Decimal(cents) / 100).quantize(Decimal("0.01")))


def measure_of(situation: Situation, judged: Judged) -> a.Measure:
    """What has to be measured before a combination can be judged."""
    names = " with ".join(situation.name(member.part) for member in judged.members)
    verb = "go together" if len(judged.members) > 1 else "goes on"
    return a.Measure(
        what="; ".join(judged.verdict.measure), because=f"to know whether {names} {verb}"
    )


def check_line(situation: Situation, found: Combined) -> a.CheckLine:
    """A judged combination as named in an answer."""
    verdict, parts = found.verdict, tuple(member.part for member in found.members)
    return a.CheckLine(
        check=verdict.check, parts=parts, names=tuple(map(situation.name, parts)),
        axle=found.axle, verdict=verdict.verdict, says=verdict.says, margin=verdict.margin,
        required=verdict.required, worst_case=verdict.worst_case, unit=verdict.unit,
        values=tuple(
            a.UsedValue(name=v.name, value=v.value, basis=v.basis) for v in verdict.values
        ),
        formula=verdict.formula, source=verdict.source, basis=verdict.basis,
    )


def cautions_of(
    situation: Situation, parts: Iterable[str], steps: Iterable[str], rules: Iterable[str]
) -> Iterable[a.Caution]:
    """Every caution of these parts, work steps and general rules, each said once."""
    about: dict[str, dict[str, None]] = {GENERAL_CAUTION: {}}
    for part in parts:
        stated = situation.parts[part]
        kind = type(stated.dimensions).caution
        for text in (*((kind,) if kind else ()), *stated.cautions):
            about.setdefault(text, {})[part] = None
    for step in steps:
        for text in situation.catalogue.work[step].cautions:
            about.setdefault(text, {})[step] = None
    for rule in rules:
        for text in situation.catalogue.rules[rule].cautions:
            about.setdefault(text, {})[rule] = None
    return [a.Caution(text=text, about=tuple(keys)) for text, keys in about.items()]


class _Assembly:
    """Turns one solution into a package."""

    def __init__(self, asked: Asked, solution: Solution) -> None:
        self.asked, self.solution = asked, solution
        self.at, self.problem = asked.situation, asked.problem
        self.why = Explanation(self.at, self.problem, solution)
        self.tallies: Mapping[str, Tally] = tallies(self.at, self.problem, solution)
        self.serving = self._serving()
        with Sat(self.problem, asked.reasons, asked.question.deadline) as sat:
            must = sat.must_have()
        self.must = {self.problem.atoms[v][1] for v in must if self.problem.atoms[v][0] == "new"}

    def package(self) -> a.Package:
        """The whole answer."""
        opened = {v for v in self.solution.true if self.problem.atoms[v][0] == "open"}
        lines = (*self._new_lines(), *self._kept_lines())
        return a.Package(
            catalog=catalog_ref(self.asked.catalogue),
            baseline=baseline_ref(self.at.baseline),
            outcome="complete_once_measured" if opened else "complete",
            notes=(*self.asked.notes, *self._notes()),
            lines=lines,
            comes_off=tuple(self._comes_off()),
            work=tuple(self._work()),
            checks=tuple(self._checks()),
            measure_first=tuple(self._measures(opened)),
            cautions=tuple(self._cautions()),
            totals=self._totals(),
            proof=a.Proof(least=self.solution.proven, by=LEVELS[self.asked.question.prefer]),
            unused=tuple(self._unused()),
        )

    # -- lines ----------------------------------------------------------------------------------

    def _serving(self) -> dict[tuple[str, str], list[a.Serving]]:
        """For every atom, the needs that fall on it."""
        wanted = {part: tally.wanted for part, tally in self.tallies.items()}
        found: dict[tuple[str, str], list[a.Serving]] = {}
        for need, choice in self.solution.assigned:
            amount = need_amount(need, self.solution, wanted)
            found.setdefault(self.problem.atoms[choice.literal], []).append(a.Serving(
                need=need.key, asked_by=need.owner, qty=float(amount), text=need.reason.text,
            ))
        return found

    def _new_lines(self) -> Iterable[a.Line]:
        order = self._order()
        for part in sorted(self.tallies, key=lambda p: order[p]):
            tally = self.tallies[part]
            if tally.wanted or part in self.problem.picks:
                yield self._line(part, tally)

    def _order(self) -> dict[str, tuple[Any, ...]]:
        """Picks first, then by the length of the chain that led to a part, then by name."""
        picks = list(self.problem.picks)
        return {
            part: (
                picks.index(part) if part in picks else len(picks),
                len(self.why.chain("new", part)), self.at.parts[part].kind, part,
            )
            for part in self.tallies
        }

    def _line(self, part: str, tally: Tally) -> a.Line:
        stated = self.at.parts[part]
        status = self._status(part, tally)
        price = None
        if stated.price is not None or not tally.packs:
            price = money(tally.packs * stated.price.cents if stated.price else 0)
        return a.Line(
            part=part, name=stated.name, kind=stated.kind, maker=stated.maker or "",
            status=status, qty=float(tally.wanted), unit=stated.pack.unit,
            bought=float(tally.bought), packs=tally.packs, pack=float(stated.pack.value),
            spare=float(tally.spare), in_kit=self._kit_of(part, tally),
            on_hand=float(tally.on_hand),
            places=tuple(p for p in stated.takes if p in self.at.baseline.places),
            price=price, because=self._links("new", part),
            serves=tuple(self.serving.get(("new", part), ())),
            instead=self._instead(part) if status == "chosen" else (),
        )

    def _status(self, part: str, tally: Tally) -> a.Status:
        if part in self.problem.picks:
            return "picked"
        if tally.wanted and tally.on_hand == tally.wanted:
            return "on_hand"
        return "needed" if part in self.must else "chosen"

    def _kit_of(self, part: str, tally: Tally) -> str | None:
        if not tally.from_kits:
            return None
        return next(k for k in sorted(self.solution.kits) if part in self.problem.kits[k])

    def _kept_lines(self) -> Iterable[a.Line]:
        """Stock parts that stay and that something new relies on, one line for all their places."""
        kept = self._kept_places()
        relied: dict[str, list[a.Serving]] = {}
        for (kind, place), serving in sorted(self.serving.items()):
            asked = [s for s in serving if not s.need.startswith("stock:")]
            if kind == "stays" and asked:
                relied.setdefault(self.at.baseline.fitted[place], []).extend(asked)
        for part, asked in relied.items():
            stated = self.at.parts[part]
            places = tuple(p for p in self.at.stock_places[part] if p in kept)
            count = sum(self.at.baseline.places[place].count for place in places)
            link = a.Link(
                node=asked[0].asked_by, text=asked[0].text, basis="common_practice", source=""
            )
            yield a.Line(
                part=part, name=stated.name, kind=stated.kind, maker=stated.maker or "",
                status="kept", qty=float(count), unit=stated.pack.unit, bought=0.0, packs=0,
                pack=float(stated.pack.value), spare=0.0, in_kit=None, on_hand=0.0,
                places=places, price=money(0), because=(link,), serves=tuple(asked), instead=(),
            )

    def _links(self, kind: str, key: str) -> tuple[a.Link, ...]:
        return tuple(self._link(step) for step in self.why.chain(kind, key))

    def _link(self, step: Step) -> a.Link:
        kind, key = step.node
        section = {"new": "part", "stays": "place", "step": "step"}[kind]
        reason = step.reason
        return a.Link(
            node=f"{section}:{key}", text=reason.text, basis=reason.basis, source=reason.source
        )

    def _instead(self, part: str) -> tuple[a.Instead, ...]:
        """What else could stand in this line, with the difference of the whole package."""
        return tuple(sorted(
            (
                a.Instead(
                    part=other, name=self.at.name(other),
                    difference=self._difference(part, other),
                )
                for other in self._rivals(part)
            ),
            key=lambda i: (i.difference is None, Decimal(i.difference or 0), i.part),
        ))

    def _rivals(self, part: str) -> list[str]:
        rivals: dict[str, None] = {}
        for need, choice in self.solution.assigned:
            if choice.part == part:
                rivals.update((c.part, None) for c in need.choices if c.part and not c.stock_place)
        for place in self.at.parts[part].takes:
            for literal in self.problem.exclusive.get(place, ()):
                rivals[self.problem.atoms[literal][1]] = None
        rivals.pop(part, None)
        with Sat(self.problem, self.asked.reasons, self.asked.question.deadline) as sat:
            new = self.problem.variables["new", part]
            found = [
                rival for rival in rivals
                if sat.solve([self.problem.variables["new", rival], -new])
            ]
        return sorted(found)

    def _difference(self, part: str, other: str) -> str | None:
        """Price of the best package with `other` in place of `part`, less this one's."""
        question, cone = self.asked.question, self._swaps
        if not question.alternatives:
            return None
        wish = Reason("wish", "wish", "a swap")
        cone.problem.clauses += [
            Clause((cone.problem.variables["new", other],), wish),
            Clause((-cone.problem.variables["new", part],), wish),
        ]
        try:
            swapped = least_package(cone, question.prefer, question.deadline)
        except OutOfTime:
            return None
        finally:
            cone.problem.clauses = [c for c in cone.problem.clauses if c.reason is not wish]
        if swapped is None:
            return None
        return f"{Decimal(swapped.costs['money'] - self.solution.costs['money']) / 100:+.2f}"

    @cached_property
    def _swaps(self) -> Cone:
        """A cone of its own to try swaps in: trying may make a cone grow."""
        return Cone(self.at, self.problem.picks, self.problem.on_hand)

    # -- the rest -------------------------------------------------------------------------------

    def _notes(self) -> Iterable[str]:
        for kit, count in sorted(self.solution.kits.items()):
            for inner, amount in self.at.parts[kit].contents.items():
                wanted = self.tallies[inner].wanted if inner in self.tallies else Fraction(0)
                left = amount.value * count - wanted
                if left > 0:
                    yield (
                        f"{self.at.name(kit)}: {format_number(left)} {amount.unit} "
                        f"{self.at.name(inner)} left over".replace("  ", " ")
                    )

    def _comes_off(self) -> Iterable[a.ComesOff]:
        for place, displacers in sorted(self.problem.displacers.items()):
            by = [d for d in displacers if d in self.solution.true]
            if not by or place in self.solution.stays:
                continue
            part = self.at.baseline.fitted[place]
            yield a.ComesOff(
                part=part, name=self.at.name(part), place=place,
                place_name=self.at.place_name(place),
                count=self.at.baseline.places[place].count,
                because=self._links("new", self.problem.atoms[by[0]][1]),
            )

    def _work(self) -> Iterable[a.WorkLine]:
        for step in sorted(self.solution.steps):
            work = self.asked.catalogue.work[step]
            yield a.WorkLine(
                step=step, name=work.name, effect=work.effect, minutes=work.minutes.value,
                reversible=work.reversible, cautions=work.cautions,
                because=self._links("step", step),
                serves=tuple(self.serving.get(("step", step), ())),
            )

    def _checks(self) -> Iterable[a.CheckLine]:
        gone = self.at.baseline.fitted.keys() - self._kept_places()
        for found in judge(self.at, self.tallies, gone):
            yield check_line(self.at, found)

    def _kept_places(self) -> set[str]:
        """The places whose stock part stays: all that the problem does not displace."""
        displaced = self.problem.displacers.keys() - self.solution.stays
        return self.at.baseline.fitted.keys() - displaced

    def _measures(self, opened: set[int]) -> Iterable[a.Measure]:
        found = {
            measure_of(self.at, judged) for judged in self.problem.judged
            if judged.verdict.verdict == "not_known"
            and all(literal in self.solution.true for literal in judged.literals)
        }
        found |= {
            a.Measure(what=self.problem.atoms[choice.open][1], because=need.reason.text)
            for need, choice in self.solution.assigned if choice.open in opened
            if choice.open is not None
        }
        return sorted(found, key=lambda m: (m.what, m.because))

    def _cautions(self) -> Iterable[a.Caution]:
        rules = [
            need.owner.removeprefix("rule:") for need, _ in self.solution.assigned
            if need.owner.startswith("rule:")
        ]
        return cautions_of(self.at, self.tallies, sorted(self.solution.steps), rules)

    def _totals(self) -> a.Totals:
        parts, unpriced, mass = 0, [], 0.0
        minutes = [self.asked.catalogue.work[s].minutes.value for s in sorted(self.solution.steps)]
        for part, tally in self.tallies.items():
            stated = self.at.parts[part]
            if stated.price:
                parts += tally.packs * stated.price.cents
            elif tally.packs:
                unpriced.append(part)
            if stated.mass and not stated.contents:
                mass += stated.mass.value * float(tally.wanted)
            minutes.append(fitting_minutes(self.at, self.problem, part))
        for place in self.problem.displacers:
            stock = self.at.parts[self.at.baseline.fitted[place]]
            if place not in self.solution.stays and stock.mass:
                mass -= stock.mass.value * self.at.baseline.places[place].count
        labour = sum(labour_cents(self.at, each) for each in minutes)
        return a.Totals(
            currency=self.asked.catalogue.header.currency, parts=money(parts),
            labour=money(labour), price=money(parts + labour), minutes=round(sum(minutes), 1),
            mass_change=round(mass, 3), unpriced=tuple(unpriced),
        )

    def _unused(self) -> Iterable[a.Item]:
        for part, amount in sorted(self.problem.on_hand.items()):
            used = self.tallies[part].on_hand if part in self.tallies else Fraction(0)
            if amount > used:
                yield a.Item(part=part, qty=float(amount - used))
