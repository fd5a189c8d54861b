"""What holds in every package of a question and what in some, asked of the solver as seldom as can
be: every package found tells of all that is in it, and what can all be left out is left out at once
(Janota, Lynce, Marques-Silva, "Algorithms for computing backbones of propositional formulae", AI
Communications 28, 2015: the core-based way).
"""

from __future__ import annotations

from collections.abc import Iterable, Set

from rules.sat import Sat


class Entailed:
    """What follows from a problem that its solver has just found possible."""

    def __init__(self, sat: Sat, matter: Set[int], stay: Iterable[int] = ()) -> None:
        """`matter` are the variables to be told of, `stay` those of stock parts that nothing takes
        off."""
        self._sat = sat
        self._in_some = sat.model()
        follows = sat.follows()
        self._out = {-literal for literal in follows if literal < 0}
        self.must = {*stay, *(matter & follows)}
        """The variables that hold in every package."""
        self._open = (matter & self._in_some) - self.must
        """What was in every package found so far."""
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
