"""The least package, proven: by answer-set optimisation (clingo), rules added through its backend.

Amounts are whole numbers of a common smallest measure. `wanted(p)`, what the package wants of a
part, is the greatest of: the pick and its places; the sum of `each` needs that fall on it; the
greatest `once` need that falls on it. What is bought is that, less what is on hand and what kits
bring, in whole packs.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from math import ceil, gcd, lcm
from time import monotonic
from typing import Any, Literal

import clingo

from kb.entries import Part
from kb.errors import OutOfTime
from rules.answers import Preference
from rules.problem import Asker, Choice, NeedInstance, Problem
from rules.searching import searched
from rules.situation import Situation

ONE = Fraction(1)

Order = Preference | Literal["offer"]

LEVELS: Mapping[Preference, tuple[str, ...]] = {
    "least_cost": ("unpriced", "money", "open", "minutes", "lines", "mass", "amount", "rank"),
    "least_work": ("minutes", "unpriced", "money", "open", "lines", "mass", "amount", "rank"),
    "least_mass": ("mass", "unpriced", "money", "open", "minutes", "lines", "amount", "rank"),
    "fewest_parts": ("lines", "unpriced", "money", "open", "minutes", "mass", "amount", "rank"),
}
"""What is made least, first to last. A part without a price is no bargain, so the number of those
comes before money; of equal packages the one with less to measure wins."""

OFFER = ("unpriced", "money", "minutes", "mass", "open", "lines", "amount", "rank")
"""An offer is weighed against others by money, minutes and mass: nothing comes between those."""

STRATEGIES = (("usc,oll,stratify", 0.5), ("bb,lin", 0.5))
"""How to search, each with its share of the time. Working up from what cannot be avoided is the
quicker way by far; working down from a first package always has a best so far to give."""


@dataclass(slots=True)
class Solution:
    """One package in the solver's terms."""

    new: set[str] = field(default_factory=set)
    steps: set[str] = field(default_factory=set)
    stays: set[str] = field(default_factory=set)
    assigned: list[tuple[NeedInstance, Choice]] = field(default_factory=list)
    kits: dict[str, int] = field(default_factory=dict)
    """How many packs of each kit are bought."""
    true: set[int] = field(default_factory=set)
    costs: dict[str, int] = field(default_factory=dict)
    proven: bool = False


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a package has to keep to besides its statements.

    `at_most` bounds the cost of a level. `beat` lists packages' costs: of each, the new package
    has to be better in money, minutes or mass. `must` and `never` fix variables.
    """

    at_most: Mapping[str, int] = field(default_factory=dict)
    beat: tuple[Mapping[str, int], ...] = ()
    must: tuple[int, ...] = ()
    never: tuple[int, ...] = ()


NO_BOUNDS = Bounds()

RIVALS = ("money", "minutes", "mass")
"""The costs that packages are weighed by against each other."""


def levels_of(order: Order) -> tuple[str, ...]:
    """What is made least in that order, first to last."""
    return OFFER if order == "offer" else LEVELS[order]


def least(
    situation: Situation, problem: Problem, prefer: Order = "least_cost",
    deadline: float = 10.0, bounds: Bounds = NO_BOUNDS,
) -> Solution | None:
    """The least package within bounds by that preference, or None when there is none.

    Past the deadline the best found so far comes back with `proven` False; with none found,
    OutOfTime is raised.
    """
    best: Solution | None = None
    late: OutOfTime | None = None
    for strategy, share in STRATEGIES:
        try:
            encoder = _Encoder(situation, problem, prefer, strategy, bounds)
            found = encoder.solve(deadline * share)
        except OutOfTime as error:
            late = error
            continue
        if found is None or found.proven:
            return found
        best = _better(best, found, prefer)
    if best is None and late is not None:
        raise late
    return best


def _better(one: Solution | None, other: Solution, prefer: Order) -> Solution:
    """The one whose costs are less, level by level."""
    if one is None:
        return other
    levels = levels_of(prefer)
    return min(one, other, key=lambda s: [s.costs[level] for level in levels])


def labour_cents(situation: Situation, minutes: float) -> int:
    """What so many minutes cost at the shop's rate, in hundredths of the currency."""
    rate = situation.catalogue.header.labour_rate
    if rate is None:
        return 0
    cents = Decimal(str(minutes)) * rate.value * 100 / 60
    return int(cents.quantize(Decimal(1), ROUND_HALF_UP))


