"""Which of all the parts of a catalogue can be in any package at all, each answered exactly.

A real shop has very many parts and hundreds of cars, and most parts are for one car. So cars on
which all that is stated applies alike are looked at once; on each, only the parts that no car
before it cleared; of those, plain ones (`rules.plain_parts`) need no search.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.collection import no_collection
from kb.graph import graph_of
from rules.alike import alike
from rules.clearing import can_hold
from rules.everywhere import dead_everywhere
from rules.outcomes import yes_or_no
from rules.plain_parts import PlainParts
from rules.possible_cone import PossibleCone
from rules.sat import clauses
from rules.situation import Situation
from rules.teams import Teams


def impossible_parts(catalogue: Catalogue, baseline: Baseline) -> frozenset[str]:
    """The parts of the catalogue that no package on this car can hold.

    The same parts as those that are impossible when each is picked alone.
    """
    return never_possible(catalogue, [baseline])


def never_possible(catalogue: Catalogue, cars: Iterable[Baseline]) -> frozenset[str]:
    """The parts that no package on any of these cars can hold."""
    several = list(cars)
    if len(several) < 2:
        return _Search(catalogue, frozenset()).left_after(several)
    dead = dead_everywhere(catalogue, graph_of(catalogue).parts_on_any())
    return _Search(catalogue, dead).left_after(group[0] for group in alike(catalogue, several))


class _Search:
    """The search on one car after the other, given parts that are dead on all of them."""

    def __init__(self, catalogue: Catalogue, dead: frozenset[str]) -> None:
        self.catalogue, self.graph, self.dead = catalogue, graph_of(catalogue), dead
        self.plain = PlainParts(catalogue, dead)
        self.left = set(catalogue.parts) - dead
        """The parts that no car so far has a package with, though one may."""

    def left_after(self, cars: Iterable[Baseline]) -> frozenset[str]:
        """The parts that none of these cars has a package with."""
        with no_collection():
            for car in cars:
                on_car = list(self.graph.parts_on(car.vehicle_id))
                if not self.left.isdisjoint(on_car):
                    at = yes_or_no(self.catalogue, car)
                    self._visit(at, on_car)
                    at.kept.clear()  # there may be thousands of cars: none of them waits
        return self.dead.union(self.left)

    def _visit(self, at: Situation, on_car: Sequence[str]) -> None:
        """Clear the parts that some package on a car holds; `on_car` are all that can matter."""
        harmless = self.plain.harmless(at, on_car)
        self.left -= Teams(self.plain, at, harmless).members(p for p in on_car if p in self.left)
        cone = PossibleCone(at, self.plain, harmless)
        asked = [p for p in on_car if p in self.left and p not in harmless and not at.refusal(p)]
        stock = {p for p in asked if p in at.stock_places and not at.buyable(p)}
        cone.enter([part for part in asked if part not in stock])
        variables = {cone.kept(p) if p in stock else cone.new(p): p for p in asked}
        nothing = cone.nothing
        stated = [clause.literals for clause in clauses(cone.problem, cone.say)]
        possible = can_hold(stated, [nothing, *variables])
        self.left.difference_update(p for variable, p in variables.items() if variable in possible)
        if nothing in possible:
            self.left -= harmless
