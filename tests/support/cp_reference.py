"""A second reference for catalogues too large to try every package: a CP-SAT model (OR-tools).

It states the meaning of the language as constraints over whole numbers, with no cone: every part of
the catalogue that goes on the car is in it. What single statements mean it asks the oracle; how
they add up to a package, and at what cost, it states anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from ortools.sat.python import cp_model

from kb.statements import Selector, When
from tests.support.oracle import Oracle, Thing

MOST = 400
"""No package here wants more of one part."""
TENTHS = 10
"""Amounts are whole tenths, since some goods are sold by the half litre."""


@dataclass(frozen=True)
class Least:
    """What the reference found: how many parts without a price, and the money in cents."""

    unpriced: int
    cents: int


class CpReference:
    """The package problem of an oracle's question as one model."""

    def __init__(self, oracle: Oracle) -> None:
        self.oracle, self.car, self.catalogue = oracle, oracle.car, oracle.catalogue
        self.model = cp_model.CpModel()
        new = self.model.new_bool_var
        self.there: dict[str, cp_model.IntVar] = {k: new(k) for k in oracle.addable}
        self.stays = {place: new(f"stays {place}") for place in self.car.fitted}
        self.done = {
            k: new(k) for k, w in self.catalogue.work.items() if self.car.applies(w.on)
        }
        whole = self.model.new_int_var
        self.wanted = {k: whole(0, MOST * TENTHS, f"wanted {k}") for k in self.there}
        self.packs = {k: whole(0, MOST, f"packs {k}") for k in self.there}
        self.each: dict[str, list[cp_model.IntVar]] = {k: [] for k in self.there}
        self.possible = True
        for state in (self._picks, self._places, self._kits, self._work, self._conflicts,
                      self._needs, self._rules, self._amounts):
            state()

    def least(self) -> Least | None:
        """The least package, or None when there is none."""
        if not self.possible:
            return None
        parts = {key: self.oracle.part(key) for key in self.there}
        unpriced = []
        money: list[cp_model.LinearExpr] = []
        for key, part in parts.items():
            if part.price is None:
                bought = self.model.new_bool_var(f"buys {key}")
                self.model.add(self.packs[key] == 0).only_enforce_if(bought.negated())
                unpriced.append(bought)
            else:
                money.append(part.price.cents * self.packs[key])
            if part.fitting_time:
                minutes = part.fitting_time.value * max(self.oracle.units(key), 1)
                money.append(round(minutes * 100) * self.there[key])
        for step, done in self.done.items():
            money.append(round(self.catalogue.work[step].minutes.value * 100) * done)
        self.model.minimize(10**8 * sum(unpriced) + sum(money))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return None
        assert status == cp_model.OPTIMAL
        return Least(*(round(part) for part in divmod(round(solver.objective_value), 10**8)))

    # -- conditions -----------------------------------------------------------------------------

    def _meant(self, selector: Selector) -> list[tuple[Thing, cp_model.IntVar]]:
        """The things a selector may mean, each with the variable that it is there."""
        things = [(Thing(key), there) for key, there in self.there.items()]
        things += [(Thing(self.car.fitted[place], place), v) for place, v in self.stays.items()]
        return [(t, v) for t, v in things if self.oracle.means(selector, t)]

    def _any(self, selectors: Iterable[Selector], *, new: bool = False) -> cp_model.IntVar:
        """Whether anything meant is there; `new`: apart from stock parts."""
        found = self.model.new_bool_var("any")
        literals = []
        for selector in selectors:
            if selector.step is not None:
                literals += [self.done[selector.step]] if selector.step in self.done else []
            else:
                meant = self._meant(selector)
                literals += [v for thing, v in meant if not (new and thing.place)]
        self.model.add_max_equality(found, [*literals, 0])
        return found

    def _guards(self, when: When) -> list[cp_model.IntVar] | None:
        """What must hold for a condition; None when it cannot on this car."""
        if not self.car.applies(when):
            return None
        present = [self._any([selector]) for selector in when.present]
        return present + [self._any([selector]).negated() for selector in when.absent]

    def _owners(self) -> list[tuple[Thing, cp_model.IntVar]]:
        owners = [(Thing(key), there) for key, there in self.there.items()]
        return owners + [(Thing(self.car.fitted[p], p), v) for p, v in self.stays.items()]

    # -- what holds of every package ------------------------------------------------------------

    def _picks(self) -> None:
        for key in self.oracle.picks:
            if key in self.car.fitted.values() and not self.oracle.for_sale(key):
                for place in (p for p, part in self.car.fitted.items() if part == key):
                    self.model.add(self.stays[place] == 1)
            elif key in self.there:
                self.model.add(self.there[key] == 1)
            else:
                self.possible = False

    def _places(self) -> None:
        for place in self.car.places:
            takers = [v for k, v in self.there.items() if place in self.oracle.part(k).takes]
            self.model.add_at_most_one(takers)
            clearers = [v for k, v in self.there.items() if place in self.oracle.part(k).clears]
            if place in self.stays:
                off = self.model.new_bool_var(f"off {place}")
                self.model.add_max_equality(off, [*takers, *clearers, 0])
                self.model.add(self.stays[place] + off == 1)

    def _kits(self) -> None:
        for key, there in self.there.items():
            for inner in self.oracle.part(key).contents:
                if self.oracle.goes_on(inner):
                    self.model.add_implication(there, self.there[inner])

    def _work(self) -> None:
        for key, there in self.there.items():
            part = self.oracle.part(key)
            steps = [f.work for f in part.fits if self.car.applies(f)]
            for step in (s for work in steps for s in work):
                self.model.add(there == 0) if step not in self.done else \
                    self.model.add_implication(there, self.done[step])
            for work in part.work:
                guards = self._guards(work.when)
                if guards is not None:
                    possible = [self.done[s] for s in work.listed if s in self.done]
                    self.model.add_bool_or([
                        there.negated(), *(g.negated() for g in guards), *possible
                    ])

    def _conflicts(self) -> None:
        for owner, there in self._owners():
            for conflict in self.oracle.part(owner.part).conflicts:
                others = [
                    v for thing, v in self._meant(conflict)
                    if thing.part != owner.part and not (thing.place and owner.place)
                ]
                self._exclude(conflict.when, there, others, conflict.step)
        for step, done in self.done.items():
            for conflict in self.catalogue.work[step].conflicts:
                others = [v for _, v in self._meant(conflict)]
                self._exclude(conflict.when, done, others, conflict.step)

    def _exclude(
        self, when: When, one: cp_model.IntVar, others: list[cp_model.IntVar], step: str | None
    ) -> None:
        guards = self._guards(when)
        if step in self.done:
            others = [*others, self.done[step]]
        for other in others if guards is not None else ():
            self.model.add_bool_or([
                one.negated(), other.negated(), *(g.negated() for g in guards or ())
            ])

    # -- needs ----------------------------------------------------------------------------------

    def _needs(self) -> None:
        for owner, there in self._owners():
            for need in self.oracle.part(owner.part).requires:
                guards = self._guards(need.when)
                if guards is None or (owner.place and not self.oracle.was_met(need)):
                    continue
                units: cp_model.LinearExprT = self.car.places[owner.place].count * TENTHS \
                    if owner.place else self.wanted[owner.part]
                self._demand([there, *guards], (need,), need.amount.value, units,
                             each=need.each is not None, exempt=bool(owner.place))
        for step, done in self.done.items():
            for need in self.catalogue.work[step].requires:
                guards = self._guards(need.when)
                if guards is not None:
                    self._demand([done, *guards], (need,), need.amount.value, TENTHS,
                                 each=need.each is not None, exempt=False)

    def _rules(self) -> None:
        for rule in self.catalogue.rules.values():
            if not self.car.applies(rule.on):
                continue
            guards = [self._any([selector]) for selector in rule.when]
            kept = any(self.oracle.there(s, self.oracle.factory) for s in rule.then_any)
            if rule.when and not kept:
                guards.append(self._any(rule.when, new=True))
            amount = (rule.each or rule.once)
            units: cp_model.LinearExprT = TENTHS
            if rule.each and rule.when[0].step is None:
                units = sum(
                    v * self.car.places[t.place].count * TENTHS if t.place else self._quantity(t)
                    for t, v in self._meant(rule.when[0])
                )
            self._demand(guards, rule.then_any, amount.value if amount else Fraction(1), units,
                         each=rule.each is not None, exempt=True)

    def _quantity(self, thing: Thing) -> cp_model.IntVar:
        """What is wanted of a part, nothing where it is not there."""
        return self.wanted[thing.part]

    def _demand(
        self, guards: list[cp_model.IntVar], selectors: Sequence[Selector], amount: Fraction,
        units: cp_model.LinearExprT, *, each: bool, exempt: bool,
    ) -> None:
        """While the guards hold, it falls on one of the things meant, with its whole amount."""
        meant = {t: v for selector in selectors for t, v in self._meant(selector)}
        asked = amount * units if each else amount * TENTHS
        falls = [self.done[s.step] for s in selectors if s.step in self.done]
        for thing, there in meant.items():
            if not self.oracle.same_unit(selectors, thing):
                continue
            used_up = thing.place and self.oracle.part(thing.part).one_time_use
            if used_up and not exempt:
                continue
            falls.append(on := self.model.new_bool_var("falls on"))
            self.model.add_implication(on, there)
            self._count(on, thing, selectors, asked, each=each, exempt=exempt)
        self.model.add_bool_or([*falls, *(g.negated() for g in guards)])

    def _count(
        self, on: cp_model.IntVar, thing: Thing, selectors: Sequence[Selector],
        asked: cp_model.LinearExprT | Fraction, *, each: bool, exempt: bool,
    ) -> None:
        whole = int(asked) if isinstance(asked, Fraction) else asked
        if thing.place:
            kept = sum(
                v * self.car.places[t.place].count * TENTHS
                for s in selectors for t, v in self._meant(s)
                if t.place and t.part == thing.part
            )
            if not exempt:
                self.model.add(whole <= kept).only_enforce_if(on)
        elif each:
            falls = self.model.new_int_var(0, MOST * TENTHS, "amount")
            self.model.add(falls >= whole).only_enforce_if(on)
            self.each[thing.part].append(falls)
        else:
            self.model.add(self.wanted[thing.part] >= whole).only_enforce_if(on)

    # -- amounts --------------------------------------------------------------------------------

    def _amounts(self) -> None:
        for key, there in self.there.items():
            part = self.oracle.part(key)
            own = ceil(self.oracle.own(key) * TENTHS)
            self.model.add(self.wanted[key] >= own * there)
            self.model.add(self.wanted[key] >= sum(self.each[key]))
            have = int(self.oracle.on_hand.get(key, 0) * TENTHS)
            supply = sum(
                int(amount * TENTHS) * self.packs[kit]
                for kit in self.there
                if (amount := self.oracle.unpacked(kit).get(key)) is not None
            )
            self.model.add(
                int(part.pack.value * TENTHS) * self.packs[key] + supply + have
                >= self.wanted[key]
            )
            if not self.oracle.for_sale(key):
                self.model.add(self.packs[key] == 0)
            self.model.add(self.packs[key] == 0).only_enforce_if(there.negated())
