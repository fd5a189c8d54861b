"""The least package that also passes the checks of the whole car.

Such checks compare parts of both axles, so there are too many combinations to judge beforehand.
Instead each package found is judged; what does not pass is let into the problem as one more
statement, and the search goes on. Every statement so added holds for all packages, so the last
package is still the least. What is not known of the whole car is left to be measured: it would be
as unknown with any other package.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Set
from dataclasses import replace
from time import monotonic

from kb.errors import OutOfTime
from rules.asking import Asked
from rules.checking import checks
from rules.combining import Combined, judge
from rules.cone import NO_WISHES, Cone
from rules.least import Search, least, least_of, what_is_left
from rules.posed import has_kept_problem, left_open
from rules.problem import Problem
from rules.situation import Situation
from rules.solution import NO_BOUNDS, Bounds, Order, Solution, levels_to_money
from rules.wishes import Wishes

Solve = Callable[[Situation, Problem, Order, float, Bounds], Solution | None]


def least_for(
    asked: Asked, prefer: Order, deadline: float, bounds: Bounds = NO_BOUNDS
) -> Solution | None:
    """The least package for a question within bounds, or None when there is none.

    Raises OutOfTime past the deadline (seconds) when no package that passes was found.
    """
    ends = monotonic() + deadline
    if has_kept_problem(asked):
        left = left_open(asked)
        if left is None:
            return None
        solution = least_of(asked.situation, left, prefer, deadline, bounds)
        if solution is None or not failings(asked.situation, solution):
            return solution
    return least_package(asked.cone, prefer, ends - monotonic(), bounds)


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

    The search is set up once for all swaps. `left` is what the picks leave open.
    """

    def __init__(self, asked: Asked, left: Problem, prefer: Order) -> None:
        self.asked, self.levels = asked, levels_to_money(prefer)
        self._left: Problem | None = left
        self._search: Search | None = None

    def money(self, part: str, other: str, deadline: float) -> int | None:
        """What the least package with `other` and without `part` costs; None when there is none.

        Raises OutOfTime past the deadline (seconds) when that was not proven.
        """
        ends = monotonic() + deadline
        while (search := self._set_up()) is not None:
            known = search.problem.known
            new, old = known("new", other), known("new", part)
            if new is None:
                break
            assume = (new,) if old is None else (new, -old)
            solution = search.least(max(ends - monotonic(), 0.0), assume)
            if solution is None:
                break
            if not solution.proven:
                raise OutOfTime(f"not proven within {deadline:g} s")
            if not self._let_in(solution):
                return solution.costs["money"]
            cone = self.asked.cone
            self._left = what_is_left(cone.at, cone.problem, ends - monotonic())
            self._search = None
        return None

    def _set_up(self) -> Search | None:
        if self._search is None and self._left is not None:
            self._search = Search(self.asked.situation, self._left, self.levels)
        return self._search

    def _let_in(self, solution: Solution) -> bool:
        """Let what a package fails into the problem of the question. True if any was new."""
        if not failings(self.asked.situation, solution, self.asked.wishes):
            return False
        return let_in(self.asked.cone, solution.new, solution.stays)


def failings(
    situation: Situation, solution: Solution, wishes: Wishes = NO_WISHES
) -> list[Combined]:
    """What the checks of the whole car have against a package, or ask for in it."""
    return _failings(situation, wishes, solution.new, solution.problem.displacers, solution.stays)


def let_in(cone: Cone, new: Set[str], stays: Set[str]) -> bool:
    """Let the failings of a car into the problem. True if any was new.

    `new` are the parts added to it, `stays` the places whose stock part stays.
    """
    places = cone.problem.displacers
    failed = _failings(cone.at, cone.wishes, new, places, stays)
    admitted = [cone.admit(found) for found in failed]
    return any(admitted)


def unknown_of_the_whole(cone: Cone, solution: Solution) -> frozenset[str]:
    """What has to be measured before the checks of the whole car can judge a package."""
    return frozenset(
        "; ".join(combined.verdict.measure)
        for combined in _judged(cone.at, solution.new, cone.problem.displacers, solution.stays)
        if combined.verdict.verdict == "not_known"
    )


def _failings(
    situation: Situation, wishes: Wishes, new: Set[str], places: Iterable[str], stays: Set[str]
) -> list[Combined]:
    return [
        combined for combined in _judged(situation, new, places, stays)
        if combined.verdict.limits
        or (wishes.certain_only and combined.verdict.verdict == "not_known")
    ]


def _judged(
    situation: Situation, new: Set[str], places: Iterable[str], stays: Set[str]
) -> list[Combined]:
    """The checks of the whole car of what will be on it. `places` are those whose stock part may
    come off, `stays` those where it does not.
    """
    of_the_whole = [check for check in checks().values() if check.whole_car]
    return list(judge(situation, sorted(new), {*places} - stays, of_the_whole))
