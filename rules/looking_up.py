"""Where to look in a problem: its statements by what they are about, found once and kept."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Set
from functools import cached_property

from rules.narrowing import Narrowing
from rules.problem import Clause, Judged, NeedInstance, Problem


class LookUp:
    """One problem, looked up by several questions."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem

    @cached_property
    def narrowing(self) -> Narrowing:
        """What narrows the problem down to some picks."""
        return Narrowing(self.problem)

    def needs(self, held: Set[int]) -> Iterator[NeedInstance]:
        """The needs of the picks and the rules that may count where just these variables hold."""
        yield from self._needs[0]
        for variable in held:
            yield from self._needs.get(variable, ())

    @cached_property
    def _needs(self) -> dict[int, list[NeedInstance]]:
        """By the first variable that has to hold, 0 for none."""
        found: defaultdict[int, list[NeedInstance]] = defaultdict(list, {0: []})
        for need in self.problem.needs:
            if not need.key.startswith("stock:"):
                found[next((g for g in need.guard if g > 0), 0)].append(need)
        return found

    @cached_property
    def against(self) -> dict[int, list[Clause]]:
        """The clauses that speak against each stock part that is in its place."""
        found: defaultdict[int, list[Clause]] = defaultdict(list)
        for clause in self.problem.clauses:
            for literal in clause.literals:
                if literal < 0 and self.problem.atoms[-literal][0] == "stays":
                    found[-literal].append(clause)
        return found

    def not_known(self, held: set[int]) -> Iterator[Judged]:
        """The combinations to be measured of which all are there where just these variables hold.
        """
        for variable in held:
            for judged in self._not_known.get(variable, ()):
                if held.issuperset(judged.literals):
                    yield judged

    @cached_property
    def _not_known(self) -> dict[int, list[Judged]]:
        """By the last of their variables."""
        found: defaultdict[int, list[Judged]] = defaultdict(list)
        for judged in self.problem.judged:
            if judged.verdict.verdict == "not_known":
                found[max(judged.literals)].append(judged)
        return found

    @cached_property
    def measurements(self) -> frozenset[int]:
        """The variables that stand for a measurement."""
        return frozenset(v for v, (kind, _) in enumerate(self.problem.atoms) if kind == "open")

    @cached_property
    def takers(self) -> dict[int, frozenset[int]]:
        """For each stock part, by its variable, all that may take it off."""
        return {
            self.problem.variables["stays", place]: frozenset(displacers)
            for place, displacers in self.problem.displacers.items()
        }
