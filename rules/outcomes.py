"""Which combinations of parts on one car limit what is possible: as `rules.pairings`, from what
checks decide for all parts that look the same to them (`rules.decisions`).

The verdicts handed out may have been given on other parts: what they decide holds, their words do
not. So this is for questions to which the answer is only yes or no.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from functools import cache
from itertools import product
from typing import NamedTuple

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.statements import Axle
from rules.checking import Check, Verdict
from rules.combining import Combined, Placed, shared_axles
from rules.decisions import decisions_of
from rules.pairings import Pairings, in_order
from rules.situation import Member, Situation


class _Comparison(NamedTuple):
    """A check of a part with parts of certain other kinds."""

    check: Check
    order: tuple[int, ...]
    """Where the check's roles, then its modifier, are found: 0 is the part, then the others."""
    bare: bool


class _Decided(NamedTuple):
    """What a comparison came to on an axle."""

    comparison: _Comparison
    axle: Axle | None
    verdict: Verdict

    def of(self, members: Sequence[Member]) -> Combined:
        """The same of these members."""
        check, order, bare = self.comparison
        ordered = tuple([members[i] for i in order])
        return Combined(check, ordered, self.axle, self.verdict, bare)

    @property
    def refuses(self) -> bool:
        """Whether it refuses, whatever else is there."""
        check = self.comparison.check
        return self.verdict.verdict == "does_not_fit" and check.modifier is None


class _Group:
    """All comparisons of one kind with certain others, on one car."""

    def __init__(self, of: Outcomes, comparisons: Sequence[_Comparison]) -> None:
        self.of, self.at, self.decisions = of, of.at, of.decisions
        self.comparisons = [c for c in comparisons if not c.check.informs or of.decisions.tried]
        self._rows: list[dict[Placed, tuple[int, ...]]] = []
        """Per role, for each part a number per comparison: the same for all that look the same."""
        self._numbers: dict[Hashable, int] = {}
        self._known: dict[tuple[tuple[int, ...], ...], tuple[_Decided, ...]] = {}
        self._decided: list[dict[tuple[int, ...], tuple[_Decided, ...]]] = []
        self._version = -1

    def compare(self, together: tuple[Placed, ...]) -> list[Combined]:
        """What limits these."""
        if not self.comparisons:
            return []
        tried = self.decisions.tried
        if tried and any(placed.member.part in tried for placed in together):
            decided = self._in_turn(together, None)
        else:
            self._keep_up(len(together))
            key = tuple([self._row(role, placed) for role, placed in enumerate(together)])
            decided = self._known_of(key, together)
        members = [placed.member for placed in together]
        return [one.of(members) for one in decided]

    def among(self, me: Placed, pools: Sequence[Sequence[Placed]]) -> list[Combined]:
        """What limits a part together with one from each pool: as each compared by itself.

        Of all that look the same, one is looked at.
        """
        if not self.comparisons:
            return []
        if self.decisions.tried:
            return [found for others in product(*pools) for found in self.compare((me, *others))]
        self._keep_up(len(pools) + 1)
        sorts = [self._by_row(role, pool) for role, pool in enumerate(pools, start=1)]
        mine, found = self._row(0, me), list[Combined]()
        for rows in product(*sorts):
            alike = [sort[row] for sort, row in zip(sorts, rows, strict=True)]
            decided = self._known_of((mine, *rows), (me, *[placed[0] for placed in alike]))
            if self._version != self.decisions.version:
                return self.among(me, pools)  # more is read than was known: these rows are no good
            if decided:
                for others in product(*alike):
                    members = [me.member, *[placed.member for placed in others]]
                    found += [one.of(members) for one in decided]
        return found

    def _by_row(
        self, role: int, pool: Sequence[Placed]
    ) -> dict[tuple[int, ...], list[Placed]]:
        found: dict[tuple[int, ...], list[Placed]] = {}
        for placed in pool:
            found.setdefault(self._row(role, placed), []).append(placed)
        return found

    def _known_of(
        self, key: tuple[tuple[int, ...], ...], together: tuple[Placed, ...]
    ) -> tuple[_Decided, ...]:
        known = self._known.get(key)
        if known is None:
            known = self._known[key] = self._in_turn(together, key)
        return known

    def _in_turn(
        self, together: tuple[Placed, ...], rows: tuple[tuple[int, ...], ...] | None
    ) -> tuple[_Decided, ...]:
        """What each comparison comes to, until they are refused: no more is asked then.

        Without rows nothing is taken from others, or kept for them.
        """
        found: list[_Decided] = []
        refused: set[Axle | None] = set()
        for i, comparison in enumerate(self.comparisons):
            key = None if rows is None else tuple([row[i] for row in rows])
            decided = None if key is None else self._decided[i].get(key)
            if decided is None:
                decided = tuple(self._decide(comparison, together))
                if key is not None:
                    self._decided[i][key] = decided
            found += [one for one in decided if one.axle not in refused]
            refused.update(one.axle for one in decided if one.refuses)
            if refused and refused.issuperset(shared_axles(together)):
                break
        return tuple(found)

    def _keep_up(self, roles: int) -> None:
        """Where more is read of parts and cars than was known, numbers given out are no good."""
        if self._version != self.decisions.version:
            self._version = self.decisions.version
            self._rows = [{} for _ in range(roles)]
            self._known.clear()
            self._decided = [{} for _ in self.comparisons]

    def _row(self, role: int, placed: Placed) -> tuple[int, ...]:
        row = self._rows[role].get(placed)
        if row is None:
            row = tuple([self._number(c, role, placed) for c in self.comparisons])
            self._rows[role][placed] = row
        return row

    def _number(self, comparison: _Comparison, role: int, placed: Placed) -> int:
        matter, part = self.decisions.matter(comparison.check), placed.member.part
        looks: Hashable = placed
        if not matter.private:
            seen = matter.of_part(comparison.order.index(role), self.at.parts[part])
            looks = (seen, self.at.baseline.is_fitted(part), placed.axles)
        return self._numbers.setdefault(looks, len(self._numbers))

    def _decide(
        self, comparison: _Comparison, together: tuple[Placed, ...]
    ) -> Iterator[_Decided]:
        placed = tuple([together[i] for i in comparison.order])
        members = tuple([one.member for one in placed])
        for axle in shared_axles(placed):
            if not self.of.steps_back(comparison.check, axle):
                for verdict in self._verdicts(comparison.check, members, axle):
                    yield _Decided(comparison, axle, verdict)

    def _verdicts(
        self, check: Check, members: tuple[Member, ...], axle: Axle | None
    ) -> Sequence[Verdict]:
        parts = [member.part for member in members]
        if self.decisions.tried.isdisjoint(parts):
            if check.informs:
                return ()
            decided = self.decisions.decide(check, parts, self.at.baseline, axle)
            if decided is not None:
                return decided
        return [found for found in self.at.verdicts(check, members, axle) if found.limits]