def fitting_minutes(situation: Situation, problem: Problem, part: str) -> float:
    """Time to fit a part: per unit in its places, once for parts without."""
    time = situation.parts[part].fitting_time
    return time.value * max(problem.units.get(part, 0), 1) if time else 0.0


def _times(amount: Fraction | int, count: int) -> int:
    """So many times an amount, which comes to a whole number; Fraction's own way is slow."""
    return amount.numerator * count // amount.denominator


class _Encoder:
    def __init__(
        self, situation: Situation, problem: Problem, prefer: Order, strategy: str,
        bounds: Bounds,
    ) -> None:
        self.at, self.problem, self.prefer, self.bounds = situation, problem, prefer, bounds
        self.control = clingo.Control([
            f"--opt-strategy={strategy}", "--opt-mode=opt", "--models=0", "--seed=1", "--warn=none",
        ])
        self.atoms: list[int] = []
        self.each: dict[str, list[tuple[NeedInstance, int]]] = {}
        self.once: dict[str, list[tuple[NeedInstance, int]]] = {}
        self.assign: dict[int, tuple[NeedInstance, Choice]] = {}
        self.kit_levels: dict[str, list[int]] = {}
        self.weights: dict[str, list[tuple[int, int]]] = {}
        self.own: dict[str, int] = {}
        self.most: dict[str, int] = {}
        self.level_atoms: dict[tuple[str, int], int] = {}
        self.sums: dict[str, list[tuple[int, int]]] = {}

    # -- solving --------------------------------------------------------------------------------

    def solve(self, deadline: float) -> Solution | None:
        with self.control.backend() as backend:
            self.backend = backend
            self._encode()
        best: list[Any] = []

        def keep(model: clingo.Model) -> None:
            holds = {abs(literal) for literal in self._true(model)}
            best[:] = [holds, list(model.cost)]

        begun = monotonic()
        with self.control.solve(on_model=keep, async_=True) as handle:
            finished = handle.wait(deadline)
            if not finished:
                handle.cancel()
            result = handle.get()
        searched(monotonic() - begun)
        if not best:
            if finished and result.unsatisfiable:
                return None
            raise OutOfTime(f"no package found within {deadline:g} s")
        return self._solution(*best, proven=bool(finished and result.exhausted))

    def _true(self, model: clingo.Model) -> list[int]:
        every = {*self.atoms[1:], *self.assign, *(a for k in self.kit_levels.values() for a in k)}
        return [atom for atom in every if model.is_true(atom)]

    def _solution(self, holds: set[int], costs: list[int], *, proven: bool) -> Solution:
        found = Solution(proven=proven, costs=dict(zip(levels_of(self.prefer), costs, strict=True)))
        for variable, (kind, key) in enumerate(self.problem.atoms):
            if variable and self.atoms[variable] in holds:
                found.true.add(variable)
                group = {"new": found.new, "step": found.steps, "stays": found.stays}.get(kind)
                if group is not None:
                    group.add(key)
        found.assigned = [pair for atom, pair in self.assign.items() if atom in holds]
        for kit, levels in self.kit_levels.items():
            count = sum(atom in holds for atom in levels)
            if count:
                found.kits[kit] = count
        return found

    # -- encoding -------------------------------------------------------------------------------

    def _encode(self) -> None:
        self.atoms = [0] + [self.backend.add_atom() for _ in self.problem.atoms[1:]]
        opens = [self.atoms[v] for v, (kind, _) in enumerate(self.problem.atoms) if kind == "open"]
        self.backend.add_rule(opens, [], choice=True)
        self._let_in_what_is_asked_for()
        for place, displacers in self.problem.displacers.items():
            stays = self._literal(self.problem.variables["stays", place])
            self.backend.add_rule([stays], [-self._literal(d) for d in displacers])
        for variable, members in self.problem.members.items():
            for member in members:
                self.backend.add_rule([self.atoms[variable]], [self._literal(member)])
        for clause in self.problem.clauses:
            self._forbid(-self._literal(literal) for literal in clause.literals)
        for takers in self.problem.exclusive.values():
            if len(takers) > 1:
                self.backend.add_weight_rule([], 2, [(self._literal(t), 1) for t in takers])
        for need in self.problem.needs:
            self._need(need)
        for atom, (need, choice) in self.assign.items():
            if choice.kept:
                self._enough_kept(need, choice, atom)
        for kit in self.problem.kits:
            self._kit(kit)
        for part, _ in self.problem.new_parts():
            self._buy(part)
        self._costs()

    def _let_in_what_is_asked_for(self) -> None:
        """A part or step may be there only if a statement asks for it, starting from the picks.

        What lets a need lapse, or a conflict, is asked for as well. Without this, less mass or time
        could be had by changing what nobody asked about.
        """
        for part in self.problem.picks:
            if (new := self.problem.known("new", part)) is not None:
                self._may(new, [])
        for need in self.problem.needs:
            conditions = [g for g in need.guard if g > 0]
            for choice in need.choices:
                if choice.stock_place is None:
                    self._may(choice.literal, conditions)
            self._may_settle([-g for g in need.guard])
        for clause in self.problem.clauses:
            self._may_settle(clause.literals)
        for kit, contents in self.problem.kits.items():
            whole = self.problem.variables["new", kit]
            for part in contents:
                if (inner := self.problem.known("new", part)) is not None:
                    self._may(inner, [whole])
                    self._may(whole, [inner])

    def _may(self, literal: int, conditions: Iterable[int]) -> None:
        """Let something in while all conditions hold."""
        body = [self._literal(condition) for condition in conditions]
        self.backend.add_rule([self._literal(literal)], body, choice=True)

    def _may_settle(self, literals: Sequence[int]) -> None:
        """Let in what makes a statement hold: what it names, and what takes a stock part off the
        car that it speaks against.
        """
        for literal in literals:
            conditions = [-other for other in literals if other < 0 and other != literal]
            if literal > 0 and self.problem.atoms[literal][0] in ("new", "step"):
                self._may(literal, conditions)
            for place in self._stock_behind(literal):
                for displacer in self.problem.displacers[place]:
                    # Of a group, nothing else may be left: else it settles nothing.
                    self._may(displacer, [*conditions, literal])

    def _stock_behind(self, literal: int) -> list[str]:
        """The places whose stock part a negative literal denies, itself or in a group."""
        if literal >= 0:
            return []
        kind, key = self.problem.atoms[-literal]
        if kind == "stays":
            return [key]
        members = self.problem.members[-literal] if kind == "any" else []
        return [place for member in members for place in self._stock_behind(-member)]

    def _literal(self, literal: int) -> int:
        atom = self.atoms[abs(literal)]
        return atom if literal > 0 else -atom

    def _forbid(self, body: Any) -> None:
        self.backend.add_rule([], list(body))

    def _both(self, *literals: int) -> int:
        """An atom for a conjunction; a single literal stands for itself."""
        distinct = list(dict.fromkeys(literals))
        if len(distinct) == 1:
            return distinct[0]
        atom: int = self.backend.add_atom()
        self.backend.add_rule([atom], distinct)
        return atom

    def _need(self, need: NeedInstance) -> None:
        """One choice is assigned to every active need."""
        guard = [self._literal(literal) for literal in need.guard]
        taken: list[int] = []
        for choice in need.choices:
            there = self._literal(choice.literal)
            atom: int = self.backend.add_atom()
            self.backend.add_rule([atom], [*guard, there], choice=len(need.choices) > 1)
            self.assign[atom] = (need, choice)
            taken.append(atom)
            if choice.open is not None:
                self._forbid([atom, -self.atoms[choice.open]])
            if choice.part is not None and choice.stock_place is None:
                group = self.each if need.each else self.once
                group.setdefault(choice.part, []).append((need, atom))
        self._forbid([*guard, *(-atom for atom in taken)])
        if len(taken) > 1:
            self.backend.add_weight_rule([], 2, [(atom, 1) for atom in taken])

    def _enough_kept(self, need: NeedInstance, choice: Choice, atom: int) -> None:
        """A stock part meets a need only if as many stay as are asked for."""
        reach = sum(self._whole(count) for _, count in choice.kept) + 1
        terms = [(-self._literal(stays), self._whole(count)) for stays, count in choice.kept]
        for asker in need.askers if need.each else ():
            if asker.part is None:
                reach -= self._whole(need.amount * asker.units)
            else:
                terms += [(level, _times(need.amount, w)) for level, w in self._levels(asker.part)]
        if not need.each:
            reach -= self._whole(need.amount)
        if sum(weight for _, weight in terms) >= reach:
            too_few: int = self.backend.add_atom()
            self.backend.add_weight_rule([too_few], reach, terms)
            self._forbid([atom, too_few])

    # -- amounts --------------------------------------------------------------------------------

    @cached_property
    def measure(self) -> int:
        """How many smallest measures make one: all amounts are whole numbers of them."""
        amounts = [need.amount for need in self.problem.needs]
        amounts += [*self.problem.picks.values(), *self.problem.on_hand.values()]
        amounts += [
            amount * self.at.parts[kit].pack.value
            for kit, contents in self.problem.kits.items() for amount in contents.values()
        ]
        amounts += [self.at.parts[part].pack.value for part, _ in self.problem.new_parts()]
        return lcm(*(amount.denominator for amount in amounts), 1)

    def _whole(self, amount: Fraction | int) -> int:
        return _times(amount, self.measure)

    def _own(self, part: str) -> int:
        if part not in self.own:
            self.own[part] = self._whole(self.problem.own_amount(part))
        return self.own[part]

    def _most(self, part: str) -> int:
        """The most that any package can want of a part.

        Askers that take the same place exclude each other, so the greatest of them counts.
        """
        if part not in self.most:
            groups: dict[str, dict[str, int]] = {}
            for need, _ in self.each.get(part, ()):
                for asker in need.askers:
                    key, place = self._asker_group(need, asker)
                    group = groups.setdefault(place, {})
                    group[key] = group.get(key, 0) + self._weight(need, asker)
            total = sum(max(group.values()) for group in groups.values())
            once = [self._whole(need.amount) for need, _ in self.once.get(part, ())]
            self.most[part] = max(self._own(part), total, *once, 0)
        return self.most[part]

    def _asker_group(self, need: NeedInstance, asker: Asker) -> tuple[str, str]:
        """Who asks, and what it shares with those it excludes: its place, or itself."""
        literal = asker.literal or (need.guard[0] if need.guard else 0)
        kind, key = self.problem.atoms[literal] if literal > 0 else ("", need.key)
        if kind == "new" and self.at.parts[key].takes:
            return key, self.at.parts[key].takes[0]
        if kind == "stays":
            return f"{kind} {key}", key
        return f"{kind} {key}", f"{kind} {key}"

    def _weight(self, need: NeedInstance, asker: Asker) -> int:
        """The most one asker can put on a need: whole measures."""
        if asker.part is None:
            return self._whole(need.amount * asker.units)
        return _times(need.amount, self._most(asker.part))

    def _terms(self, part: str) -> list[tuple[int, int]]:
        """The sum of `each` needs on a part, as weighted literals in whole measures."""
        if part not in self.sums:
            self.sums[part] = self._sum(part)
        return self.sums[part]

    def _sum(self, part: str) -> list[tuple[int, int]]:
        terms: list[tuple[int, int]] = []
        for need, atom in self.each.get(part, ()):
            for asker in need.askers:
                active = self._both(atom, self._literal(asker.literal)) if asker.literal else atom
                if asker.part is None:
                    terms.append((active, self._whole(need.amount * asker.units)))
                    continue
                for level, increase in self._levels(asker.part):
                    terms.append((self._both(active, level), _times(need.amount, increase)))
        return [(literal, weight) for literal, weight in terms if weight]

    def _levels(self, part: str) -> list[tuple[int, int]]:
        """`wanted(part)` as literals whose weights add up to it."""
        own, most = self._own(part), self._most(part)
        new = self._literal(self.problem.variables["new", part])
        if own == most:
            return [(new, own)] if own else []
        if part not in self.once:
            if not own:
                return self._terms(part)
            if own == self.measure and all(n.amount >= 1 for n, _ in self.each[part]):
                # One is there when nothing asks for it; whatever asks, asks for one at least.
                return [*self._terms(part), (self._unasked(part), own)]
        amounts = [own] if own else []
        amounts += [weight for _, weight in self._terms(part)]
        amounts += [self._whole(need.amount) for need, _ in self.once.get(part, ())]
        step = gcd(*amounts)
        return [(self._level(part, t), step) for t in range(step, most + 1, step)]

    def _unasked(self, part: str) -> int:
        """An atom that holds when a part is there and no need falls on it."""
        key = (part, 0)
        if key not in self.level_atoms:
            new = self._literal(self.problem.variables["new", part])
            atom: int = self.backend.add_atom()
            self.level_atoms[key] = atom
            self.backend.add_rule([atom], [new, *(-fallen for _, fallen in self.each[part])])
        return self.level_atoms[key]

    def _level(self, part: str, threshold: int) -> int:
        """An atom that holds when at least `threshold` of a part is wanted."""
        key = (part, threshold)
        if key not in self.level_atoms:
            atom: int = self.backend.add_atom()
            self.level_atoms[key] = atom
            self._wanted(atom, part, threshold, [], 0)
        return self.level_atoms[key]

    def _wanted(
        self, head: int, part: str, threshold: int, less: list[tuple[int, int]], offset: int
    ) -> None:
        """Let `head` hold when wanted(part) less the weights of `less` reaches `threshold`.

        `less` are literals that hold while their weight is NOT supplied; `offset` their sum.
        """
        new = self._literal(self.problem.variables["new", part])
        reach = threshold + offset
        alternatives = [self._terms(part)]
        if own := self._own(part):
            alternatives.append([(new, own)])
        alternatives += [
            [(atom, self._whole(need.amount))] for need, atom in self.once.get(part, ())
        ]
        for terms in alternatives:
            if sum(weight for _, weight in terms) + offset >= reach:
                self.backend.add_weight_rule([head], reach, [*terms, *less])

    def _kit(self, kit: str) -> None:
        """How many packs of a kit are bought: a chain of free levels."""
        new = self._literal(self.problem.variables["new", kit])
        inside = {kit: ONE, **self.problem.kits[kit]}
        pack = self.at.parts[kit].pack.value
        most = max(
            ceil(Fraction(self._most(part), self._whole(amount * pack)))
            for part, amount in inside.items() if ("new", part) in self.problem.variables
        )
        levels: list[int] = [self.backend.add_atom() for _ in range(most)]
        self.backend.add_rule(levels, [new], choice=True)
        for lower, higher in pairwise(levels):
            self._forbid([higher, -lower])
        self.kit_levels[kit] = levels

    def _supply(self, part: str) -> tuple[list[tuple[int, int]], int]:
        """Literals that hold while a kit does NOT bring some of a part, and their sum."""
        less = [
            (-level, self._whole(contents[part] * self.at.parts[kit].pack.value))
            for kit, contents in self.problem.kits.items() if part in contents
            for level in self.kit_levels[kit]
        ]
        return less, sum(weight for _, weight in less)

    def _buy(self, part: str) -> None:
        """Packs to order for what is wanted and not already supplied."""
        stated = self.at.parts[part]
        on_hand = self._whole(self.problem.on_hand.get(part, Fraction(0)))
        pack = self._whole(stated.pack.value)
        less, offset = self._supply(part)
        short = max(self._most(part), 1) - on_hand
        packs: list[int] = []
        for i in range(max(ceil(Fraction(short, pack)), 0)):
            atom: int = self.backend.add_atom()
            self._wanted(atom, part, on_hand + i * pack + 1, less, offset)
            packs.append(atom)
        if packs and not on_hand:
            # Of goods sold by measure some is there, however little.
            new = self._literal(self.problem.variables["new", part])
            self.backend.add_weight_rule([packs[0]], 1 + offset, [(new, 1), *less])
        levels = self.kit_levels.get(part)
        if levels is not None:
            for atom, level in zip(packs, levels, strict=False):
                self._forbid([atom, -level])
            packs = levels
        if not self.at.buyable(part):
            for atom in packs[:1]:
                self._forbid([atom])
            return
        self._price(stated, packs)

    # -- costs ----------------------------------------------------------------------------------

    def _price(self, part: Part, packs: list[int]) -> None:
        if part.price is None:
            self._cost("unpriced", [(atom, 1) for atom in packs[:1]])
        else:
            self._cost("money", [(atom, part.price.cents) for atom in packs])

    def _cost(self, level: str, terms: list[tuple[int, int]]) -> None:
        self.weights.setdefault(level, []).extend(terms)

    def _costs(self) -> None:
        for variable, (kind, key) in enumerate(self.problem.atoms):
            literal = self.atoms[variable]
            if kind == "open":
                self._cost("open", [(literal, 1)])
            elif kind == "step":
                self._time(literal, self.at.catalogue.work[key].minutes.value)
                self._cost("lines", [(literal, 1)])
            elif kind == "new":
                self._time(literal, fitting_minutes(self.at, self.problem, key))
                self._cost("lines", [(literal, 1)])
                self._mass(key)
            elif kind == "stays":
                stock = self.at.parts[self.at.baseline.fitted[key]]
                if stock.mass:
                    grams = stock.mass.value * 1000 * self.at.baseline.places[key].count
                    self._cost("mass", [(literal, round(grams))])
        self._amounts()
        order = sorted(self.problem.new_parts())
        self._cost("rank", [(self.atoms[v], i + 1) for i, (_, v) in enumerate(order)])
        self._bounds()
        levels = levels_of(self.prefer)
        for i, level in enumerate(levels):
            # A level without terms still stands, so that the costs come back one per level.
            terms = self.weights.get(level, []) or [(self.backend.add_atom(), 1)]
            self.backend.add_minimize(len(levels) - i, terms)

    def _amounts(self) -> None:
        """What falls on parts that are added, where it need not: stock that stays comes first."""
        for atom, (need, choice) in self.assign.items():
            if len(need.choices) > 1 and choice.part is not None and choice.stock_place is None:
                units = sum(
                    self.problem.own_amount(asker.part) if asker.part else asker.units
                    for asker in need.askers
                ) if need.each else 1
                self._cost("amount", [(atom, self._whole(need.amount * units))])

    def _bounds(self) -> None:
        for literal in self.bounds.must:
            self._forbid([-self._literal(literal)])
        for literal in self.bounds.never:
            self._forbid([self._literal(literal)])
        for level, most in self.bounds.at_most.items():
            if terms := self.weights.get(level):
                self.backend.add_weight_rule([], most + 1, terms)
        for point in self.bounds.beat:
            no_better = [self._reaches(level, point[level]) for level in RIVALS]
            self._forbid([atom for atom in no_better if atom is not None])

    def _reaches(self, level: str, amount: int) -> int | None:
        """An atom that holds when a cost is at least so much; None where it always is."""
        if amount <= 0:
            return None
        atom: int = self.backend.add_atom()
        self.backend.add_weight_rule([atom], amount, self.weights.get(level, []))
        return atom

    def _time(self, literal: int, minutes: float) -> None:
        seconds = round(minutes * 60)
        if seconds:
            self._cost("minutes", [(literal, seconds)])
        cents = labour_cents(self.at, minutes)
        if cents:
            self._cost("money", [(literal, cents)])

    def _mass(self, part: str) -> None:
        mass = self.at.parts[part].mass
        if mass is None or self.at.parts[part].contents:
            return  # a kit weighs what is in it
        for level, amount in self._levels(part):
            grams = round(mass.value * 1000 * amount / self.measure)
            if grams:
                self._cost("mass", [(level, grams)])


