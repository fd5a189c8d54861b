"""How much of each part a solution takes, and where it comes from: exact arithmetic."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from rules.problem import NeedInstance, Problem
from rules.situation import Situation
from rules.solution import Solution

NOTHING = Fraction(0)


@dataclass(frozen=True, slots=True)
class Tally:
    """What is wanted of one part, and its sources: on hand first, then kits, then the order."""

    wanted: Fraction
    on_hand: Fraction
    from_kits: Fraction
    bought: Fraction
    packs: int
    spare: Fraction


def need_amount(need: NeedInstance, solution: Solution, wanted: dict[str, Fraction]) -> Fraction:
    """How much one need puts on its choice; `wanted` gives the quantities of those who ask."""
    if not need.each:
        return need.amount
    total = NOTHING
    for asker in need.askers:
        if asker.literal == 0 or asker.literal in solution.true:
            total += wanted[asker.part] if asker.part else asker.units
    return need.amount * total


def wanted_amounts(problem: Problem, solution: Solution) -> dict[str, Fraction]:
    """What the package wants of every part that is added."""
    on: dict[str, list[NeedInstance]] = {}
    for need, choice in solution.assigned:
        if choice.part is not None and choice.stock_place is None:
            on.setdefault(choice.part, []).append(need)

    known: dict[str, Fraction] = {}
    for part in sorted(solution.new):
        _want(part, on, problem, solution, known)
    return {part: known[part] for part in sorted(solution.new)}


def _want(
    part: str, on: Mapping[str, Sequence[NeedInstance]], problem: Problem, solution: Solution,
    known: dict[str, Fraction],
) -> None:
    """Work out what is wanted of a part, after what is wanted of those that ask for it."""
    if part in known:
        return
    each, once = NOTHING, NOTHING
    for need in on.get(part, ()):
        if not need.each:
            once = max(once, need.amount)
            continue
        for asker in need.askers:
            if asker.part and asker.literal in solution.true:
                _want(asker.part, on, problem, solution, known)
        each += need_amount(need, solution, known)
    known[part] = max(problem.own_amount(part), each, once)


def tallies(situation: Situation, problem: Problem, solution: Solution) -> dict[str, Tally]:
    """The tally of every part that is added, kits included."""
    found: dict[str, Tally] = {}
    for part, wanted in wanted_amounts(problem, solution).items():
        supply = sum(
            (count * situation.parts[kit].pack.value * problem.kits[kit].get(part, NOTHING)
             for kit, count in solution.kits.items()),
            NOTHING,
        )
        pack = situation.parts[part].pack.value
        have = problem.on_hand.get(part, NOTHING)
        # Goods sold by measure that are there for themselves: a pack, or what there is of it.
        wanted = wanted or min(pack, have or supply or pack)
        on_hand = min(have, wanted)
        from_kits = min(supply, wanted - on_hand)
        bought = max(wanted - on_hand - from_kits, pack * solution.kits.get(part, 0))
        wanted = on_hand + from_kits + bought
        packs = ceil(bought / pack)
        found[part] = Tally(wanted, on_hand, from_kits, bought, packs, packs * pack - bought)
    return found
