"""The least package, proven: by answer-set optimisation (clingo) over what the picks leave open."""

from __future__ import annotations

from collections.abc import Iterable, Set
from time import monotonic
from typing import Any

import clingo

from kb.errors import OutOfTime
from rules.clingo_amounts import Amounts
from rules.clingo_costs import Costs
from rules.clingo_program import Program
from rules.clingo_statements import Statements
from rules.problem import Choice, NeedInstance, Problem
from rules.reaching import narrowed
from rules.reasons import Reasons
from rules.sat import Sat
from rules.searching import searched
from rules.situation import Situation
from rules.solution import NO_BOUNDS, Bounds, Order, Solution, levels_of

UP, UP_BY_WEIGHT, DOWN = "usc,oll", "usc,oll,stratify", "bb,lin"
"""Ways to search. Working up from what cannot be avoided is the quicker way by far; working down
from a first package always has a best so far to give. Taking great weights first costs a third
where all that is stated is in the problem, but saves nineteen of twenty seconds where it is not.
"""


def least(
    situation: Situation, problem: Problem, prefer: Order = "least_cost",
    deadline: float = 10.0, bounds: Bounds = NO_BOUNDS,
) -> Solution | None:
    """The least package within bounds by that preference, or None when there is none.

    Past the deadline the best found so far comes back with `proven` False; with none found,
    OutOfTime is raised.
    """
    left = what_is_left(situation, problem, deadline)
    return None if left is None else least_of(
        situation, left, prefer, deadline, bounds, UP_BY_WEIGHT)


def least_of(
    situation: Situation, left: Problem, prefer: Order, deadline: float, bounds: Bounds,
    up: str = UP,
) -> Solution | None:
    """As `least`, of a problem that holds no more than what the picks leave open.

    `up` is how to work up from what cannot be avoided.
    """
    best: Solution | None = None
    late: OutOfTime | None = None
    for strategy, share in ((up, 0.5), (DOWN, 0.5)):
        search = Search(situation, left, levels_of(prefer), bounds, strategy)
        try:
            found = search.least(deadline * share)
        except OutOfTime as error:
            late = error
            continue
        if found is None or found.proven:
            return found
        best = _better(best, found, prefer)
    if best is None and late is not None:
        raise late
    return best


def _better(one: Solution | None, other: Solution, prefer: Order) -> Solution:
    """The one whose costs are less, level by level."""
    if one is None:
        return other
    return min(one, other, key=lambda s: [s.costs[level] for level in levels_of(prefer)])


def what_is_left(situation: Situation, problem: Problem, deadline: float) -> Problem | None:
    """The part of a problem that packages can differ in; None where there is no package."""
    with Sat(problem, Reasons(situation), deadline) as sat:
        return None if sat.clashes() else narrowed(problem, sat.ruled_out())


class Search:
    """One problem given to clingo, which may be asked about it several times.

    Levels are made least one after the other; a solution has the costs of these alone.
    """

    def __init__(
        self, situation: Situation, problem: Problem, levels: tuple[str, ...],
        bounds: Bounds = NO_BOUNDS, strategy: str = UP,
    ) -> None:
        self.problem, self.levels = problem, levels
        self.control = clingo.Control([
            f"--opt-strategy={strategy}", "--opt-mode=opt", "--models=0", "--seed=1", "--warn=none",
        ])
        with self.control.backend() as backend:
            self.program = Program(problem, backend)
            self.statements = Statements(problem, self.program)
            self.amounts = Amounts(situation, problem, self.program, self.statements)
            costs = Costs(situation, problem, self.program, self.statements, self.amounts)
            costs.bound(bounds)
            costs.minimize(levels)

    def least(self, deadline: float, assume: Iterable[int] = ()) -> Solution | None:
        """The least package in which these literals hold; None when there is none.

        Raises OutOfTime when none was found by the deadline.
        """
        best: list[Any] = []
        # Nothing of this search in what clingo keeps: else it would wait for a collection.
        atoms = list(self._atoms())

        def keep(model: clingo.Model) -> None:
            best[:] = [set(filter(model.is_true, atoms)), list(model.cost)]

        begun = monotonic()
        assumed = [self.program.literal(literal) for literal in assume]
        with self.control.solve(assumed, on_model=keep, async_=True) as handle:
            finished = handle.wait(deadline)
            if not finished:
                handle.cancel()
            result = handle.get()
        searched(monotonic() - begun)
        if not best:
            if finished and result.unsatisfiable:
                return None
            raise OutOfTime(f"no package found within {deadline:g} s")
        return self._solution(*best, proven=bool(finished and result.exhausted))

    def _atoms(self) -> Iterable[int]:
        yield from self.program.atoms.values()
        yield from (literal for literal, _, _ in self.statements.assigned)
        for packs in self.amounts.kit_packs.values():
            yield from packs

    def _solution(self, holds: set[int], costs: list[int], *, proven: bool) -> Solution:
        found = Solution(
            proven=proven, costs=dict(zip(self.levels, costs, strict=True)), problem=self.problem
        )
        groups = {"new": found.new, "step": found.steps, "stays": found.stays}
        for (kind, key), variable in self.problem.variables.items():
            if self.program.atoms[variable] in holds:
                found.true.add(variable)
                if kind in groups:
                    groups[kind].add(key)
        found.assigned = [
            (need, _first_alike(self.problem, need, choice, found.true))
            for literal, need, choice in self.statements.assigned if literal in holds
        ]
        counts = {
            kit: sum(atom in holds for atom in packs)
            for kit, packs in self.amounts.kit_packs.items()
        }
        found.kits = {kit: count for kit, count in counts.items() if count}
        return found


def _first_alike(
    problem: Problem, need: NeedInstance, choice: Choice, true: Set[int]
) -> Choice:
    """The choice a need falls on; where others meet it alike, the first of them: it costs nothing
    either way, and so does not hang on how the search went.
    """
    how = _meets(problem, need, choice)
    return choice if how is None else next(
        other for other in need.choices
        if other.literal in true and (other.open is None or other.open in true)
        and _meets(problem, need, other) == how
    )


def _meets(problem: Problem, need: NeedInstance, choice: Choice) -> tuple[object, ...] | None:
    """How a choice meets a need: the same for those of which it does not matter which one does.

    None where it takes more of a part than there is of it anyway.
    """
    if choice.part is None:
        return ("step",)
    if choice.stock_place is not None:
        return ("stock", choice.kept)
    more = need.each or problem.own_amount(choice.part) < need.amount
    return None if more else ("part",)
