"""Turns one solution into a package: lines, what comes off, work, checks, cautions, totals."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import Any

from kb.errors import OutOfTime
from kb.units import format_number
from rules import answers as a
from rules.amounts import Tally, need_amount, tallies
from rules.asking import Asked
from rules.beside import beside
from rules.combining import Combined, judge
from rules.entailed import Entailed
from rules.explain import Explanation, Step
from rules.labour import fitting_minutes, labour_cents
from rules.naming import (
    baseline_ref,
    catalog_ref,
    cautions_of,
    known_check_line,
    measure_of,
    money,
)
from rules.problem import Atom
from rules.reasons import STATED_FIT
from rules.sat import Sat
from rules.solution import Solution
from rules.whole_car import Swaps


class Assembly:
    """Turns one solution into a package."""

    def __init__(self, asked: Asked, solution: Solution) -> None:
        self.asked, self.solution = asked, solution
        self.at, self.problem = asked.situation, solution.problem
        self.why = Explanation(self.at, self.problem, solution)
        self.tallies: Mapping[str, Tally] = tallies(self.at, self.problem, solution)
        self.serving = self._serving()
        self._made: dict[Atom, a.Link] = {}
        with Sat(self.problem, asked.reasons, asked.to_tell()) as sat:
            sat.solve()
            must = Entailed(sat, {variable for _, variable in self.problem.new_parts()}).must
            self.must = {key for _, key in map(self._atom, must)}
            self.rivals = {part: self._rivals(part, sat) for part in self.tallies
                           if self._status(part, self.tallies[part]) == "chosen"}

    def _atom(self, variable: int) -> Atom:
        return self.problem.atoms[variable]

    def package(self) -> a.Package:
        """The whole answer."""
        opened = {v for v in self.solution.true if self.problem.atoms[v][0] == "open"}
        measures = tuple(self._measures(opened))
        lines = (*self._new_lines(), *self._kept_lines())
        return a.Package(
            catalog=catalog_ref(self.asked.catalogue),
            baseline=baseline_ref(self.at.baseline),
            outcome="complete_once_measured" if measures else "complete",
            notes=(*self.asked.notes, *self._notes()),
            lines=lines,
            comes_off=tuple(self._comes_off()),
            beside=beside(self.at, self._displaced()),
            work=tuple(self._work()),
            checks=tuple(known_check_line(self.at, found) for found in self.judged),
            measure_first=measures,
            cautions=tuple(self._cautions()),
            totals=self._totals(),
            proof=a.Proof(least=self.solution.proven, by=tuple(self.solution.costs)),
            unused=tuple(self._unused()),
            asked=self.asked.question,
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
                why=need.reason.why,
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
                node=asked[0].asked_by, text=asked[0].text, why=asked[0].why,
                basis="common_practice", source="",
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
        """The link of a step, the same in every chain that it is part of."""
        if step.node not in self._made:
            self._made[step.node] = self._new_link(step)
        return self._made[step.node]

    def _new_link(self, step: Step) -> a.Link:
        kind, key = step.node
        section = {"new": "part", "stays": "place", "step": "step"}[kind]
        reason = step.reason
        return a.Link(
            node=f"{section}:{key}", text=reason.text, why=reason.why, basis=reason.basis,
            source=reason.source,
        )

    def _instead(self, part: str) -> tuple[a.Instead, ...]:
        """What else could stand in this line, with the difference of the whole package."""
        return tuple(sorted(
            (
                a.Instead(
                    part=other, name=self.at.name(other),
                    difference=self._difference(part, other),
                )
                for other in self.rivals[part]
            ),
            key=lambda i: (i.difference is None, Decimal(i.difference or 0), i.part),
        ))

    def _rivals(self, part: str, sat: Sat) -> list[str]:
        """What else could stand in a line."""
        rivals: dict[str, None] = {}
        for need, choice in self.solution.assigned:
            if choice.part == part:
                rivals.update((c.part, None) for c in need.choices if c.part and not c.stock_place)
        for place in self.at.parts[part].takes:
            for literal in self.problem.exclusive.get(place, ()):
                rivals[self.problem.atoms[literal][1]] = None
        rivals.pop(part, None)
        new = self.problem.variables["new", part]
        return sorted(
            rival for rival in rivals
            if sat.solve([self.problem.variables["new", rival], -new])
        )

    def _difference(self, part: str, other: str) -> str | None:
        """Price of the best package with `other` in place of `part`, less this one's."""
        if not self.asked.question.alternatives:
            return None
        try:
            price = self._swaps.money(part, other, self.asked.left())
        except OutOfTime:
            return None
        if price is None:
            return None
        return f"{Decimal(price - self.solution.costs['money']) / 100:+.2f}"

    @cached_property
    def _swaps(self) -> Swaps:
        return Swaps(self.asked, self.problem, self.asked.question.prefer)

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

    def _displaced(self) -> dict[str, str]:
        """The places whose stock part gave way, and what is there now."""
        return {
            place: part for part in self.tallies for place in self.at.parts[part].takes
            if place in self.at.baseline.fitted
        }

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

    @cached_property
    def judged(self) -> list[Combined]:
        """Every check of what will be on the car."""
        gone = self.at.baseline.fitted.keys() - self._kept_places()
        return list(judge(self.at, self.tallies, gone))

    def _kept_places(self) -> set[str]:
        """The places whose stock part stays: all that the problem does not displace."""
        displaced = self.problem.displacers.keys() - self.solution.stays
        return self.at.baseline.fitted.keys() - displaced

    def _measures(self, opened: set[int]) -> Iterable[a.Measure]:
        unknown = [found for found in self.judged if found.verdict.verdict == "not_known"]
        found = {measure_of(self.at, one.members, one.verdict) for one in unknown}
        found |= {
            measure_of(self.at, judged.members, judged.verdict) for judged in self.problem.judged
            if judged.verdict.check == STATED_FIT
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
        parts, mass = 0, 0.0
        unpriced: list[str] = []
        unweighed: list[str] = []
        minutes = [self.asked.catalogue.work[s].minutes.value for s in sorted(self.solution.steps)]
        for part, tally in self.tallies.items():
            stated = self.at.parts[part]
            if stated.price:
                parts += tally.packs * stated.price.cents
            elif tally.packs:
                unpriced.append(part)
            if stated.mass and not stated.contents:
                mass += stated.mass.value * float(tally.wanted)
            elif not stated.contents:
                unweighed.append(part)
            minutes.append(fitting_minutes(self.at, self.problem, part))
        for place in self.problem.displacers:
            stock = self.at.parts[self.at.baseline.fitted[place]]
            if place in self.solution.stays:
                continue
            if stock.mass:
                mass -= stock.mass.value * self.at.baseline.places[place].count
            else:
                unweighed.append(self.at.baseline.fitted[place])
        labour = sum(labour_cents(self.at, each) for each in minutes)
        return a.Totals(
            currency=self.asked.catalogue.header.currency, parts=money(parts),
            labour=money(labour), price=money(parts + labour), minutes=round(sum(minutes), 1),
            mass_change=round(mass, 3), unpriced=tuple(unpriced),
            unweighed=tuple(dict.fromkeys(unweighed)),
        )

    def _unused(self) -> Iterable[a.Item]:
        for part, amount in sorted(self.problem.on_hand.items()):
            used = self.tallies[part].on_hand if part in self.tallies else Fraction(0)
            if amount > used:
                yield a.Item(part=part, qty=float(amount - used))
