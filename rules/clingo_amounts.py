"""How much of each part a package takes, as rules for clingo.

Amounts are whole numbers of a common smallest measure. `wanted(p)`, what the package wants of a
part, is the greatest of: the pick and its places; the sum of `each` needs that fall on it; the
greatest `once` need that falls on it. What is bought is that, less what is on hand and what kits
bring, in whole packs.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from math import gcd, lcm

from rules.clingo_program import Program
from rules.clingo_statements import Statements
from rules.problem import Asker, Choice, NeedInstance, Problem
from rules.situation import Situation

ONE = Fraction(1)


class Amounts:
    """The amounts of one problem. `packs` has an atom for each pack of a part that may be bought:
    the first so many of them hold.
    """

    def __init__(
        self, situation: Situation, problem: Problem, program: Program, statements: Statements
    ) -> None:
        self.at, self.problem, self.program = situation, problem, program
        self.packs: dict[str, list[int]] = {}
        self.kit_packs: dict[str, list[int]] = {}
        self._brought: dict[str, list[tuple[str, int]]] = {}
        """For each part, the kits that bring it, and how much comes with one pack."""
        self.each: dict[str, list[tuple[NeedInstance, int]]] = {}
        self.once: dict[str, list[tuple[NeedInstance, int]]] = {}
        self._own: dict[str, int] = {}
        self._mosts: dict[str, int] = {}
        self._sums: dict[str, list[tuple[int, int]]] = {}
        self._reached: dict[tuple[str, int], int] = {}
        for atom, need, choice in statements.assigned:
            if choice.part is not None and choice.stock_place is None:
                group = self.each if need.each else self.once
                group.setdefault(choice.part, []).append((need, atom))
        for atom, need, choice in statements.assigned:
            if choice.kept:
                self._enough_kept(need, choice, atom)
        for kit in problem.kits:
            self._kit(kit)
        for part, _ in problem.new_parts():
            self._buy(part)

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

    def whole(self, amount: Fraction | int, times: int = 1) -> int:
        """So many times an amount, in smallest measures."""
        return _times(amount, times * self.measure)

    def passed_on(self, need: NeedInstance) -> int:
        """What a need comes to when all who ask are there, each for what it is there for anyway."""
        if not need.each:
            return self.whole(need.amount)
        return sum(
            _times(need.amount, self._least(asker.part)) if asker.part
            else self.whole(need.amount, asker.units)
            for asker in need.askers
        )

    # -- what is wanted -------------------------------------------------------------------------

    def levels(self, part: str) -> list[tuple[int, int]]:
        """`wanted(part)` as literals whose weights add up to it."""
        own, most = self._least(part), self._most(part)
        new = self.program.literal(self.problem.variables["new", part])
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
        amounts += [self.whole(need.amount) for need, _ in self.once.get(part, ())]
        step = gcd(*amounts)
        return [(self._level(part, t), step) for t in range(step, most + 1, step)]

    def _least(self, part: str) -> int:
        if part not in self._own:
            self._own[part] = self.whole(self.problem.own_amount(part))
        return self._own[part]

    def _most(self, part: str) -> int:
        """The most that any package can want of a part.

        Askers that take the same place exclude each other, so the greatest of them counts.
        """
        if part not in self._mosts:
            groups: dict[str, dict[str, int]] = {}
            for need, _ in self.each.get(part, ()):
                for asker in need.askers:
                    key, place = self._asker_group(need, asker)
                    group = groups.setdefault(place, {})
                    group[key] = group.get(key, 0) + self._weight(need, asker)
            total = sum(max(group.values()) for group in groups.values())
            once = [self.whole(need.amount) for need, _ in self.once.get(part, ())]
            self._mosts[part] = max(self._least(part), total, *once, 0)
        return self._mosts[part]

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
            return self.whole(need.amount, asker.units)
        return _times(need.amount, self._most(asker.part))

    def _terms(self, part: str) -> list[tuple[int, int]]:
        """The sum of `each` needs on a part, as weighted literals in whole measures."""
        if part not in self._sums:
            self._sums[part] = self._sum(part)
        return self._sums[part]

    def _sum(self, part: str) -> list[tuple[int, int]]:
        both, literal = self.program.both, self.program.literal
        terms: list[tuple[int, int]] = []
        for need, atom in self.each.get(part, ()):
            for asker in need.askers:
                there = literal(asker.literal) if asker.literal else atom
                active = atom if asker.literal in need.guard else both(atom, there)
                if asker.part is None:
                    terms.append((active, self.whole(need.amount, asker.units)))
                    continue
                for level, increase in self.levels(asker.part):
                    # It is active only while the asker is there.
                    counts = active if level == there else both(active, level)
                    terms.append((counts, _times(need.amount, increase)))
        return [(literal, weight) for literal, weight in terms if weight]

    def _unasked(self, part: str) -> int:
        """An atom that holds when a part is there and no need falls on it."""
        key = (part, 0)
        if key not in self._reached:
            new = self.program.literal(self.problem.variables["new", part])
            atom = self._reached[key] = self.program.atom()
            self.program.follows(atom, [new, *(-fallen for _, fallen in self.each[part])])
        return self._reached[key]

    def _level(self, part: str, threshold: int) -> int:
        """An atom that holds when at least `threshold` of a part is wanted."""
        key = (part, threshold)
        if key not in self._reached:
            atom = self._reached[key] = self.program.atom()
            self._wanted(atom, part, threshold, [], 0)
        return self._reached[key]

    def _wanted(
        self, head: int, part: str, threshold: int, less: list[tuple[int, int]], offset: int
    ) -> None:
        """Let `head` hold when wanted(part) less the weights of `less` reaches `threshold`.

        `less` are literals that hold while their weight is NOT supplied; `offset` their sum.
        """
        reach = threshold + offset
        alternatives = [self._terms(part)]
        if own := self._least(part):
            alternatives.append([(self.program.literal(self.problem.variables["new", part]), own)])
        alternatives += [
            [(atom, self.whole(need.amount))] for need, atom in self.once.get(part, ())
        ]
        for terms in alternatives:
            if sum(weight for _, weight in terms) + offset >= reach:
                self.program.follows_from_sum(head, reach, [*terms, *less])

    # -- where it comes from --------------------------------------------------------------------

    def _enough_kept(self, need: NeedInstance, choice: Choice, atom: int) -> None:
        """A stock part meets a need only if as many stay as are asked for."""
        literal = self.program.literal
        reach = sum(self.whole(count) for _, count in choice.kept) + 1
        terms = [(-literal(stays), self.whole(count)) for stays, count in choice.kept]
        for asker in need.askers if need.each else ():
            if asker.part is None:
                reach -= self.whole(need.amount, asker.units)
            else:
                terms += [(level, _times(need.amount, w)) for level, w in self.levels(asker.part)]
        if not need.each:
            reach -= self.whole(need.amount)
        if sum(weight for _, weight in terms) >= reach:
            too_few = self.program.atom()
            self.program.follows_from_sum(too_few, reach, terms)
            self.program.forbid([atom, too_few])

    def _kit(self, kit: str) -> None:
        """How many packs of a kit are bought: a chain of free levels."""
        new = self.program.literal(self.problem.variables["new", kit])
        pack = self.at.parts[kit].pack.value
        most = 0
        for part, amount in {kit: ONE, **self.problem.kits[kit]}.items():
            if ("new", part) in self.problem.variables:
                brought = self.whole(amount * pack)
                most = max(most, _packs(self._most(part), brought))
                if part != kit:
                    self._brought.setdefault(part, []).append((kit, brought))
        packs = self.kit_packs[kit] = [self.program.atom() for _ in range(most)]
        self.program.may(packs, [new])
        for lower, higher in pairwise(packs):
            self.program.forbid([higher, -lower])

    def _supply(self, part: str) -> tuple[list[tuple[int, int]], int]:
        """Literals that hold while a kit does NOT bring some of a part, and their sum."""
        less = [
            (-pack, brought)
            for kit, brought in self._brought.get(part, ()) for pack in self.kit_packs[kit]
        ]
        return less, sum(weight for _, weight in less)

    def _buy(self, part: str) -> None:
        """Packs to order for what is wanted and not already supplied."""
        on_hand = self.whole(self.problem.on_hand.get(part, Fraction(0)))
        pack = self.whole(self.at.parts[part].pack.value)
        less, offset = self._supply(part)
        short = max(self._most(part), 1) - on_hand
        new = self.program.literal(self.problem.variables["new", part])
        packs: list[int] = []
        for i in range(_packs(short, pack)):
            if not less and not on_hand and i * pack < max(self._least(part), 1):
                # Bought whenever it is there. Of goods sold by measure some is, however little.
                packs.append(new)
                continue
            atom = self.program.atom()
            self._wanted(atom, part, on_hand + i * pack + 1, less, offset)
            packs.append(atom)
        if packs and less and not on_hand:
            self.program.follows_from_sum(packs[0], 1 + offset, [(new, 1), *less])
        bought = self.kit_packs.get(part)
        if bought is not None:
            for atom, pack_of_kit in zip(packs, bought, strict=False):
                self.program.forbid([atom, -pack_of_kit])
            packs = bought
        if self.at.buyable(part):
            self.packs[part] = packs
        else:
            for atom in packs[:1]:
                self.program.forbid([atom])


def _times(amount: Fraction | int, count: int) -> int:
    """So many times an amount, which comes to a whole number; Fraction's own way is slow."""
    return amount.numerator * count // amount.denominator


def _packs(amount: int, pack: int) -> int:
    """How many packs cover an amount."""
    return max(-(-amount // pack), 0)
