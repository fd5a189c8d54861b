"""Parts that no package can hold on any car, by what is stated of them whatever the car.

A part that is listed for no car in particular would otherwise have to be looked at on every car.
Only those statements are taken that hold on all cars, each in a form that asks for no more than it
does on any of them. What they rule out is ruled out; of the rest nothing is said.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from kb.catalogue import Catalogue
from kb.entries import Part
from kb.graph import graph_of, key_of, node
from kb.statements import Conflict, Need
from rules.clearing import can_hold


def dead_everywhere(catalogue: Catalogue, parts: Iterable[str]) -> frozenset[str]:
    """Those of these parts that what is stated of all cars alike keeps out of every package."""
    stated = _Statements(catalogue)
    asked = {stated.variable(part): part for part in parts if part not in stated.stock}
    possible = can_hold(list(stated.clauses()), asked)
    return frozenset(part for variable, part in asked.items() if variable not in possible)


class _Statements:
    """What is stated of some parts, and of those they ask for, on all cars alike."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.parts, self.graph = catalogue.parts, graph_of(catalogue)
        self.stock = stock_anywhere(catalogue)
        self._variables: dict[str, int] = {}
        self._queue: list[str] = []

    def variable(self, part: str) -> int:
        """The variable of a part that is added; what is stated of it comes in."""
        if part not in self._variables:
            self._variables[part] = len(self._variables) + 1
            self._queue.append(part)
        return self._variables[part]

    def clauses(self) -> Iterator[list[int]]:
        """All statements, of what comes in on the way too."""
        while self._queue:
            key = self._queue.pop()
            me, part = self._variables[key], self.parts[key]
            for others in self._asked_for(key, part):
                yield [-me, *map(self.variable, others)]
            for other in self._barred(key, part):
                yield [-me, -self.variable(other)]

    def _asked_for(self, key: str, part: Part) -> Iterator[tuple[str, ...]]:
        """Parts of which one has to be there."""
        for need in part.requires:
            if self._is_general(need):
                yield need.listed
        for inner in part.contents:
            entry = self.parts[inner]
            if not (entry.takes or entry.fits or entry.contents):
                yield (inner,)
        if not part.orderable:
            yield tuple(key_of(e.node) for e in self.graph.into(node("part", key), "contents"))

    def _barred(self, key: str, part: Part) -> Iterator[str]:
        """Parts that may not be there."""
        for conflict in part.conflicts:
            if self._is_general(conflict) and conflict.at is None and conflict.fitted is None:
                yield from (other for other in conflict.listed if other != key)

    def _is_general(self, statement: Need | Conflict) -> bool:
        """Whether a statement holds on every car, and on each means only the parts it lists."""
        return (
            bool(statement.listed)
            and not statement.when.model_fields_set
            and self.stock.isdisjoint(statement.listed)
            and not any(self.graph.into(node("part", p), "supersedes") for p in statement.listed)
        )


def stock_anywhere(catalogue: Catalogue) -> frozenset[str]:
    """The parts that the factory fitted to some car."""
    return frozenset(
        choice.part for vehicle in catalogue.vehicles.values()
        for choices in vehicle.fitted.values() for choice in choices
    )
