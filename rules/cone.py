"""Builds the problem of a question: only its cone, what can be reached from the picks.

Every statement is a clause with negative literals (when this is there ...) and positive ones (...
one of these must be). A statement enters once everything it is conditional on is inside; its
positive side is then pulled in. A stock part named on the negative side may have to come off, so
its place is opened: all that could go there is pulled in. Parts outside are absent, which is sound
and complete: nothing inside ever asks for them.

A lazy cone lets what is pulled in wait: it may be chosen, at its price and in its places, but what
it states is left out until `admit_waiting` is told that it was chosen. Leaving statements out can
only make the least package less, as long as what they might ask for is let in (the problem is then
`partial`). So once all in it have entered and it stands without that, it is the least of the full
cone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from fractions import Fraction

from kb.entries import Part
from kb.graph import node
from kb.statements import Selector
from rules.combining import Combined
from rules.cone_checks import Checks
from rules.cone_conflicts import Conflicts
from rules.cone_needs import Needs
from rules.cone_rules import Rules
from rules.problem import Clause, Problem, Reason, late
from rules.reasons import Reasons
from rules.situation import Member, Situation
from rules.wishes import Wishes

NO_WISHES = Wishes()

PATIENCE = 2
"""So many times a lazy cone lets in only what was chosen; then all of its kind come along."""


class Cone:
    """The problem of some picks, with what is on hand, on one car; it can still grow.

    `problem` is complete once the object is made. What is found only afterwards, when a whole
    package is looked at, is let in by `admit`.
    """

    def __init__(
        self, situation: Situation, picks: Mapping[str, Fraction], on_hand: Mapping[str, Fraction],
        wishes: Wishes = NO_WISHES, *, lazy: bool = False,
    ) -> None:
        self.at, self.wishes, self.lazy = situation, wishes, lazy
        self.problem = Problem(picks=dict(picks), on_hand=dict(on_hand), partial=lazy)
        self.say = Reasons(situation)
        self.queue: list[str] = []
        self.waiting: set[str] = set()
        self.certain: set[int] = set()
        self.patience = PATIENCE
        self.inside: dict[str, int] = {}
        self.by_kind: dict[str, list[str]] = {}
        self.opened: set[str] = set()
        self.touched: set[str] = set()
        self.steps: set[str] = set()
        self.barred: dict[str, list[tuple[tuple[str, ...], list[int], Reason]]] = {}
        """For each step: what it is barred with, what that is barred beside, and why."""
        self.needs, self.conflicts = Needs(self), Conflicts(self)
        self.rules, self.checks = Rules(self), Checks(self)
        for part in self.problem.picks:
            self._pick(part)
        for place in wishes.keep:
            if place in situation.baseline.fitted:
                self.clause((self.stays(place),), self.say.wish("keep", place))
        for rule_id in situation.always:
            self.rules.watch_rule(rule_id, situation.catalogue.rules[rule_id])
        self._close()

    def admit(self, found: Combined) -> bool:
        """Let in what a check says of parts that turned up together. False if it was in already."""
        if not self.checks.admit(found):
            return False
        self._close()
        return True

    def admit_waiting(self, chosen: Set[str]) -> bool:
        """Let in what is stated of parts that were chosen. False if they all were in already."""
        called = self.waiting & chosen
        if called:
            self.problem.partial = self.lazy
            self.patience -= 1
            if self.patience < 0:
                kinds = {self.at.parts[part].kind for part in called}
                called = {part for part in self.waiting if self.at.parts[part].kind in kinds}
            for part in sorted(called):
                self._call(part)
            self._close()
        return bool(called)

    def admit_all(self) -> bool:
        """Let in what is stated of all that waits. False if nothing does."""
        waited = bool(self.waiting)
        self.lazy = self.problem.partial = False
        for part in sorted(self.waiting):
            self._call(part)
        self._close()
        return waited

    def enter(self, parts: Iterable[str]) -> None:
        """Let in parts that nobody asks for, so that each of them may be assumed."""
        for part in parts:
            self.new(part)
        self._close()

    def is_served(self, selector: Selector) -> bool:
        """Whether what a selector asks for is there in any case, so that it need not be let in."""
        return False

    def open_place(self, place: str) -> None:
        """Let in all that could go in a place, whether or not anything asks for it."""
        self._open(place)
        self._close()

    def _close(self) -> None:
        """Follow everything that was pulled in until nothing more is."""
        while self.queue or self.rules.fire():
            while self.queue:
                self._enter(self.queue.pop())
        self.rules.settle()

    def _pick(self, part: str) -> None:
        reason = self.say.pick(part)
        if part in self.at.stock_places and not self.at.buyable(part):
            # A stock part nobody sells: to pick it is to ask that it stays.
            for place in self.at.stock_places[part]:
                self.clause((self.stays(place),), reason)
            return
        self.clause((self.new(part),), reason)
        self.is_certain(self.new(part))

    def new(self, part: str) -> int:
        """The literal of a part that may be added; it enters if it is new."""
        variable = self.problem.known("new", part)
        if variable is None:
            variable = self.problem.variable("new", part)
            if not self.lazy:
                self.queue.append(part)
            elif self._appear(part, variable):
                self._offer(part, variable)
                self.waiting.add(part)
        return variable

    def is_certain(self, literal: int) -> None:
        """What every package has need not wait."""
        self.certain.add(literal)
        kind, key = self.problem.atoms[literal]
        if kind == "new":
            self._call(key)

    def _call(self, part: str) -> None:
        """A part that waits has to enter."""
        if part in self.waiting:
            self.waiting.remove(part)
            self.queue.append(part)

    def stays(self, place: str) -> int:
        """The literal of a stock part that stays in its place."""
        self.problem.displacers.setdefault(place, [])
        return self.problem.variable("stays", place)

    def step(self, step: str) -> int | None:
        """The literal of a work step, or None where it is not possible on this car."""
        work = self.at.catalogue.work[step]
        if not self.at.baseline.applies(work.on):
            return None
        variable = self.problem.variable("step", step)
        if step not in self.steps:
            self.steps.add(step)
            for wish in self.wishes.against_step(step, work):
                self.clause((-variable,), self.say.wish(*wish))
            owner = node("step", step)
            self.rules.notice([owner])
            for i, need in enumerate(work.requires):
                self.needs.need(need, f"{owner}#{i}", owner, None, (variable,), (), variable, 1)
            for conflict in work.conflicts:
                self.conflicts.stated_by(conflict, owner, None, variable)
            self.conflicts.against(owner, variable)
            for barred in self.barred.get(step, ()):
                self._bar(*barred)
        return variable

    def bar(self, steps: tuple[str, ...], denied: list[int], reason: Reason) -> None:
        """Rule out work where all that `denied` denies is there, once all of it is inside."""
        for step in steps:
            self.barred.setdefault(step, []).append((steps, denied, reason))
        self._bar(steps, denied, reason)

    def _bar(self, steps: tuple[str, ...], denied: list[int], reason: Reason) -> None:
        if self.steps.issuperset(steps):
            not_done = [-self.problem.variable("step", step) for step in steps]
            self.clause((*denied, *not_done), reason)

    def unknown(self, missing: Sequence[str]) -> int:
        """A variable that holds when the package rests on a measurement not taken yet."""
        key = "; ".join(missing)
        known = self.problem.known("open", key)
        variable = self.problem.variable("open", key)
        if known is None and self.wishes.certain_only:
            self.clause((-variable,), self.say.wish("certain_only", ""))
        return variable

    def _appear(self, part_id: str, new: int) -> bool:
        """What is at once known of a part that may be added. False if it does not go on the car."""
        part = self.at.parts[part_id]
        self.problem.units[part_id] = self.at.units(part_id)
        if part.pack.unit:
            self.problem.measured.add(part_id)
        refusal = self.at.refusal(part_id)
        if refusal:
            self.clause((-new,), late(self.say.refusal, part_id, refusal))
            return False
        for wish in self.wishes.against_part(part_id, part):
            self.clause((-new,), self.say.wish(*wish))
        return True

    def _offer(self, part_id: str, new: int) -> None:
        """Let a part be chosen: where it goes, and what it comes out of or brings."""
        part = self.at.parts[part_id]
        if part.contents:
            self.problem.kits[part_id] = self.at.unpacked(part_id)
        self._takes(part, new)
        self._sources(part_id, part, new)

    def _enter(self, part_id: str) -> None:
        part, new = self.at.parts[part_id], self.problem.variable("new", part_id)
        self.inside[part_id] = new
        self.by_kind.setdefault(part.kind, []).append(part_id)
        has_waited = part_id in self.problem.units
        if not has_waited and not self._appear(part_id, new):
            return
        if not self.checks.alone(part_id, part) and part_id not in self.problem.picks:
            return
        if not has_waited:
            self._offer(part_id, new)
        self._stated_fit(part_id, part, new)
        self._disturb(part)
        self._contents(part_id, part, new)
        owner = node("part", part_id)
        for i, need in enumerate(part.requires):
            self.needs.need(need, f"{owner}#{i}", owner, part_id, (new,), (), new, None)
        for i, work in enumerate(part.work):
            condition = self.needs.condition(work.when, part_id)
            if condition is not None:
                guards, unless = condition
                steps = [(s, self.step(s)) for s in work.listed]
                self.needs.steps(
                    f"{owner}#work{i}", owner, (new, *guards), unless, steps,
                    late(self.say.work, part_id, work),
                )
        self.rules.join(part_id, part, new)
        self.rules.notice(self.at.names(part_id))
        for conflict in part.conflicts:
            self.conflicts.stated_by(conflict, owner, part_id, new)
        self.conflicts.against(owner, new)
        self.checks.together(part_id, part)

    def _sources(self, part_id: str, part: Part, new: int) -> None:
        """Where a part can come from: the order, what is on hand, or a kit."""
        literals = [self.new(kit) for kit in self.needs.kits_with(part_id)]
        if not self.at.buyable(part_id) and part_id not in self.problem.on_hand:
            self.clause((-new, *literals), late(self.say.not_sold, part_id))

    def _stated_fit(self, part_id: str, part: Part, new: int) -> None:
        if self.at.mounting_unknown(part_id):
            verdict = self.say.trial_needed(part_id)
            self.checks.let_in((Member(part_id),), None, verdict, ())
        for fits in self.at.stated_fits(part_id):
            for step in fits.work:
                literal = self.step(step)
                self.needs.steps(
                    f"part:{part_id}#fit-{step}", node("part", part_id), (new,), (),
                    [(step, literal)], self.say.fit_with_work(part_id, fits, step),
                )

    def _takes(self, part: Part, new: int) -> None:
        for place in part.takes:
            self.problem.exclusive.setdefault(place, []).append(new)
        for place in self._displaced_by(part):
            self.stays(place)
            self.problem.displacers[place].append(new)

    def _disturb(self, part: Part) -> None:
        for place in self._displaced_by(part):
            self._touch(place)

    def _displaced_by(self, part: Part) -> list[str]:
        return [p for p in (*part.takes, *part.clears) if p in self.at.baseline.fitted]

    def _contents(self, part_id: str, part: Part, new: int) -> None:
        for inner in self._brings(part):
            self.clause((-new, self.new(inner)), late(self.say.contents, part_id, inner))

    def _brings(self, part: Part) -> list[str]:
        """What of a kit goes on this car. The rest is left over: some kits serve several cars."""
        return [inner for inner in part.contents if not self.at.refusal(inner)]

    def _touch(self, place: str) -> None:
        """The stock part of a place may come off: whoever leans on it is looked at."""
        if place in self.touched:
            return
        self.touched.add(place)
        for asker_place, need in self.at.dependents.get(place, ()):
            asker = self.at.baseline.fitted[asker_place]
            stays = self.stays(asker_place)
            count = self.at.baseline.places[asker_place].count
            number = next(i for i, n in enumerate(self.at.parts[asker].requires) if n is need)
            key = f"stock:{asker_place}#{number}"
            if key not in self.touched:
                self.touched.add(key)
                self.needs.need(need, key, node("part", asker), asker, (stays,), (), stays, count,
                                by_stock=True)
        for rule_id in self.at.stock_rules.get(place, ()):
            self.rules.watch_rule(rule_id, self.at.catalogue.rules[rule_id])

    def _open(self, place: str) -> None:
        """The stock part of a place may have to come off: all that could go there enters."""
        if place in self.opened:
            return
        self.opened.add(place)
        for part in self.at.comers(place):
            self.new(part)

    def clause(self, literals: Iterable[int], reason: Reason) -> None:
        """Let a clause in, and what it denies come off."""
        clause = Clause(tuple(dict.fromkeys(literals)), reason)
        self.problem.clauses.append(clause)
        self.open_denied(clause.literals)

    def open_denied(self, literals: Iterable[int]) -> None:
        """Stock parts that may have to come off: their places are opened."""
        atoms = self.problem.atoms
        for literal in literals:
            if literal < 0:
                kind, key = atoms[-literal]
                if kind == "stays":
                    self._open(key)
                elif kind == "any":
                    self.open_denied([-member for member in self.problem.members[-literal]])
