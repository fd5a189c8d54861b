"""Which parts a check compares: one of each of its kinds, where they share an axle, and the part
that modifies the comparison, where one is there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

from kb.statements import Axle
from rules.checking import Check, Role, Verdict, checks
from rules.situation import Member, Situation


class Placed(NamedTuple):
    """A part as checks see it: what it is and on which axles; (None,) where it has none."""

    member: Member
    axles: tuple[Axle | None, ...]


@dataclass(frozen=True, slots=True)
class Combined:
    """A combination that a check has judged.

    `bare` marks one without the modifier that its check provides for: it counts only while no such
    part is on the axle.
    """

    check: Check
    members: tuple[Member, ...]
    axle: Axle | None
    verdict: Verdict
    bare: bool = False


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
    modifiers: Sequence[Placed | None], stock: Mapping[str, Sequence[Placed]],
    skip: Callable[[Sequence[Member], Axle | None], bool] = lambda members, axle: False,
) -> Iterator[Combined]:
    """Judge every combination of one from each pool, on every axle they share, but for `skip`.

    `modifiers` are tried one by one, None for the bare combination. `stock` is all stock parts by
    kind: a check steps back on an axle that has one of the kind it yields to.
    """
    yields_on = {axle for placed in stock.get(check.unless or "", ()) for axle in placed.axles}
    for combination in product(*pools):
        for modifier in modifiers:
            everything = combination if modifier is None else (*combination, modifier)
            members = tuple(placed.member for placed in everything)
            bare = check.modifier is not None and modifier is None
            for axle in (None,) if check.whole_car else shared_axles(everything):
                if axle in yields_on and check.unless is not None:
                    continue
                if not skip(members, axle):
                    for verdict in situation.verdicts(check, members, axle):
                        yield Combined(check, members, axle, verdict, bare)


def judge(
    situation: Situation, new: Iterable[str], off: Iterable[str],
    by: Iterable[Check] | None = None,
) -> Iterator[Combined]:
    """Every check of what is on a car: `new` parts added, the stock parts of `off` gone.

    `by`: only these checks.
    """
    there = stock_by_kind(situation, off)
    for part in new:
        there.setdefault(situation.parts[part].kind, []).append(added(situation, part))
    everything = stock_by_kind(situation)
    for check in checks().values() if by is None else by:
        pools = [in_role(there, role) for role in check.roles]
        modifiers = there.get(check.modifier or "", [])
        for found in combine(situation, check, pools, [None, *modifiers], everything):
            if found.bare and any(found.axle in m.axles for m in modifiers):
                continue
            if any(not member.stock_place for member in found.members):
                yield found


def in_role(by_kind: Mapping[str, Sequence[Placed]], role: Role) -> list[Placed]:
    """The parts of a kind that can play a role."""
    return [
        placed for placed in by_kind.get(role.kind, ())
        if role.axle is None or role.axle in placed.axles
    ]


def shared_axles(combination: Sequence[Placed]) -> tuple[Axle | None, ...]:
    """The axles all share; a part without an axle goes along with any."""
    if len(combination) == 1:
        return combination[0].axles
    common: set[Axle | None] | None = None
    for placed in combination:
        if placed.axles != (None,):
            common = set(placed.axles) if common is None else common.intersection(placed.axles)
    return (None,) if common is None else tuple(sorted(common, key=str))
