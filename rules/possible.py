"""Which of very many parts can be in any package at all, each answered exactly.

One call per part would do, and would take hours for a large catalogue. Here every package found
clears all the parts in it. A few packages with as many parts as will go clear nearly everything
(CaDiCaL, guessing that each part not yet cleared is there). What is left stands in each other's
way; of that, as many parts as can be together are assumed at once: when they clash, one of the
clash is put off to the next package (MiniSat, whose clashing calls cost next to nothing).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from fractions import Fraction

from pysat.solvers import Solver

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.collection import no_collection
from rules.cone import Cone
from rules.sat import Sat, clauses
from rules.situation import Situation, situation_of

WORTH = 20
"""A package that clears less than one in so many of what is left ends the first way."""

Clauses = Sequence[Sequence[int]]


def impossible_parts(catalogue: Catalogue, baseline: Baseline) -> frozenset[str]:
    """The parts of the catalogue that no package on this car can hold.

    The same parts as those that are impossible when each is picked alone.
    """
    at = situation_of(catalogue, baseline)
    return frozenset(catalogue.parts.keys() - _possible(at, at.graph.parts_on(at.car)))


def never_possible(catalogue: Catalogue, cars: Iterable[Baseline]) -> frozenset[str]:
    """The parts that no package on any of these cars can hold.

    A part that one car clears is not looked at on the others.
    """
    left = set(catalogue.parts)
    for car in cars:
        at = Situation(catalogue, car)  # not kept: there may be thousands of cars
        left -= _possible(at, [part for part in at.graph.parts_on(at.car) if part in left])
    return frozenset(left)


def _possible(at: Situation, parts: Iterable[str]) -> set[str]:
    """Those of the parts that some package on the car holds."""
    fixed, asked = [], []
    for part in parts:
        if part in at.stock_places and not at.buyable(part):
            fixed.append(part)
        elif not at.refusal(part):
            asked.append(part)
    found = {part for part in fixed if _can_stay(at, part)}
    if not asked:
        return found
    with no_collection():
        cone = Cone(at, {}, {})
        cone.enter(asked)
        problem = cone.problem
        stated = [clause.literals for clause in clauses(problem, cone.say)]
    variables = {problem.variables["new", part]: part for part in asked}
    return found | {variables[variable] for variable in can_hold(stated, variables)}


def _can_stay(at: Situation, part: str) -> bool:
    """Whether a stock part that nobody sells can be in a package: it stays where it is."""
    cone = Cone(at, {part: Fraction(max(at.units(part), 1))}, {})
    with Sat(cone.problem, cone.say) as sat:
        return sat.solve()


def can_hold(stated: Clauses, variables: Iterable[int]) -> frozenset[int]:
    """Those of the variables that can be true while all clauses hold."""
    left = set(variables)
    everything = frozenset(left)
    never = _clear_by_guessing(stated, left)
    _clear_by_assuming(stated, left, never)
    return everything - never


def _clear_by_guessing(stated: Clauses, left: set[int]) -> set[int]:
    """Take out of `left` what a few large packages hold; what none can hold is returned."""
    never: set[int] = set()
    with Solver(name="cadical153", bootstrap_with=stated) as solver:
        solver.set_phases(sorted(left))
        while left:
            variable = min(left)
            if not solver.solve([variable]):
                _never(solver, variable, left, never)
                continue
            found = left.intersection(solver.get_model())
            left -= found
            solver.set_phases([-cleared for cleared in found])
            if len(found) * WORTH < len(left):
                break
    return never


def _clear_by_assuming(stated: Clauses, left: set[int], never: set[int]) -> None:
    """Take all that can be true out of `left`; the rest of it is added to `never`."""
    with Solver(name="minisat22", bootstrap_with=stated) as solver:
        solver.set_phases([-variable for variable in range(1, solver.nof_vars() + 1)])
        for variable in never:
            solver.add_clause([-variable])
        while left:
            together = dict.fromkeys(sorted(left))
            while together and not solver.solve(list(together)):
                clash: Collection[int] = solver.get_core() or ()
                if len(clash) > 1:
                    together.pop(max(clash))
                    continue
                for variable in clash or list(together):
                    together.pop(variable)
                    _never(solver, variable, left, never)
            if together:
                left.difference_update(solver.get_model())


def _never(solver: Solver, variable: int, left: set[int], never: set[int]) -> None:
    solver.add_clause([-variable])
    left.discard(variable)
    never.add(variable)
