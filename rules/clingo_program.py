"""The rules given to clingo, through its backend: an atom for each variable of a problem."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from clingo.backend import Backend

from rules.problem import Problem

Terms = Sequence[tuple[int, int]]
"""Literals with whole-number weights."""


class Program:
    """Rules over the variables of one problem. A literal here is an atom of clingo's or its
    negative; `literal` gives the one for a literal of the problem.
    """

    def __init__(self, problem: Problem, backend: Backend) -> None:
        self._backend = backend
        self._never = self.atom()
        """No rule has it as its head, so it never holds: what was left out of the problem."""
        self.atoms = {variable: self.atom() for variable in problem.variables.values()}

    def atom(self) -> int:
        """A new atom."""
        made: int = self._backend.add_atom()
        return made

    def literal(self, literal: int) -> int:
        """The literal for one of the problem's."""
        if literal > 0:
            return self.atoms.get(literal, self._never)
        return -self.atoms.get(-literal, self._never)

    def follows(self, head: int, body: Iterable[int]) -> None:
        """Let `head` hold whenever all of `body` does."""
        self._backend.add_rule([head], list(body))

    def may(self, heads: Sequence[int], body: Iterable[int] = ()) -> None:
        """Let any of `heads` hold or not while all of `body` does."""
        self._backend.add_rule(heads, list(body), choice=True)

    def forbid(self, body: Iterable[int]) -> None:
        """Not all of these hold together."""
        self._backend.add_rule([], list(body))

    def at_most_one(self, literals: Sequence[int]) -> None:
        """No two of these hold together."""
        if len(literals) > 1:
            self._backend.add_weight_rule([], 2, [(literal, 1) for literal in literals])

    def forbid_sum(self, least: int, terms: Terms) -> None:
        """The weights of what holds stay below `least`."""
        self._backend.add_weight_rule([], least, terms)

    def follows_from_sum(self, head: int, least: int, terms: Terms) -> None:
        """Let `head` hold when the weights of what holds come to `least`."""
        self._backend.add_weight_rule([head], least, terms)

    def both(self, *literals: int) -> int:
        """A literal for a conjunction; a single literal stands for itself."""
        distinct = list(dict.fromkeys(literals))
        if len(distinct) == 1:
            return distinct[0]
        atom = self.atom()
        self.follows(atom, distinct)
        return atom

    def minimize(self, priority: int, terms: Terms) -> None:
        """Make a sum least; a greater priority comes first. Without terms it is 0."""
        # A level without terms still stands, so that the costs come back one per level.
        self._backend.add_minimize(priority, terms or [(self._never, 1)])
