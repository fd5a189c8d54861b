"""Leaves out of a problem what no package for its picks can hold or be asked for.

A cone holds all that may be reached; once it is known which parts the picks rule out, far less is.
A statement counts once everything it is conditional on may be there, and then lets in what it asks
for: the same walk as that of the cone, over what is left. No package is lost or gained.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Set
from dataclasses import replace
from fractions import Fraction

from rules.problem import NeedInstance, Problem


class Narrowing:
    """One problem, to be narrowed down for one or several sets of picks."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.kinds = [kind for kind, _ in problem.atoms]
        self.literals: list[tuple[int, ...]] = [
            *(clause.literals for clause in problem.clauses), *map(_as_clause, problem.needs),
        ]
        """The statements: clauses first, then needs."""
        self.conditions: list[int] = []
        """For each statement, how many parts, steps and groups it is conditional on."""
        self.waiters: defaultdict[int, list[int]] = defaultdict(list)
        self.leads_to: defaultdict[int, list[int]] = defaultdict(list)
        """What comes in with a part: the groups it is a member of, the kits that bring it."""
        self.groups_of_stock: list[int] = []
        for number, literals in enumerate(self.literals):
            conditions = {-v for v in literals if v < 0 and self.kinds[-v] != "stays"}
            self.conditions.append(len(conditions))
            for variable in conditions:
                self.waiters[variable].append(number)
        for group, members in problem.members.items():
            for member in members:
                self.leads_to[member].append(group)
            if any(self.kinds[member] == "stays" for member in members):
                self.groups_of_stock.append(group)
        for kit, contents in problem.kits.items():
            for part in contents:
                if inner := problem.known("new", part):
                    self.leads_to[inner].append(problem.variables["new", kit])

    def narrowed(self, picks: Mapping[str, Fraction], never: Set[int]) -> Problem:
        """The problem of these picks with only what can still matter.

        `never` are variables that no package holds. Variables keep their numbers; those left out
        are no longer in `variables`.
        """
        return _Walk(self, picks, never).problem()


def narrowed(problem: Problem, never: Set[int]) -> Problem:
    """A problem with only what can still matter for its own picks."""
    return Narrowing(problem).narrowed(problem.picks, never)


class _Walk:
    def __init__(
        self, over: Narrowing, picks: Mapping[str, Fraction], never: Set[int]
    ) -> None:
        self.over, self.whole, self.picks = over, over.problem, picks
        self.never = {v for v in never if over.kinds[v] in ("new", "step", "open")}
        self.inside: set[int] = set()
        self.opened: set[str] = set()
        self.reached: set[int] = set()
        self.waiting = list(over.conditions)
        self.queue: list[int] = []
        for group in over.groups_of_stock:
            self._come(group)
        if self.whole.partial:
            # What is not stated yet may ask for anything that is there.
            for (kind, _), variable in self.whole.variables.items():
                if kind != "stays":
                    self._come(variable)
        for number, count in enumerate(self.waiting):
            if not count:
                self._reach(number)
        for part in picks:
            if picked := self.whole.known("new", part):
                self._come(picked)
        while self.queue:
            self._follow(self.queue.pop())

    def _come(self, variable: int) -> None:
        if variable not in self.inside and variable not in self.never:
            self.inside.add(variable)
            self.queue.append(variable)

    def _follow(self, variable: int) -> None:
        for other in self.over.leads_to.get(variable, ()):
            self._come(other)
        for number in self.over.waiters.get(variable, ()):
            self.waiting[number] -= 1
            if not self.waiting[number]:
                self._reach(number)

    def _reach(self, number: int) -> None:
        """A statement counts: what it asks for comes in, and what may have to make way."""
        self.reached.add(number)
        for literal in self.over.literals[number]:
            if literal < 0:
                self._deny(-literal)
            elif self.over.kinds[literal] != "stays":
                self._come(literal)

    def _deny(self, variable: int) -> None:
        """A stock part may have to come off: all that could take its place comes in."""
        if self.over.kinds[variable] == "any":
            for member in self.whole.members[variable]:
                self._deny(member)
        elif self.over.kinds[variable] == "stays":
            place = self.whole.atoms[variable][1]
            if place not in self.opened:
                self.opened.add(place)
                for displacer in self.whole.displacers[place]:
                    self._come(displacer)

    # -- what is left ---------------------------------------------------------------------------

    def problem(self) -> Problem:
        """What the walk came to."""
        whole, count = self.whole, len(self.whole.clauses)
        reached = sorted(self.reached)
        return replace(
            whole,
            picks=dict(self.picks),
            variables={
                atom: variable for atom, variable in whole.variables.items()
                if variable in self.inside or atom[0] == "stays"
            },
            clauses=[whole.clauses[i] for i in reached if i < count],
            needs=[self._open(whole.needs[i - count]) for i in reached if i >= count],
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

    def _open(self, need: NeedInstance) -> NeedInstance:
        """The need with only those askers and choices that may be there."""
        never, left = self.never, self._is_left
        askers = [a for a in need.askers if not a.literal or left(a.literal)]
        choices = [c for c in need.choices if c.literal not in never and c.open not in never]
        if len(askers) + len(choices) == len(need.askers) + len(need.choices):
            return need
        return need._replace(askers=tuple(askers), choices=tuple(choices))

    def _is_left(self, variable: int) -> bool:
        return variable in self.inside or self.over.kinds[variable] == "stays"

    def _inside(self, by_place: dict[str, list[int]]) -> dict[str, list[int]]:
        return {place: self._left(parts) for place, parts in by_place.items()}

    def _left(self, variables: Iterable[int]) -> list[int]:
        return [variable for variable in variables if self._is_left(variable)]


def _as_clause(need: NeedInstance) -> tuple[int, ...]:
    return (
        *[-literal for literal in need.guard], *[choice.literal for choice in need.choices],
        *[choice.open for choice in need.choices if choice.open],
    )
