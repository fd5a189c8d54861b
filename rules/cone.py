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

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from fractions import Fraction

from kb.entries import Part, Rule
from kb.graph import key_of, node
from kb.statements import Axle, Conflict, Need, Selector, When
from rules.checking import Verdict
from rules.combining import Combined, Placed, added
from rules.pairings import in_order, pairings_of
from rules.problem import Asker, Choice, Clause, Judged, NeedInstance, Problem, Reason, late
from rules.reasons import Reasons
from rules.situation import Member, Situation
from rules.wishes import Wishes

ONE = Fraction(1)
NO_WISHES = Wishes()

PATIENCE = 2
"""So many times a lazy cone lets in only what was chosen; then all of its kind come along."""


@dataclass(slots=True)
class _Watch:
    """A group whose members enter one by one: what a condition's selector means."""

    selector: Selector
    owner: str | None
    variable: int


@dataclass(slots=True)
class _RuleWatch:
    """A general rule that waits until each of its conditions has a member."""

    id: str
    rule: Rule
    watches: list[_Watch]
    done: bool = False
    need: int | None = None
    """Where its need stands in the problem."""
    new: int | None = None
    """The group of all that is not stock, where stock alone must not set the rule off."""


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
        self.watch_part: dict[str, list[_Watch]] = {}
        self.watch_kind: dict[str, list[_Watch]] = {}
        self.rules: dict[str, _RuleWatch] = {}
        self.placed: dict[str, list[Placed]] = {}
        self.pairings = pairings_of(situation)
        self.modifiers: dict[tuple[str, Axle | None], tuple[int, ...]] = {}
        self.steps: set[str] = set()
        self.admitted: set[_Judgement] = set()
        for part in self.problem.picks:
            self._pick(part)
        for place in wishes.keep:
            if place in situation.baseline.fitted:
                self._clause((self._stays(place),), self.say.wish("keep", place))
        for rule_id in situation.always:
            self._watch_rule(rule_id, situation.catalogue.rules[rule_id])
        self._close()

    def admit(self, found: Combined) -> bool:
        """Let in what a check says of parts that turned up together. False if it was in already."""
        judgement = _judgement(found.members, found.axle, found.verdict)
        if judgement in self.admitted:
            return False
        self.admitted.add(judgement)
        self._judge(found)
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
            self._new(part)
        self._close()

    def open_place(self, place: str) -> None:
        """Let in all that could go in a place, whether or not anything asks for it."""
        self._open(place)
        self._close()

    # -- the loop -------------------------------------------------------------------------------

    def _close(self) -> None:
        """Follow everything that was pulled in until nothing more is."""
        while self.queue or self._fire_rules():
            while self.queue:
                self._enter(self.queue.pop())
        self._settle_rules()

    def _pick(self, part: str) -> None:
        reason = self.say.pick(part)
        if part in self.at.stock_places and not self.at.buyable(part):
            # A stock part nobody sells: to pick it is to ask that it stays.
            for place in self.at.stock_places[part]:
                self._clause((self._stays(place),), reason)
            return
        self._clause((self._new(part),), reason)
        self._is_certain(self._new(part))

    # -- literals -------------------------------------------------------------------------------

    def _new(self, part: str) -> int:
        variable = self.problem.known("new", part)
        if variable is None:
            variable = self.problem.variable("new", part)
            if not self.lazy:
                self.queue.append(part)
            elif self._appear(part, variable):
                self._offer(part, variable)
                self.waiting.add(part)
        return variable

    def _is_certain(self, literal: int) -> None:
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

    def _stays(self, place: str) -> int:
        self.problem.displacers.setdefault(place, [])
        return self.problem.variable("stays", place)

    def _step(self, step: str) -> int | None:
        """The literal of a work step, or None where it is not possible on this car."""
        work = self.at.catalogue.work[step]
        if not self.at.baseline.applies(work.on):
            return None
        variable = self.problem.variable("step", step)
        if step not in self.steps:
            self.steps.add(step)
            for wish in self.wishes.against_step(step, work):
                self._clause((-variable,), self.say.wish(*wish))
            owner = node("step", step)
            self._notice_rules([owner])
            for i, need in enumerate(work.requires):
                self._need(need, f"{owner}#{i}", owner, None, (variable,), (), variable, 1)
            for conflict in work.conflicts:
                self._conflict_out(conflict, owner, None, variable)
            self._conflicts_in(owner, variable)
        return variable

    def _unknown(self, missing: Sequence[str]) -> int:
        """A variable that holds when the package rests on a measurement not taken yet."""
        key = "; ".join(missing)
        known = self.problem.known("open", key)
        variable = self.problem.variable("open", key)
        if known is None and self.wishes.certain_only:
            self._clause((-variable,), self.say.wish("certain_only", ""))
        return variable

    def _any(self, selector: Selector, owner: str | None) -> int:
        """A variable that holds when something the selector means is there."""
        return self._watch(selector, owner).variable

    # -- a part enters --------------------------------------------------------------------------

    def _appear(self, part_id: str, new: int) -> bool:
        """What is at once known of a part that may be added. False if it does not go on the car."""
        part = self.at.parts[part_id]
        self.problem.units[part_id] = self.at.units(part_id)
        if part.pack.unit:
            self.problem.measured.add(part_id)
        refusal = self.at.refusal(part_id)
        if refusal:
            self._clause((-new,), late(self.say.refusal, part_id, refusal))
            return False
        for wish in self.wishes.against_part(part_id, part):
            self._clause((-new,), self.say.wish(*wish))
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
        if not self._check_alone(part_id, part) and part_id not in self.problem.picks:
            return
        if not has_waited:
            self._offer(part_id, new)
        self._stated_fit(part_id, part, new)
        self._disturb(part)
        self._contents(part_id, part, new)
        owner = node("part", part_id)
        for i, need in enumerate(part.requires):
            self._need(need, f"{owner}#{i}", owner, part_id, (new,), (), new, None)
        for i, work in enumerate(part.work):
            condition = self._condition(work.when, part_id)
            if condition is not None:
                guards, unless = condition
                steps = [(s, self._step(s)) for s in work.listed]
                self._steps_need(
                    f"{owner}#work{i}", owner, (new, *guards), unless, steps,
                    late(self.say.work, part_id, work),
                )
        self._join_watches(part_id, part, new)
        self._notice_rules(self._names(part_id))
        for conflict in part.conflicts:
            self._conflict_out(conflict, owner, part_id, new)
        self._conflicts_in(owner, new)
        self._check_together(part_id, part)

    def _sources(self, part_id: str, part: Part, new: int) -> None:
        """Where a part can come from: the order, what is on hand, or a kit."""
        literals = [self._new(kit) for kit in self._kits_with(part_id)]
        if not self.at.buyable(part_id) and part_id not in self.problem.on_hand:
            self._clause((-new, *literals), late(self.say.not_sold, part_id))

    def _stated_fit(self, part_id: str, part: Part, new: int) -> None:
        if self.at.mounting_unknown(part_id):
            verdict = self.say.trial_needed(part_id)
            self._admit((Member(part_id),), None, verdict, ())
        for fits in self.at.stated_fits(part_id):
            for step in fits.work:
                literal = self._step(step)
                self._steps_need(
                    f"part:{part_id}#fit-{step}", node("part", part_id), (new,), (),
                    [(step, literal)], self.say.fit_with_work(part_id, fits, step),
                )

    def _takes(self, part: Part, new: int) -> None:
        for place in part.takes:
            self.problem.exclusive.setdefault(place, []).append(new)
        for place in self._displaced_by(part):
            self._stays(place)
            self.problem.displacers[place].append(new)

    def _disturb(self, part: Part) -> None:
        for place in self._displaced_by(part):
            self._touch(place)

    def _displaced_by(self, part: Part) -> list[str]:
        return [p for p in (*part.takes, *part.clears) if p in self.at.baseline.fitted]

    def _contents(self, part_id: str, part: Part, new: int) -> None:
        for inner in part.contents:
            # What does not go on this car is left over: some kits serve several cars.
            if not self.at.refusal(inner):
                self._clause((-new, self._new(inner)), late(self.say.contents, part_id, inner))

    # -- stock parts ----------------------------------------------------------------------------

    def _touch(self, place: str) -> None:
        """The stock part of a place may come off: whoever leans on it is looked at."""
        if place in self.touched:
            return
        self.touched.add(place)
        for asker_place, need in self.at.dependents.get(place, ()):
            asker = self.at.baseline.fitted[asker_place]
            stays = self._stays(asker_place)
            count = self.at.baseline.places[asker_place].count
            number = next(i for i, n in enumerate(self.at.parts[asker].requires) if n is need)
            key = f"stock:{asker_place}#{number}"
            if key not in self.touched:
                self.touched.add(key)
                self._need(need, key, node("part", asker), asker, (stays,), (), stays, count,
                           by_stock=True)
        for rule_id in self.at.stock_rules.get(place, ()):
            self._watch_rule(rule_id, self.at.catalogue.rules[rule_id])

    def _open(self, place: str) -> None:
        """The stock part of a place may have to come off: all that could go there enters."""
        if place in self.opened:
            return
        self.opened.add(place)
        for part in self.at.comers(place):
            self._new(part)

    def _clause(self, literals: Iterable[int], reason: Reason) -> None:
        clause = Clause(tuple(dict.fromkeys(literals)), reason)
        self.problem.clauses.append(clause)
        self._open_denied(clause.literals)

    def _open_denied(self, literals: Iterable[int]) -> None:
        atoms = self.problem.atoms
        for literal in literals:
            if literal < 0:
                kind, key = atoms[-literal]
                if kind == "stays":
                    self._open(key)
                elif kind == "any":
                    self._open_denied([-member for member in self.problem.members[-literal]])

    # -- needs ----------------------------------------------------------------------------------

    def _condition(
        self, when: When, owner: str | None
    ) -> tuple[tuple[int, ...], tuple[int, ...]] | None:
        """Guards and exceptions of a condition; None when it does not hold on this car."""
        if not when.model_fields_set:
            return (), ()
        if not self.at.holds(when):
            return None
        guards = tuple(self._any(selector, owner) for selector in when.present)
        unless = tuple(
            choice.literal for selector in when.absent for choice in self._choices(selector, owner)
        )
        return guards, unless

    def _need(
        self, need: Need, key: str, owner: str, owner_part: str | None,
        guard: tuple[int, ...], unless: tuple[int, ...], asker: int, units: int | None,
        *, by_stock: bool = False,
    ) -> None:
        """Add what a part, step or combination needs. `units` None counts the asker's quantity.

        A need of a stock part (`by_stock`) the factory met: stock parts meet it in any amount.
        """
        condition = self._condition(need.when, owner_part)
        if condition is None:
            return
        guards, more_unless = condition
        asking = Asker(asker, owner_part if units is None else None, units or 0)

        def least() -> Fraction:
            if not need.each:
                return need.amount.value
            asked = self.problem.own_amount(owner_part or "") if units is None else units
            return need.amount.value * asked

        self._add_need(
            key, owner, (*guard, *guards), (*unless, *more_unless), (asking,),
            need, self._choices(need, owner_part, None if by_stock else least),
            late(self.say.need, owner, need),
        )

    def _add_need(
        self, key: str, owner: str, guard: tuple[int, ...], unless: tuple[int, ...],
        askers: tuple[Asker, ...], need: Need, choices: tuple[Choice, ...], reason: Reason,
    ) -> None:
        if unless:
            guard = (*guard, *[-literal for literal in unless])
        self.problem.needs.append(NeedInstance(
            key, owner, guard, askers, need.amount.value, need.each is not None, choices, reason,
        ))
        if len(choices) == 1 and self.certain.issuperset(guard):
            self._is_certain(choices[0].literal)
        self._open_denied([-literal for literal in guard])

    def _steps_need(
        self, key: str, owner: str, guard: tuple[int, ...], unless: tuple[int, ...],
        steps: Sequence[tuple[str, int | None]], reason: Reason,
    ) -> None:
        choices = tuple(Choice(lit, None, step=s) for s, lit in steps if lit is not None)
        guard = (*guard, *(-literal for literal in unless))
        self.problem.needs.append(
            NeedInstance(key, owner, guard, (), ONE, False, choices, reason)
        )
        self._open_denied(-literal for literal in guard)

    def _choices(
        self, selector: Selector, owner: str | None, least: Callable[[], Fraction] | None = None
    ) -> tuple[Choice, ...]:
        """Everything a selector means, as literals; whatever can be added enters.

        `least` gives the least amount a need can come to; None where stock serves in any amount.
        """
        plain = self._plain_choices(selector)
        if plain is not None:
            return plain
        if selector.step is not None:
            literal = self._step(selector.step)
            return (Choice(literal, None, step=selector.step),) if literal else ()
        found: list[Choice] = []
        for candidate in self.at.candidates(selector, owner):
            opened = self._open_match(candidate.missing)
            stock = self.at.stock_places.get(candidate.part)
            if stock and selector.fitted is not False:
                found += self._stock_choices(
                    selector, candidate.part, opened, least() if least else None
                )
            fitted_only = selector.fitted is True or (selector.fitted is False and stock)
            if not fitted_only and self._obtainable(candidate.part):
                found.append(Choice(self._new(candidate.part), candidate.part, None, opened))
        return tuple(found)

    def _plain_choices(self, selector: Selector) -> tuple[Choice, ...] | None:
        """The choices of a selector that names parts, all on sale and none of them stock.

        None for any other: this is the short way for most needs of a large catalogue.
        """
        at, named = self.at, selector.listed
        if not named or selector.at is not None or selector.fitted is not None:
            return None
        unit = selector.amount.unit if isinstance(selector, Need) else None
        stock, for_sale, parts = at.stock_places, at.for_sale, at.parts
        for part in named:
            if part in stock or not for_sale(part):
                return None
            if unit is not None and parts[part].pack.unit != unit:
                return None
        known, new = self.problem.variables, self._new
        each = named if len(named) == 1 else dict.fromkeys(named)
        return tuple([Choice(known.get(("new", part)) or new(part), part) for part in each])

    def _obtainable(self, part: str) -> bool:
        """Whether a part can be added at all: ordered, on hand, or out of a kit."""
        if self.at.for_sale(part):
            return True
        if self.at.refusal(part):
            return False
        return part in self.problem.on_hand or bool(self._kits_with(part))

    def _kits_with(self, part: str) -> list[str]:
        """The kits that hold a part and can be had themselves."""
        return [kit for kit in self.at.kits_with(part) if self._obtainable(kit)]

    def _stock_choices(
        self, selector: Selector, part: str, opened: int | None, least: Fraction | None
    ) -> list[Choice]:
        """A stock part in the places meant: not for a need if used up, or if there are too few."""
        places = [p for p in self.at.stock_places.get(part, ()) if selector.at in (None, p)]
        if least is None:
            return [Choice(self._stays(place), part, place, opened) for place in places]
        if self.at.parts[part].one_time_use:
            return []
        counts = {place: self.at.baseline.places[place].count for place in places}
        if least > sum(counts.values()):
            return []
        return [
            Choice(self._stays(place), part, place, opened, kept=tuple(
                (self._stays(place), count) for place, count in counts.items()
            )) for place in places
        ]

    def _open_match(self, missing: tuple[str, ...]) -> int | None:
        return self._unknown(missing) if missing else None

    # -- conflicts ------------------------------------------------------------------------------

    def _conflict_out(
        self, conflict: Conflict, owner: str, owner_part: str | None, literal: int
    ) -> None:
        """A conflict stated by what enters: against what is inside, and against stock parts."""
        if not self.at.holds(conflict.when):
            return
        if conflict.step is not None:
            if conflict.step in self.steps:
                step = self.problem.variable("step", conflict.step)
                self._exclude(conflict, owner, owner_part, literal, step,
                              node("step", conflict.step), ())
            return
        for candidate in self.at.candidates(conflict, owner_part):
            target = node("part", candidate.part)
            if target == owner:
                continue
            stock = self.at.stock_places.get(candidate.part, ())
            only_stock = conflict.fitted is True or (conflict.fitted is False and stock)
            if candidate.part in self.inside and not only_stock:
                self._exclude(conflict, owner, owner_part, literal,
                              self.inside[candidate.part], target, candidate.missing)
            if conflict.fitted is not False:
                for place in stock:
                    if conflict.at in (None, place):
                        self._exclude(conflict, owner, owner_part, literal,
                                      self._stays(place), target, candidate.missing)

    def _conflicts_in(self, target: str, literal: int) -> None:
        """Conflicts that others state against what enters."""
        names: Sequence[str] = (target,)
        if target.startswith("part:"):
            names = self._names(key_of(target))
        for name in names:
            for edge in self.at.graph.into(name, "conflicts", self.at.car):
                conflict = edge.statement
                if isinstance(conflict, Conflict) and self.at.holds(conflict.when):
                    self._conflict_in(conflict, edge.node, target, literal)

    def _conflict_in(self, conflict: Conflict, owner: str, target: str, literal: int) -> None:
        section, _, key = owner.partition(":")
        owner_part = key if section == "part" else None
        missing: tuple[str, ...] = ()
        if conflict.step is None:
            found = [c for c in self.at.candidates(conflict, owner_part)
                     if node("part", c.part) == target]
            if not found or conflict.fitted is True or target == owner:
                return
            if conflict.fitted is False and key_of(target) in self.at.stock_places:
                return
            missing = found[0].missing
        owners = [self.inside[key]] if owner_part in self.inside else []
        if section == "step" and key in self.steps:
            owners = [self.problem.variable("step", key)]
        owners += [self._stays(place) for place in self.at.stock_places.get(owner_part or "", ())]
        for owner_literal in owners:
            self._exclude(conflict, owner, owner_part, owner_literal, literal, target, missing)

    def _exclude(
        self, conflict: Conflict, owner: str, owner_part: str | None, one: int, other: int,
        target: str, missing: tuple[str, ...],
    ) -> None:
        condition = self._condition(conflict.when, owner_part)
        if condition is None or one == other:
            return
        guards, unless = condition
        reason = late(self.say.conflict, owner, target, conflict)
        opened = (self._unknown(missing),) if missing else ()
        self._clause((-one, -other, *(-g for g in guards), *unless, *opened), reason)

    # -- general rules --------------------------------------------------------------------------

    def _names(self, part_id: str) -> Sequence[str]:
        """The nodes by which statements mean a part: itself, its kind, the parts it replaces."""
        return self.at.names(part_id)

    def _notice_rules(self, names: Iterable[str]) -> None:
        for name in names:
            for edge in self.at.graph.out(name, "when"):
                rule_id = key_of(edge.node)
                rule = self.at.catalogue.rules[rule_id]
                if self.at.baseline.applies(rule.on):
                    self._watch_rule(rule_id, rule)

    def _watch_rule(self, rule_id: str, rule: Rule) -> None:
        if rule_id not in self.rules:
            watches = [self._watch(selector, None) for selector in rule.when]
            self.rules[rule_id] = _RuleWatch(rule_id, rule, watches)

    def _watch(self, selector: Selector, owner: str | None) -> _Watch:
        """A group that follows what enters, seeded with stock parts and what is inside."""
        variable = self._group()
        watch, members = _Watch(selector, owner, variable), self.problem.members[variable]
        if selector.step is not None:
            literal = self._step(selector.step)
            if literal is not None:
                members.append(literal)
            return watch
        for place in self.at.stock_of(selector, owner):
            members.append(self._stays(place))
        if selector.kind is not None:
            self.watch_kind.setdefault(selector.kind, []).append(watch)
            inside = list(self.by_kind.get(selector.kind, ()))
        else:
            named = dict.fromkeys(selector.listed)
            for part in selector.listed:
                named.update(dict.fromkeys(self.at.successors(part)))
            for part in named:
                self.watch_part.setdefault(part, []).append(watch)
            inside = [part for part in named if part in self.inside]
        for part in inside:
            self._join(watch, part, self.inside[part])
        return watch

    def _join_watches(self, part_id: str, part: Part, new: int) -> None:
        for watch in (*self.watch_part.get(part_id, ()), *self.watch_kind.get(part.kind, ())):
            self._join(watch, part_id, new)

    def _join(self, watch: _Watch, part_id: str, new: int) -> None:
        selector, part = watch.selector, self.at.parts[part_id]
        if selector.fitted is True or self.at.refusal(part_id):
            return
        if selector.fitted is False and part_id in self.at.stock_places:
            return
        if selector.at is not None and selector.at not in part.takes:
            return
        # What may match counts as there: nothing is taken to be harmless for want of a number.
        members = self.problem.members[watch.variable]
        if self.at.match(selector, part_id, watch.owner)[0] is not False and new not in members:
            members.append(new)

    def _fire_rules(self) -> bool:
        """Let in each rule all of whose conditions have a member. True if any did."""
        fired = False
        for watch in list(self.rules.values()):
            if not watch.done and all(self.problem.members[w.variable] for w in watch.watches):
                watch.done = fired = True
                self._fire(watch)
        return fired

    def _fire(self, watch: _RuleWatch) -> None:
        rule = watch.rule
        guard = [w.variable for w in watch.watches]
        if watch.watches and self._stock_alone(watch) and not self.at.stock_meets(rule):
            # The factory's own combination is not questioned: something has to be new.
            watch.new = self._group()
            guard.append(watch.new)
        for literal in {m for w in watch.watches for m in self.problem.members[w.variable]}:
            self._open_denied((-literal,))
        reason = self.say.rule(watch.id, rule)
        amount = rule.each or rule.once
        choices: list[Choice] = []
        for selector in rule.then_any:
            choices += self._choices(selector, None)
        watch.need = len(self.problem.needs)
        self.problem.needs.append(NeedInstance(
            f"rule:{watch.id}", node("rule", watch.id), tuple(guard), (Asker(0, None, 1),),
            amount.value if amount else ONE, rule.each is not None, tuple(choices), reason,
        ))

    def _settle_rules(self) -> None:
        """Count who asks, now that everything that could has joined the groups of each rule."""
        for watch in self.rules.values():
            groups = [self.problem.members[w.variable] for w in watch.watches]
            if watch.new is not None:
                self.problem.members[watch.new] = sorted({
                    literal for group in groups for literal in group
                    if self.problem.atoms[literal][0] != "stays"
                })
            if watch.need is not None and watch.rule.each and groups:
                askers = tuple(self._asker(literal) for literal in groups[0])
                need = self.problem.needs[watch.need]
                self.problem.needs[watch.need] = need._replace(askers=askers)

    def _stock_alone(self, watch: _RuleWatch) -> bool:
        """Whether stock parts alone can meet every condition of a rule."""
        return all(self.at.stock_of(w.selector, None) for w in watch.watches)

    def _group(self) -> int:
        """A new variable that holds when one of its members does."""
        variable = self.problem.variable("any", str(len(self.problem.members)))
        self.problem.members[variable] = []
        return variable

    def _asker(self, literal: int) -> Asker:
        kind, key = self.problem.atoms[literal]
        if kind == "new":
            return Asker(literal, key)
        return Asker(literal, None, self.at.baseline.places[key].count if kind == "stays" else 1)

    # -- checks ---------------------------------------------------------------------------------

    def _check_alone(self, part_id: str, part: Part) -> bool:
        """Judge what enters by itself. False when it does not go on this car."""
        if not in_order(part.kind):
            return True
        for found in self.pairings.alone(added(self.at, part_id), part.kind):
            self._judge(found)
        return part_id not in self.pairings.refused

    def _check_together(self, part_id: str, part: Part) -> None:
        """Judge what enters with what is inside or stock."""
        if not in_order(part.kind):
            return
        me = added(self.at, part_id)
        for found in self.pairings.together(me, part.kind, self.placed):
            self._judge(found)
        self.placed.setdefault(part.kind, []).append(me)

    def _changed_by(self, found: Combined) -> tuple[int, ...]:
        """The literals of parts with which a bare combination would be judged otherwise."""
        if not found.bare or found.check.modifier is None:
            return ()
        key = (found.check.modifier, found.axle)
        if key not in self.modifiers:
            self.modifiers[key] = tuple(self._modifiers(*key))
        return self.modifiers[key]

    def _modifiers(self, kind: str, axle: Axle | None) -> Iterator[int]:
        for placed in self.pairings.stock.get(kind, ()):
            if axle in placed.axles:
                yield self._member(placed.member)
        for edge in self.at.graph.into(node("kind", kind), "is", self.at.car):
            part = key_of(edge.node)
            if self._obtainable(part) and axle in self.at.axles(part):
                yield self._new(part)

    def _member(self, member: Member) -> int:
        """The literal of a member of a combination."""
        if member.stock_place:
            return self._stays(member.stock_place)
        return self.inside.get(member.part) or self.problem.variable("new", member.part)

    def _judge(self, found: Combined) -> None:
        self._admit(found.members, found.axle, found.verdict, self._changed_by(found))

    def _admit(
        self, members: tuple[Member, ...], axle: Axle | None, verdict: Verdict,
        unless: tuple[int, ...],
    ) -> None:
        """Let a verdict into the problem as a clause, except where one of `unless` holds."""
        literals = tuple([self._member(member) for member in members])
        allowed = (*literals, *[-other for other in unless]) if unless else literals
        reason = late(self.say.check, members, axle, verdict)
        self.problem.judged.append(Judged(allowed, members, verdict, reason))
        denied = [-literal for literal in allowed]
        if verdict.verdict == "does_not_fit":
            self._clause(denied, reason)
        elif verdict.verdict == "not_known":
            opened = self._unknown(verdict.measure)
            self._clause((*denied, opened), reason)
        elif verdict.verdict == "fits_with_work":
            steps = [(step, self._step(step)) for step in verdict.work]
            key, owner = _judgement_key(members, axle, verdict), node("part", members[0].part)
            self._steps_need(key, owner, literals, unless, steps, reason)
        if verdict.needs:
            self._verdict_needs(members, axle, verdict, literals, unless)

    def _verdict_needs(
        self, members: tuple[Member, ...], axle: Axle | None, verdict: Verdict,
        literals: tuple[int, ...], unless: tuple[int, ...],
    ) -> None:
        key, owner = _judgement_key(members, axle, verdict), node("part", members[0].part)
        for i, need in enumerate(verdict.needs):
            units = self._units_on(members[0], axle)
            self._need(need, f"{key}#{i}", owner, members[0].part, literals, unless,
                       literals[0], units)

    def _units_on(self, member: Member, axle: Axle | None) -> int:
        if member.stock_place:
            return self.at.baseline.places[member.stock_place].count
        return self.at.units(member.part, axle) or 1


_Judgement = tuple[str, str, Axle | None, tuple[Member, ...]]


def _judgement(members: tuple[Member, ...], axle: Axle | None, verdict: Verdict) -> _Judgement:
    return verdict.check, verdict.aspect, axle, members


def _judgement_key(
    members: tuple[Member, ...], axle: Axle | None, verdict: Verdict
) -> str:
    names = "/".join(f"{m.part}@{m.stock_place}" if m.stock_place else m.part for m in members)
    return f"check:{verdict.check}/{verdict.aspect}/{axle}/{names}"
