"""Which parts a check compares: one of each of its kinds, where they share an axle."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from kb.statements import Axle
from rules.checking import Check, Verdict, checks
from rules.situation import Member, Situation


@dataclass(frozen=True, slots=True)
class Placed:
    """A part as checks see it: what it is and on which axles; (None,) where it has none."""

    member: Member
    axles: tuple[Axle | None, ...]


@dataclass(frozen=True, slots=True)
class Combined:
    """A combination that a check has judged."""

    members: tuple[Member, ...]
    axle: Axle | None
    verdict: Verdict


def added(situation: Situation, part: str) -> Placed:
    """A part that is added to the car."""
    return Placed(Member(part), situation.axles(part))


def stock_by_kind(situation: Situation, off: Iterable[str] = ()) -> dict[str, list[Placed]]:
    """The stock parts of the car by kind, without those of the places in `off`."""
    gone = set(off)
    found: dict[str, list[Placed]] = {}
    for place, part in sorted(situation.baseline.fitted.items()):
        if place not in gone:
            placed = Placed(Member(part, place), (situation.baseline.places[place].axle,))
            found.setdefault(situation.parts[part].kind, []).append(placed)
    return found


def combine(
    situation: Situation, check: Check, pools: Sequence[Sequence[Placed]],
    stock: Mapping[str, Sequence[Placed]],
) -> Iterator[Combined]:
    """Judge every combination of one from each pool, on every axle they share.

    `stock` is all stock parts by kind: a check steps back on an axle that has one of the kind it
    yields to.
    """
    yields_on = {axle for placed in stock.get(check.unless or "", ()) for axle in placed.axles}
    for combination in product(*pools):
        for axle in _shared_axles(combination):
            if axle not in yields_on:
                members = tuple(placed.member for placed in combination)
                yield Combined(members, axle, situation.verdict(check, members, axle))


def judge(situation: Situation, new: Iterable[str], off: Iterable[str]) -> Iterator[Combined]:
    """Every check of what is on a car: `new` parts added, the stock parts of `off` gone."""
    there = stock_by_kind(situation, off)
    for part in new:
        there.setdefault(situation.parts[part].kind, []).append(added(situation, part))
    everything = stock_by_kind(situation)
    for check in checks().values():
        pools = [there.get(kind, ()) for kind in check.kinds]
        for combined in combine(situation, check, pools, everything):
            if any(member.stock_place is None for member in combined.members):
                yield combined


def _shared_axles(combination: Sequence[Placed]) -> tuple[Axle | None, ...]:
    """The axles all share; a part without an axle goes along with any."""
    if len(combination) == 1:
        return combination[0].axles
    common: set[Axle | None] | None = None
    for placed in combination:
        if placed.axles != (None,):
            common = set(placed.axles) if common is None else common.intersection(placed.axles)
    return (None,) if common is None else tuple(sorted(common, key=str))
