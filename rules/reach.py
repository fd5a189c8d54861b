"""What a question can touch: which parts and steps its cone may reach, taken generously.

Worked out once for a car from the problem with everything in it, it tells cheaply which questions
an altered entry cannot have changed. It may name too much, never too little.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set

import networkx as nx

from rules.audit_whole import Whole
from rules.problem import Atom
from rules.sat import clauses


class Reach:
    """Who can be affected by what, on one car."""

    def __init__(self, whole: Whole) -> None:
        self.problem = whole.problem
        self.net: nx.DiGraph[int] = nx.DiGraph()
        self.net.add_nodes_from(range(1, len(self.problem.atoms)))
        for stated in clauses(self.problem, whole.cone.say):
            self._clause(stated.literals)
        for place, displacers in self.problem.displacers.items():
            stays = self.problem.variables["stays", place]
            self.net.add_edges_from((stays, taker) for taker in displacers)
        for kit, contents in self.problem.kits.items():
            self._join_all(("new", kit), (("new", part) for part in contents))

    def _clause(self, literals: Iterable[int]) -> None:
        """A statement is entered from what it is conditional on, and from stock parts in it."""
        found = list(literals)
        starts = [abs(v) for v in found if v < 0 or self._is_stock(v)]
        ends = [abs(v) for v in found if v > 0 or self._is_stock(v)]
        self.net.add_edges_from((a, b) for a in starts for b in ends if a != b)

    def _is_stock(self, literal: int) -> bool:
        variable = abs(literal)
        return variable < len(self.problem.atoms) and self.problem.atoms[variable][0] == "stays"

    def _join_all(self, kit: Atom, parts: Iterator[Atom]) -> None:
        """A part leads to the kits that bring it, and a kit to what is in it."""
        for part in parts:
            one, other = self.problem.variables.get(kit), self.problem.variables.get(part)
            if one is not None and other is not None:
                self.net.add_edges_from([(one, other), (other, one)])

    def affected(self, altered: Set[Atom]) -> frozenset[str]:
        """The parts whose question can reach one of these atoms."""
        atoms, found = self.problem.variables, set[int]()
        for atom in altered:
            if atom in atoms:
                found |= {atoms[atom]} | nx.ancestors(self.net, atoms[atom])
        return frozenset(
            key for kind, key in map(self._atom, found) if kind == "new"
        )

    def _atom(self, variable: int) -> Atom:
        return self.problem.atoms[variable] if variable < len(self.problem.atoms) else ("", "")
