"""Which combinations of parts on one car do not simply fit: judged once, kept for all questions.

Most combinations fit and say nothing; only the others are handed out. Two shortcuts spare work and
change no answer: a part that a check refuses on its own is compared with nothing, and a pair that
one check refuses is not judged by those that come after it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from itertools import combinations, product

from kb.statements import Axle
from rules.checking import Check, checks_of
from rules.combining import Combined, Placed, combine, stock_by_kind
from rules.situation import Member, Situation

Others = tuple[Placed | None, ...]
"""The rest of a combination: one for every other role, then the modifier or None."""


class Pairings:
    """The judged combinations of one situation."""

    def __init__(self, situation: Situation) -> None:
        self.at = situation
        self.stock = stock_by_kind(situation)
        self.refused: set[str] = set()
        """Parts that do not go on this car by a check of their own."""
        self.dead: dict[tuple[Axle | None, Member, Member], str] = {}
        """Pairs that a check refuses, with the name of that check."""
        self.found: dict[tuple[str, Member], dict[Others, tuple[Combined, ...]]] = {}

    def alone(self, me: Placed, kind: str) -> list[Combined]:
        """What the checks of a part by itself say of it, where it does not just fit."""
        return [
            found for check in in_order(kind)
            if len(check.roles) == 1 and check.modifier != kind
            for found in self._of(check, me, kind, {})
            if len(found.members) == 1
        ]

    def together(
        self, me: Placed, kind: str, there: Mapping[str, Sequence[Placed]]
    ) -> list[Combined]:
        """What the checks say of a part with what is there and stock, where it does not just fit.
        """
        if me.member.part in self.refused:
            return []
        return [
            found for check in in_order(kind)
            for found in self._of(check, me, kind, there)
            if len(found.members) > 1
        ]

    def _of(
        self, check: Check, me: Placed, kind: str, there: Mapping[str, Sequence[Placed]]
    ) -> Iterator[Combined]:
        found = self.found.setdefault((check.name, me.member), {})
        for others in product(*self._slots(check, kind, there)):
            judged = found.get(others)
            if judged is None:
                judged = found[others] = tuple(self._judge(check, me, kind, others))
            if judged:
                yield from judged

    def _slots(
        self, check: Check, kind: str, there: Mapping[str, Sequence[Placed]]
    ) -> list[Sequence[Placed | None]]:
        """What can stand in every other role, and as modifier."""
        slots: list[Sequence[Placed | None]] = [
            self._able(role.kind, there) for role in check.roles if role.kind != kind
        ]
        if check.modifier == kind:
            return slots
        return [*slots, [None, *self._able(check.modifier, there)]]

    def _able(
        self, kind: str | None, there: Mapping[str, Sequence[Placed]]
    ) -> list[Placed]:
        if kind is None:
            return []
        new = [p for p in there.get(kind, ()) if p.member.part not in self.refused]
        return [*new, *self.stock.get(kind, ())]

    def _judge(
        self, check: Check, me: Placed, kind: str, others: Others
    ) -> Iterator[Combined]:
        modifier = me if check.modifier == kind else others[-1]
        rest = iter([placed for placed in others[:len(check.roles)] if placed is not None])
        pools = [
            [me] if role.kind == kind and check.modifier != kind else [next(rest)]
            for role in check.roles
        ]
        def refused_before(members: Sequence[Member], axle: Axle | None) -> bool:
            by = (self.dead.get((axle, *pair)) for pair in combinations(sorted(members), 2))
            return any(name not in (None, check.name) for name in by)

        for found in combine(self.at, check, pools, [modifier], self.stock, refused_before):
            if found.verdict.verdict == "does_not_fit" and check.modifier is None:
                self._bury(found)
            if found.verdict.asks_something:
                yield found

    def _bury(self, found: Combined) -> None:
        members = sorted(found.members)
        if len(members) == 1 and not members[0].stock_place:
            self.refused.add(members[0].part)
        elif len(members) == 2:
            self.dead.setdefault((found.axle, members[0], members[1]), found.check.name)


@cache
def in_order(kind: str) -> tuple[Check, ...]:
    """The checks of a kind: those on fewer parts, and those that nothing modifies, first."""
    return tuple(sorted(
        checks_of(kind),
        key=lambda check: (len(check.roles), check.modifier is not None, check.name),
    ))


def pairings_of(situation: Situation) -> Pairings:
    """The pairings of a situation, made on first use and kept with it."""
    kept = situation.kept.get("pairings")
    if not isinstance(kept, Pairings):
        kept = situation.kept["pairings"] = Pairings(situation)
    return kept
