"""Packages of plain parts on one car, put together without a search.

As many plain parts as will go together make a team, each with what it asks for; those that would
not go with it make the next. Beside all harmless parts and the car as it is, a team is a package:
its parts do not clash, no two sit in one place, and nothing leans on what they displace. Of a part
that joins no team nothing is said.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence, Set

from rules.plain_parts import PlainParts
from rules.situation import Situation

MOST_TEAMS = 24
"""So many are put together; those still left then are searched for."""


class Teams:
    """The teams of one car."""

    def __init__(self, plain: PlainParts, at: Situation, harmless: Set[str]) -> None:
        self.plain, self.at, self.harmless = plain, at, harmless
        self._able: dict[str, bool] = {}
        self._hopeless: set[str] = set()
        """Parts that ask for something that no plain part is."""
        self._team: set[str] = set()
        self._places: set[str] = set()

    def members(self, parts: Iterable[str]) -> set[str]:
        """Those of these parts that are found in a team, with all others in it."""
        found: set[str] = set()
        if not all(map(self._is_kept, self.at.always)):
            return found
        left = [part for part in parts if part not in self.harmless and self._is_able(part)]
        for _ in range(MOST_TEAMS):
            self._gather(left)
            if not self._team:
                break
            found |= self._team
            left = [p for p in left if p not in self._team and p not in self._hopeless]
        return found

    def _is_kept(self, rule_id: str) -> bool:
        """Whether a rule that holds on every package is kept by the car as it is."""
        rule = self.at.catalogue.rules[rule_id]
        harmless = (self.plain.is_met(then, self.harmless) for then in rule.then_any)
        return self.at.stock_meets(rule) or any(harmless)

    def _gather(self, parts: Sequence[str]) -> None:
        """Put a new team together."""
        self._team, self._places = set(), set()
        for part in parts:
            if part not in self._team and self._goes_beside(part):
                self._join(part)

    def _join(self, first: str) -> None:
        """Take a part into the team with all it asks for, or none of it."""
        joined: list[str] = []
        wanted: str | None = first
        asking: list[Iterator[Sequence[str]]] = []
        while wanted is not None:
            joined.append(wanted)
            self._team.add(wanted)
            self._places.update(self.plain.parts[wanted].takes)
            asking.append(self._asked(wanted))
            wanted = None
            while asking and wanted is None:
                names = next(asking[-1], None)
                if names is None:
                    asking.pop()
                elif self._team.isdisjoint(names):
                    wanted = next(filter(self._goes_beside, names), None)
                    if wanted is None:
                        self._part_again(joined)
                        return

    def _asked(self, key: str) -> Iterator[Sequence[str]]:
        """For all that a part asks for and that is not harmless, the parts that would do."""
        for names in self.plain.asked(self.at, key):
            if self.harmless.isdisjoint(names):
                able = [name for name in names if self._is_able(name)]
                if not able:
                    self._hopeless.add(key)
                yield able

    def _part_again(self, joined: Iterable[str]) -> None:
        for part in joined:
            self._team.remove(part)
            self._places.difference_update(self.plain.parts[part].takes)

    def _goes_beside(self, key: str) -> bool:
        """Whether a part that may be in a team does not clash with this one."""
        takes, clashes = self.plain.parts[key].takes, self.plain.clashes.get(key)
        return (
            (not takes or self._places.isdisjoint(takes))
            and (clashes is None or self._team.isdisjoint(clashes))
        )

    def _is_able(self, key: str) -> bool:
        """Whether a part may be in a team at all."""
        able = self._able.get(key)
        if able is None:
            able = self._able[key] = self.plain.is_plain(key) and not self.at.refusal(key) and all(
                place not in self.at.dependents and place not in self.at.stock_rules
                for place in self.plain.parts[key].takes
            )
        return able and key not in self._hopeless