class Outcomes(Pairings):
    """The combinations of one situation that limit what is possible."""

    def __init__(self, situation: Situation) -> None:
        super().__init__(situation)
        self.decisions = decisions_of(situation.catalogue)
        self._groups: dict[tuple[str, tuple[str, ...]], _Group] = {}

    def alone(self, me: Placed, kind: str) -> list[Combined]:
        """What limits a part by itself."""
        if () not in _comparisons(kind):
            return []
        found = self._group(kind, ()).compare((me,))
        if any(f.check.modifier is None and f.verdict.verdict == "does_not_fit" for f in found):
            self.refused.add(me.member.part)
        return found

    def together(
        self, me: Placed, kind: str, there: Mapping[str, Sequence[Placed]]
    ) -> list[Combined]:
        """What limits a part together with what is there and stock."""
        if me.member.part in self.refused:
            return []
        found: list[Combined] = []
        for kinds in _comparisons(kind):
            pools = [self._able(other, there) for other in kinds]
            if pools and all(pools):
                found += self._group(kind, kinds).among(me, pools)
        return found

    def _group(self, kind: str, kinds: tuple[str, ...]) -> _Group:
        group = self._groups.get((kind, kinds))
        if group is None:
            group = self._groups[kind, kinds] = _Group(self, _comparisons(kind)[kinds])
        return group

    def steps_back(self, check: Check, axle: Axle | None) -> bool:
        """Whether a check yields to another on an axle, for the stock parts that are there."""
        yields_to = self.stock.get(check.unless or "", ())
        return any(axle in placed.axles for placed in yields_to)


@cache
def _comparisons(kind: str) -> Mapping[tuple[str, ...], tuple[_Comparison, ...]]:
    """The checks of a kind, by the kinds of all others that they compare it with."""
    found: dict[tuple[str, ...], list[_Comparison]] = {}
    for check in in_order(kind):
        roles = [role.kind for role in check.roles]
        company = [roles, [*roles, check.modifier]] if check.modifier else [roles]
        for kinds in company:
            if kind not in kinds:
                continue
            others = tuple(name for name in kinds if name is not None and name != kind)
            order = tuple((kind, *others).index(name) for name in kinds if name is not None)
            bare = check.modifier is not None and len(kinds) == len(roles)
            found.setdefault(others, []).append(_Comparison(check, order, bare))
    return {others: tuple(comparisons) for others, comparisons in found.items()}


def yes_or_no(catalogue: Catalogue, car: Baseline) -> Situation:
    """The catalogue as it applies to a car, for questions to which the answer is yes or no."""
    at = Situation(catalogue, car)
    at.kept["pairings"] = Outcomes(at)
    return at
