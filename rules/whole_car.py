"""The least package that also passes the checks of the whole car.

Such checks compare parts of both axles, so there are too many combinations to judge beforehand.
Instead each package found is judged; what does not pass is let into the problem as one more
statement, and the search goes on. Every statement so added holds for all packages, so the last
package is still the least. What is not known of the whole car is left to be measured: it would be
as unknown with any other package.
"""

from __future__ import annotations

from collections.abc import Set
from time import monotonic

from kb.errors import OutOfTime
from rules.combining import Combined, judge
from rules.cone import Cone
from rules.least import NO_BOUNDS, Bounds, Order, Solution, least

DECISIVE = ("does_not_fit", "fits_with_work")


def least_package(
    cone: Cone, prefer: Order, deadline: float, bounds: Bounds = NO_BOUNDS
) -> Solution | None:
    """The least package of a cone within bounds, or None when there is none.

    Raises OutOfTime past the deadline (seconds) when no package that passes was found.
    """
    ends = monotonic() + deadline
    while True:
        left = ends - monotonic()
        if left <= 0:
            raise OutOfTime(f"no package found within {deadline:g} s")
        solution = least(cone.at, cone.problem, prefer, left, bounds)
        if solution is None or not let_in(cone, solution.new, solution.stays):
            return solution


def let_in(cone: Cone, new: Set[str], stays: Set[str]) -> bool:
    """Let the failings of a car into the problem. True if any was new.

    `new` are the parts added to it, `stays` the places whose stock part stays.
    """
    displaced = cone.problem.displacers.keys() - stays
    decisive = (*DECISIVE, "not_known") if cone.wishes.certain_only else DECISIVE
    found: list[Combined] = [
        combined for combined in judge(cone.at, sorted(new), displaced)
        if combined.check.whole_car
        and (combined.verdict.verdict in decisive or combined.verdict.needs)
    ]
    news = [cone.admit(combined) for combined in found]
    return any(news)
