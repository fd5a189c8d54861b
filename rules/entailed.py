"""What holds in every package of a question and what in some, asked of the solver as seldom as can
be: every package found tells of all that is in it, and what can all be left out is left out at once
(Janota, Lynce, Marques-Silva, "Algorithms for computing backbones of propositional formulae", AI
Communications 28, 2015: the core-based way).
"""

from __future__ import annotations

from collections.abc import Iterable

from rules.problem import Problem
from rules.sat import Sat


class Entailed:
    """What follows from a problem that is possible.

    `problem` is what its picks leave open, `sat` the solver of it or of more.
    """

    def __init__(self, sat: Sat, problem: Problem) -> None:
        self._sat = sat
        self._out: set[int] = set()
        sat.solve()
        self._in_some = sat.model()
        self.must: set[int] = set()
        """The variables that hold in every package."""
        self._open: set[int] = set()
        """What was in every package found so far."""
        for (kind, key), variable in problem.variables.items():
            if kind == "stays" and not problem.displacers[key]:
                self.must.add(variable)  # nothing takes it off
            elif kind != "open" and variable in self._in_some:
                self._open.add(variable)
        self._leave_out_together()
        for variable in sorted(self._open):
            if variable in self._open and not self._found([-variable]):
                self.must.add(variable)

    def _leave_out_together(self) -> None:
        """Find a package without as much as will be left out at once of what is open."""
        out = sorted(self._open)
        while out and not self._found([-variable for variable in out]):
            core = {-literal for literal in self._sat.core()}
            kept = core.intersection(out)
            if len(kept) == 1:
                self.must |= kept
                self._open -= kept
            out = [variable for variable in out if variable not in kept]

    def _found(self, assume: list[int]) -> bool:
        """Whether there is such a package; if there is, it tells of more."""
        if not self._sat.solve(assume):
            return False
        found = self._sat.model()
        self._in_some |= found
        self._open &= found
        return True

    def possible(self, variable: int) -> bool:
        """Whether it holds in some package."""
        if variable in self._in_some or variable in self.must:
            return True
        if variable not in self._out:
            if self._found([variable]):
                return True
            self._out.add(variable)
        return False

    def certain(self, literals: Iterable[int]) -> bool:
        """Whether all of them hold in every package."""
        return all(
            literal in self.must if literal > 0 else not self.possible(-literal)
            for literal in literals
        )
