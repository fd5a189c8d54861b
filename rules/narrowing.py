"""Leaves out of a problem what no package for its picks can hold or be asked for.

A cone holds all that may be reached; once it is known which parts the picks rule out, far less is.
A statement counts once everything it is conditional on may be there, and then lets in what it asks
for: the same walk as that of the cone, over what is left. No package is lost or gained.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Set
from dataclasses import replace

from rules.problem import Clause, NeedInstance, Problem


def narrowed(problem: Problem, never: Set[int]) -> Problem:
    """The problem with only what can still matter; `never` are variables no package holds.

    Variables keep their numbers; those left out are no longer in `variables`.
    """
    return _Narrowing(problem, never).problem()


class _Narrowing:
    def __init__(self, problem: Problem, never: Set[int]) -> None:
        self.whole = problem
        self.kinds = [kind for kind, _ in problem.atoms]
        self.never = {v for v in never if self.kinds[v] in ("new", "step", "open")}
        self.inside: set[int] = set()
        self.opened: set[str] = set()
        self.reached: set[int] = set()
        """The statements that count, by number: clauses first, then needs."""
        self.needs = [self._possible(need) for need in problem.needs]
        self.literals: list[tuple[int, ...]] = [
            *(clause.literals for clause in problem.clauses), *map(_as_clause, self.needs),
        ]
        self.waiting: list[int] = []
        """For each statement, how many of its conditions are not inside."""
        self.waiters: defaultdict[int, list[int]] = defaultdict(list)
        self.leads_to: defaultdict[int, list[int]] = defaultdict(list)
        """What comes in with a part: the groups it is a member of, the kits that bring it."""
        self.queue: list[int] = []
        self._prepare()
        while self.queue:
            self._follow(self.queue.pop())

    def _possible(self, need: NeedInstance) -> NeedInstance:
        """The need without the choices that no package holds."""
        choices = [
            c for c in need.choices if c.literal not in self.never and c.open not in self.never
        ]
        return need._replace(choices=tuple(choices))

    def _prepare(self) -> None:
        for group, members in self.whole.members.items():
            for member in members:
                self.leads_to[member].append(group)
                if self.kinds[member] == "stays":
                    self._come(group)
        for kit, contents in self.whole.kits.items():
            for part in contents:
                if inner := self.whole.known("new", part):
                    self.leads_to[inner].append(self.whole.variables["new", kit])
        for number, literals in enumerate(self.literals):
            conditions = {-v for v in literals if v < 0 and self.kinds[-v] != "stays"}
            self.waiting.append(len(conditions))
            for variable in conditions:
                self.waiters[variable].append(number)
            if not conditions:
                self._reach(number)
        for part in self.whole.picks:
            if picked := self.whole.known("new", part):
                self._come(picked)

    def _come(self, variable: int) -> None:
        if variable not in self.inside and variable not in self.never:
            self.inside.add(variable)
            self.queue.append(variable)

    def _follow(self, variable: int) -> None:
        for other in self.leads_to[variable]:
            self._come(other)
        for number in self.waiters[variable]:
            self.waiting[number] -= 1
            if not self.waiting[number]:
                self._reach(number)

    def _reach(self, number: int) -> None:
        """A statement counts: what it asks for comes in, and what may have to make way."""
        self.reached.add(number)
        for literal in self.literals[number]:
            if literal < 0:
                self._deny(-literal)
            elif self.kinds[literal] != "stays":
                self._come(literal)

    def _deny(self, variable: int) -> None:
        """A stock part may have to come off: all that could take its place comes in."""
        if self.kinds[variable] == "any":
            for member in self.whole.members[variable]:
                self._deny(member)
        elif self.kinds[variable] == "stays":
            place = self.whole.atoms[variable][1]
            if place not in self.opened:
                self.opened.add(place)
                for displacer in self.whole.displacers[place]:
                    self._come(displacer)

    # -- what is left ---------------------------------------------------------------------------

    def problem(self) -> Problem:
        whole, count = self.whole, len(self.whole.clauses)
        clauses: list[Clause] = [c for i, c in enumerate(whole.clauses) if i in self.reached]
        return replace(
            whole,
            variables={
                atom: variable for atom, variable in whole.variables.items()
                if variable in self.inside or atom[0] == "stays"
            },
            clauses=clauses,
            needs=[self._asked(n) for i, n in enumerate(self.needs, count) if i in self.reached],
            exclusive=self._inside(whole.exclusive),
            displacers=self._inside(whole.displacers),
            members={
                group: self._left(members) for group, members in whole.members.items()
                if group in self.inside
            },
            kits={
                kit: contents for kit, contents in whole.kits.items()
                if whole.variables["new", kit] in self.inside
            },
        )

    def _asked(self, need: NeedInstance) -> NeedInstance:
        """The need with only those askers that may be there."""
        there = self._left([asker.literal for asker in need.askers if asker.literal])
        askers = [a for a in need.askers if not a.literal or a.literal in there]
        return need._replace(askers=tuple(askers))

    def _inside(self, by_place: dict[str, list[int]]) -> dict[str, list[int]]:
        return {place: self._left(parts) for place, parts in by_place.items()}

    def _left(self, variables: Iterable[int]) -> list[int]:
        return [v for v in variables if v in self.inside or self.kinds[v] == "stays"]


def _as_clause(need: NeedInstance) -> tuple[int, ...]:
    return (
        *[-literal for literal in need.guard], *[choice.literal for choice in need.choices],
        *[choice.open for choice in need.choices if choice.open],
    )
