"""The least package that also passes the checks of the whole car.

Such checks compare parts of both axles, so there are too many combinations to judge beforehand.
Instead each package found is judged; what does not pass is let into the problem as one more
statement, and the search goes on. Every statement so added holds for all packages, so the last
package is still the least. What is not known of the whole car is left to be measured: it would be
as unknown with any other package.
"""

from __future__ import annotations

from collections.abc import Callable, Set
from dataclasses import replace
from time import monotonic

from kb.errors import OutOfTime
from rules.checking import checks
from rules.combining import Combined, judge
from rules.cone import Cone
from rules.least import Search, least, what_is_left
from rules.problem import Problem
from rules.situation import Situation
from rules.solution import NO_BOUNDS, Bounds, Order, Solution, levels_to_money

DECISIVE = ("does_not_fit", "fits_with_work")

Solve = Callable[[Situation, Problem, Order, float, Bounds], Solution | None]


def least_package(
    cone: Cone, prefer: Order, deadline: float, bounds: Bounds = NO_BOUNDS,
    solve: Solve | None = None,
) -> Solution | None:
    """The least package of a cone within bounds, or None when there is none.

    A lazy cone grows on the way. `solve` may stand in for the search with the same answers.
    Raises OutOfTime past the deadline (seconds) when no package that passes was found.
    """
    solve, ends = solve or least, monotonic() + deadline
    while True:
        left = ends - monotonic()
        if left <= 0:
            raise OutOfTime(f"no package found within {deadline:g} s")
        solution = solve(cone.at, cone.problem, prefer, left, bounds)
        if solution is None:
            return None
        if cone.admit_waiting(solution.new) or let_in(cone, solution.new, solution.stays):
            continue
        if not cone.problem.partial:
            return solution
        # What was let in generously has to stand in the strict sense as well.
        strict = solve(cone.at, replace(cone.problem, partial=False), prefer, left, bounds)
        if strict is None or strict.costs != solution.costs or cone.waiting & strict.new:
            cone.admit_all()
        elif not let_in(cone, strict.new, strict.stays):
            return strict


class Swaps:
    """What packages come to in money when some of what was chosen is swapped for something else.

    The search is set up once for all swaps. `left` is what the picks leave open of the problem of
    `cone`, which may grow.
    """

    def __init__(self, cone: Cone, left: Problem, prefer: Order) -> None:
        self.cone, self.levels = cone, levels_to_money(prefer)
        self._left: Problem | None = left
        self._search: Search | None = None

    def money(self, part: str, other: str, deadline: float) -> int | None:
        """What the least package with `other` and without `part` costs; None when there is none.

        Raises OutOfTime past the deadline (seconds) when that was not proven.
        """
        ends = monotonic() + deadline
        variables = self.cone.problem.variables
        assume = (variables["new", other], -variables["new", part])
        while (search := self._set_up()) is not None:
            solution = search.least(max(ends - monotonic(), 0.0), assume)
            if solution is None:
                break
            if not solution.proven:
                raise OutOfTime(f"not proven within {deadline:g} s")
            if not let_in(self.cone, solution.new, solution.stays):
                return solution.costs["money"]
            self._left = what_is_left(self.cone.at, self.cone.problem, ends - monotonic())
            self._search = None
        return None

    def _set_up(self) -> Search | None:
        if self._search is None and self._left is not None:
            self._search = Search(self.cone.at, self._left, self.levels)
        return self._search


def let_in(cone: Cone, new: Set[str], stays: Set[str]) -> bool:
    """Let the failings of a car into the problem. True if any was new.

    `new` are the parts added to it, `stays` the places whose stock part stays.
    """
    decisive = (*DECISIVE, "not_known") if cone.wishes.certain_only else DECISIVE
    news = [
        cone.admit(combined) for combined in _judged(cone, new, stays)
        if combined.verdict.verdict in decisive
        or combined.verdict.needs or combined.verdict.spoilt_by
    ]
    return any(news)


def unknown_of_the_whole(cone: Cone, solution: Solution) -> frozenset[str]:
    """What has to be measured before the checks of the whole car can judge a package."""
    return frozenset(
        "; ".join(combined.verdict.measure)
        for combined in _judged(cone, solution.new, solution.stays)
        if combined.verdict.verdict == "not_known"
    )


def _judged(cone: Cone, new: Set[str], stays: Set[str]) -> list[Combined]:
    """The checks of the whole car of what will be on it."""
    of_the_whole = [check for check in checks().values() if check.whole_car]
    return list(judge(cone.at, sorted(new), cone.problem.displacers.keys() - stays, of_the_whole))
