"""General rules in a cone: each waits until all of its conditions have a member inside."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING
from weakref import proxy

from kb.entries import Part, Rule
from kb.graph import key_of, node
from kb.statements import Selector
from rules.problem import Asker, Choice, NeedInstance

if TYPE_CHECKING:
    from rules.cone import Cone


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


class Rules:
    """The general rules of a cone, and the groups that selectors mean."""

    def __init__(self, cone: Cone) -> None:
        # A proxy, so that a cone goes with its question and waits for no collection.
        self.cone: Cone = proxy(cone)
        self.at, self.problem, self.say = cone.at, cone.problem, cone.say
        self.watch_part: dict[str, list[_Watch]] = {}
        self.watch_kind: dict[str, list[_Watch]] = {}
        self.known: dict[str, _RuleWatch] = {}

    def notice(self, names: Iterable[str]) -> None:
        """Look out for the rules that speak of what enters."""
        for name in names:
            for edge in self.at.graph.out(name, "when"):
                rule_id = key_of(edge.node)
                rule = self.at.catalogue.rules[rule_id]
                if self.at.baseline.applies(rule.on):
                    self.watch_rule(rule_id, rule)

    def watch_rule(self, rule_id: str, rule: Rule) -> None:
        """Let a rule wait for its conditions."""
        if rule_id not in self.known and not any(map(self.cone.is_served, rule.then_any)):
            watches = [self.watch(selector, None) for selector in rule.when]
            self.known[rule_id] = _RuleWatch(rule_id, rule, watches)

    def watch(self, selector: Selector, owner: str | None) -> _Watch:
        """A group that follows what enters, seeded with stock parts and what is inside."""
        variable = self._group()
        watch, members = _Watch(selector, owner, variable), self.problem.members[variable]
        if selector.step is not None:
            literal = self.cone.step(selector.step)
            if literal is not None:
                members.append(literal)
            return watch
        for place in self.at.stock_of(selector, owner):
            members.append(self.cone.stays(place))
        if selector.kind is not None:
            self.watch_kind.setdefault(selector.kind, []).append(watch)
            inside = list(self.cone.by_kind.get(selector.kind, ()))
        else:
            named = dict.fromkeys(selector.listed)
            for part in selector.listed:
                named.update(dict.fromkeys(self.at.successors(part)))
            for part in named:
                self.watch_part.setdefault(part, []).append(watch)
            inside = [part for part in named if part in self.cone.inside]
        for part in inside:
            self._join(watch, part, self.cone.inside[part])
        return watch

    def join(self, part_id: str, part: Part, new: int) -> None:
        """What enters joins every group that means it."""
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

    def fire(self) -> bool:
        """Let in each rule all of whose conditions have a member. True if any did."""
        fired = False
        for watch in list(self.known.values()):
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
            self.cone.open_denied((-literal,))
        reason = self.say.rule(watch.id, rule)
        amount = rule.each or rule.once
        choices: list[Choice] = []
        for selector in rule.then_any:
            choices += self.cone.needs.choices(selector, None)
        watch.need = len(self.problem.needs)
        self.problem.needs.append(NeedInstance(
            f"rule:{watch.id}", node("rule", watch.id), tuple(guard), (Asker(0, None, 1),),
            amount.value if amount else Fraction(1), rule.each is not None, tuple(choices), reason,
        ))

    def settle(self) -> None:
        """Count who asks, now that everything that could has joined the groups of each rule."""
        for watch in self.known.values():
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
