"""The needs of all that is in a package, held against what is on the car."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from kb.statements import Need
from rules.verify_amounts import Demand, allocate, shortest
from rules.verify_car import exact
from rules.verify_checks import Checks
from rules.verify_scene import Scene, There


class Needs:
    """What the parts, work and rules of a package ask for. `picked` is what the question does."""

    def __init__(self, scene: Scene, checks: Checks, picked: Mapping[str, Fraction]) -> None:
        self.scene, self.car, self.checks, self.picked = scene, scene.car, checks, picked

    def faults(self) -> Iterator[str]:
        """What is lacking, short or more than anything asks for."""
        yield from self._work_demands()
        kept = {line.part for line in self.scene.answer.lines if line.status == "kept"}
        demands = [(d, self._able(d)) for d in (*self._demands(), *self._rule_demands())]
        open_demands: list[tuple[Demand, list[There]]] = []
        for demand, able in demands:
            if not able:
                yield f"{demand.text} lacks {_said(demand)}"
            elif not any(t.place for t in able):
                open_demands.append((demand, able))
            elif all(t.place and t.part not in kept for t in able) and not demand.by_stock:
                yield f"{demand.text} relies on a stock part that is not listed"
        yield from self._surplus(demands)
        have = {t.part: t.qty for t in self.scene.there if t.place is None}
        if not allocate(open_demands, have):
            short = shortest(open_demands, have)
            yield f"there is too little of {short}"

    def _demands(self) -> Iterator[Demand]:
        for thing in self.scene.there:
            part = self.car.catalogue.parts[thing.part]
            for i, need in enumerate(part.requires):
                if thing.place and not self.scene.was_met(i, thing.part):
                    continue
                if self.scene.holds(need.when, thing.part):
                    yield self._demand(f"'{thing.part}'", need, thing.part, thing.qty,
                                       by_stock=bool(thing.place))
        for step in sorted(self.scene.steps):
            for need in self.car.catalogue.work[step].requires:
                if self.scene.holds(need.when, None):
                    yield self._demand(f"the work '{step}'", need, None, Fraction(1))
        for check, things, axle in self.checks.combinations:
            first = things[0]
            units = first.qty if first.place else Fraction(
                self.car.units(self.car.catalogue.parts[first.part], axle) or 1
            )
            needs = [n for verdict in self.checks.run(check, things, axle) for n in verdict.needs]
            for need in needs:
                yield self._demand(f"'{first.part}' ({check.name})", need, first.part, units)

    def _demand(
        self, text: str, need: Need, owner: str | None, units: Fraction, *, by_stock: bool = False
    ) -> Demand:
        amount = need.amount.value * units if need.each else need.amount.value
        return Demand(text, (need,), owner, amount, need.each is not None, by_stock)

    def _rule_demands(self) -> Iterator[Demand]:
        for key, rule in self.car.rules.items():
            groups = [self.scene.present(selector, None) for selector in rule.when]
            steps = [self.scene.step_there(selector) for selector in rule.when]
            if not all(group or step for group, step in zip(groups, steps, strict=True)):
                continue
            something_new = any(t.place is None for group in groups for t in group) or any(steps)
            if rule.when and not something_new and not self.scene.stock_keeps(key):
                continue
            if any(self.scene.step_there(selector) for selector in rule.then_any):
                continue
            amount = (rule.each or rule.once)
            units = Fraction(1)
            if rule.each and not steps[0]:
                units = sum((t.qty for t in groups[0]), Fraction(0))
            yield Demand(
                f"the rule '{key}'", rule.then_any, None,
                amount.value * units if amount else Fraction(1), rule.each is not None,
                by_stock=not something_new,
            )

    def _work_demands(self) -> Iterator[str]:
        for part_id in self.scene.new:
            for work in self.car.catalogue.parts[part_id].work:
                there = not self.scene.steps.isdisjoint(work.listed)
                if self.scene.holds(work.when, part_id) and not there:
                    yield f"'{part_id}' takes the work {' or '.join(work.listed)}"

    def _able(self, demand: Demand) -> list[There]:
        found = []
        for thing in self.scene.worth_a_look(demand.selectors):
            for selector in demand.selectors:
                means = self.scene.means(selector, thing, demand.owner)
                if means is False or (means is None and self.scene.certain):
                    continue
                if isinstance(selector, Need):
                    part = self.car.catalogue.parts[thing.part]
                    if part.pack.unit != selector.amount.unit:
                        continue
                    if thing.place and part.one_time_use and not demand.by_stock:
                        continue
                    if thing.place and not demand.by_stock \
                            and demand.amount > self.scene.kept_units(thing.part, selector):
                        continue
                found.append(thing)
                break
        return found

    def _surplus(self, demands: Sequence[tuple[Demand, list[There]]]) -> Iterator[str]:
        """More of a part than all that may fall on it. Kits may be bought for what is in them."""
        falls_on: dict[str, list[Demand]] = {}
        for demand, able in demands:
            for key in dict.fromkeys(thing.part for thing in able if not thing.place):
                falls_on.setdefault(key, []).append(demand)
        for key, line in self.scene.new.items():
            part, on = self.car.catalogue.parts[key], falls_on.get(key, [])
            each = sum((d.amount for d in on if d.each), Fraction(0))
            once = max((d.amount for d in on if not d.each), default=Fraction(0))
            own = max(Fraction(self.car.units(part)), self.picked.get(key, Fraction(0)))
            most = max(own, each, once) or part.pack.value
            most = max(most, Fraction(1)) if not part.pack.unit else most
            if not part.contents and exact(line.qty) > most:
                yield f"'{key}': {line.qty:g} are more than anything asks for"


def _said(demand: Demand) -> str:
    what = []
    for selector in demand.selectors:
        what.append(selector.kind or selector.step or " or ".join(selector.listed))
    return f"{demand.amount} {' or '.join(what)}".strip()
