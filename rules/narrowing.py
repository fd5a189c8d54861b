"""Tells which parts of a problem some picks can have to do with, as sets: what is needed with a
part asks for no more than that. `rules.reaching` tells it in order, with what is stated.

A cone holds all that may be reached; once it is known which parts the picks rule out, far less is.
A statement counts once everything it is conditional on may be there, and then lets in what it asks
for: the same walk as that of the cone, over what is left.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Set

from rules.problem import NeedInstance, Problem
from rules.reaching import ADDABLE, brought

NOTHING: Set[int] = frozenset()


class Narrowing:
    """One problem, of which one or several sets of picks leave less."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self._kinds = [kind for kind, _ in problem.atoms]
        self._addable = {v for v, kind in enumerate(self._kinds) if kind in ADDABLE}
        self._always: set[int] = set()
        """What comes in whatever the picks are."""
        self._brings: defaultdict[int, set[int]] = defaultdict(set)
        """What comes in with a variable alone."""
        jointly: defaultdict[frozenset[int], set[int]] = defaultdict(set)
        for literals in problem.stated():
            conditions = frozenset(-v for v in literals if v < 0 and self._kinds[-v] != "stays")
            if len(conditions) > 1:
                jointly[conditions].update(brought(problem, literals))
            elif conditions:
                self._brings[min(conditions)].update(brought(problem, literals))
            else:
                self._always.update(brought(problem, literals))
        for group, members in problem.members.items():
            for member in members:
                self._brings[member].add(group)
            if any(self._kinds[member] == "stays" for member in members):
                self._always.add(group)
        for kit, contents in problem.kits.items():
            for part in contents:
                if inner := problem.known("new", part):
                    self._brings[inner].add(problem.variables["new", kit])
        self._jointly = list(self._left_to_bring(jointly))
        """What comes in with several together, beyond what comes with one of them anyway."""

    def _left_to_bring(
        self, jointly: Mapping[frozenset[int], set[int]]
    ) -> Iterator[tuple[frozenset[int], set[int]]]:
        for conditions, together in jointly.items():
            left = together - self._always - conditions
            if not any(left <= self._brings.get(v, NOTHING) for v in conditions):
                yield conditions, left

    # -- asking ---------------------------------------------------------------------------------

    def inside(self, picks: Iterable[str], never: Set[int]) -> set[int]:
        """All that can still matter to these picks, but for stock parts.

        `never` are variables that no package holds.
        """
        never = never & self._addable
        picked = (self.problem.known("new", part) for part in picks)
        inside = self._always.union(filter(None, picked)) - never
        self._come(inside, list(inside), never)
        waiting = self._jointly
        while True:
            counts = [left for conditions, left in waiting if conditions <= inside]
            new = set().union(*counts) - inside - never
            if not new:
                return inside
            waiting = [each for each in waiting if not each[0] <= inside]
            inside |= new
            self._come(inside, list(new), never)

    def _come(self, inside: set[int], queue: list[int], never: Set[int]) -> None:
        """Let in all that comes with each of the queue alone, and with that, and on."""
        while queue:
            found = self._brings.get(queue.pop(), NOTHING) - inside - never
            inside |= found
            queue += found

    def open(self, need: NeedInstance, inside: Set[int], never: Set[int]) -> NeedInstance:
        """A need with only those askers and choices that may be there."""
        return need.left(
            lambda v: v in inside or self._kinds[v] == "stays", never & self._addable)
