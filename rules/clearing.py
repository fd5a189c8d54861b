"""Which of very many variables can hold in a set of clauses, each answered exactly.

One call per variable would do, and would take hours for a large catalogue. Here every solution
found clears all that holds in it. A few solutions in which as much as will go holds clear nearly
everything (CaDiCaL, guessing that each variable not yet cleared holds). What is left stands in each
other's way; of that, as many as can be together are assumed at once: when they clash, one of the
clash is put off to the next solution (MiniSat, whose clashing calls cost next to nothing).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from pysat.solvers import Solver

WORTH = 20
"""A solution that clears less than one in so many of what is left ends the first way."""

Clauses = Sequence[Sequence[int]]


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
