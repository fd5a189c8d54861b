"""Whether amounts suffice: every demand has to fall on something, and nothing is overdrawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from kb.statements import Selector
from rules.verify_scene import There

NEARLY = Fraction(1, 10**9)
"""What rounding may do to an amount."""


@dataclass(frozen=True, slots=True)
class Demand:
    """A need that is active: who asks, how much, and of what."""

    text: str
    selectors: Sequence[Selector]
    owner: str | None
    amount: Fraction
    each: bool
    by_stock: bool = False


def allocate(
    demands: Sequence[tuple[Demand, list[There]]], have: Mapping[str, Fraction]
) -> bool:
    """Whether every demand can fall on one thing so that nothing is overdrawn.

    Demands that are met by the whole amount do not draw on each other, and of those that add up
    most can fall on one part only. What is left is settled by trying.
    """
    used = dict.fromkeys(have, Fraction(0))
    several: list[tuple[Fraction, list[str]]] = []
    for demand, able in demands:
        if not demand.each:
            if not any(_within(demand.amount, have[thing.part]) for thing in able):
                return False
        elif len(able) == 1:
            used[able[0].part] += demand.amount
        else:
            several.append((demand.amount, [thing.part for thing in able]))
    if not all(_within(amount, have[part]) for part, amount in used.items()):
        return False
    return spread_out(sorted(several, key=lambda pair: len(pair[1])), have, used)


def spread_out(
    demands: Sequence[tuple[Fraction, list[str]]], have: Mapping[str, Fraction],
    used: dict[str, Fraction],
) -> bool:
    """Whether amounts can each fall on one of several parts: by trying, and taking back."""
    taken: list[int] = []
    first = 0
    while len(taken) < len(demands):
        amount, able = demands[len(taken)]
        for i in range(first, len(able)):
            if _within(used[able[i]] + amount, have[able[i]]):
                used[able[i]] += amount
                taken.append(i)
                first = 0
                break
        else:
            if not taken:
                return False
            last = taken.pop()
            amount, able = demands[len(taken)]
            used[able[last]] -= amount
            first = last + 1
    return True


def _within(amount: Fraction, have: Fraction) -> bool:
    return amount <= have or not apart(amount, have)


def shortest(
    demands: Sequence[tuple[Demand, list[There]]], have: Mapping[str, Fraction]
) -> str:
    """What there is too little of, in words."""
    sums: dict[str, Fraction] = {}
    for demand, able in demands:
        if len(able) == 1:
            part = able[0].part
            sums[part] = sums.get(part, Fraction(0)) + (demand.amount if demand.each else 0)
            if demand.amount > have[part]:
                return f"'{part}'"
    over = [part for part, total in sums.items() if total > have[part]]
    return f"'{over[0]}'" if over else "a part that several needs share"


def apart(one: Fraction, other: Fraction) -> bool:
    """Whether two amounts differ by more than what rounding does to them."""
    return one != other and abs(one - other) > NEARLY
