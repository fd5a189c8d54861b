"""Possible or not, what every package has, and why not: by incremental SAT (python-sat).

Amounts play no part here: a part that can be added at all can be added in any amount, unless it is
only on hand; that last check is made where the least package is found.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from threading import Timer
from time import monotonic
from typing import NamedTuple

from pysat.card import CardEnc, EncType
from pysat.solvers import Solver

from kb.errors import OutOfTime
from rules.problem import Problem, Reason, late
from rules.reasons import Reasons
from rules.searching import searched

QUICK_CONFLICTS = 1000
"""Conflicts a first try may meet before the clock is watched."""

PAIRWISE_MOST = 6
"""Up to so many takers of one place are kept apart pair by pair, more by a counter."""


class Stated(NamedTuple):
    """A clause with the statement behind it; None where it only defines a helper variable."""

    literals: Sequence[int]
    reason: Reason | None


def clauses(problem: Problem, reasons: Reasons) -> Iterator[Stated]:
    """Every clause of a problem."""
    if len(problem.variables) < len(problem.atoms) - 1:
        for outside in {*range(1, len(problem.atoms))}.difference(problem.variables.values()):
            yield Stated((-outside,), None)
    for clause in problem.clauses:
        yield Stated(clause.literals, clause.reason)
    top = len(problem.atoms)
    for need in problem.needs:
        literals = [-literal for literal in need.guard]
        for choice in need.choices:
            if choice.open is None:
                literals.append(choice.literal)
                continue
            # A choice that rests on a measurement counts only together with it.
            top += 1
            literals.append(top)
            yield Stated((-top, choice.literal), None)
            yield Stated((-top, choice.open), None)
        yield Stated(literals, need.reason)
    for place, takers in problem.exclusive.items():
        reason = late(reasons.place, place)
        for literals in _at_most_one(takers, top):
            top = max(top, *map(abs, literals))
            yield Stated(literals, reason)
    for place, displacers in problem.displacers.items():
        stays = problem.variables["stays", place]
        yield Stated([stays, *displacers], None)
        for displacer in displacers:
            yield Stated((-stays, -displacer), None)
    for variable, members in problem.members.items():
        for member in members:
            yield Stated((-member, variable), None)


def _at_most_one(literals: Sequence[int], top: int) -> list[list[int]]:
    if len(literals) <= PAIRWISE_MOST:
        return [[-a, -b] for i, a in enumerate(literals) for b in literals[i + 1:]]
    encoded = CardEnc.atmost(list(literals), 1, top_id=top, encoding=EncType.seqcounter)
    found: list[list[int]] = encoded.clauses
    return found


class Sat:
    """One problem in an incremental solver. Use as a context manager."""

    def __init__(self, problem: Problem, reasons: Reasons, deadline: float = 10.0) -> None:
        self.problem = problem
        stated = [clause.literals for clause in clauses(problem, reasons)]
        self.solver = Solver(name="minisat22", bootstrap_with=[c for c in stated if len(c) != 1])
        self._known = self._assert([c[0] for c in stated if len(c) == 1])
        self._first_guess = [
            v if kind == "stays" else -v for v, (kind, _) in enumerate(problem.atoms) if v
        ]
        """Nothing is added and stock parts stay: so packages found are small."""
        self.start(deadline)

    def start(self, deadline: float, given: Iterable[int] = ()) -> None:
        """Begin anew: so many seconds from now, assuming what is given from now on."""
        self.given, self.deadline = tuple(given), deadline
        self.solver.set_phases(self._first_guess)  # it drifts towards what was found last
        self.ends = monotonic() + deadline
        self.timer: Timer | None = None
        self._follows: frozenset[int] | None = None

    def stop(self) -> None:
        """Let the time no longer run."""
        if self.timer:
            self.timer.cancel()

    def __enter__(self) -> Sat:
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()
        self.solver.delete()

    def solve(self, assume: Iterable[int] = ()) -> bool:
        """Whether the problem can hold together. Raises OutOfTime past the deadline.

        Most answers take microseconds, so a first try is bounded by conflicts; only a hard
        question pays for a timer.
        """
        begun = monotonic()
        self.solver.conf_budget(QUICK_CONFLICTS)
        assumed = [*self.given, *assume]
        answer = self.solver.solve_limited(assumed)
        if answer is None:
            answer = self._patient(assumed)
        ended = monotonic()
        searched(ended - begun)
        if answer is None or ended > self.ends:
            raise OutOfTime(f"no answer within {self.deadline:g} s")
        return bool(answer)

    def _patient(self, assume: list[int]) -> bool | None:
        if self.timer is None:
            self.timer = Timer(max(self.ends - monotonic(), 0.0), self.solver.interrupt)
            self.timer.daemon = True
            self.timer.start()
        self.solver.conf_budget(-1)
        answer: bool | None = self.solver.solve_limited(assume, expect_interrupt=True)
        return answer

    def clashes(self) -> bool:
        """Whether the problem is soon seen to be impossible. False where that takes a search."""
        self.solver.conf_budget(QUICK_CONFLICTS)
        return self.solver.solve_limited() is False

    def follows(self) -> frozenset[int]:
        """The literals that hold in every package, as far as that follows without a search."""
        if self._follows is None:
            top = len(self.problem.atoms)
            known = [*self._known, *self.solver.propagate(list(self.given))[1]]
            self._follows = frozenset(literal for literal in known if -top < literal < top)
        return self._follows

    def ruled_out(self) -> frozenset[int]:
        """The variables that no package holds, as far as that follows without a search."""
        return frozenset(-literal for literal in self.follows() if literal < 0)

    def _assert(self, literals: Iterable[int]) -> list[int]:
        """Let all these hold, and say what follows at once."""
        # The solver tells what follows from an assumption, but not from what it was given.
        all_of_them = max(self.solver.nof_vars(), len(self.problem.atoms)) + 1
        for literal in literals:
            self.solver.add_clause([-all_of_them, literal])
        known: list[int] = self.solver.propagate([all_of_them])[1]
        self.solver.add_clause([all_of_them])
        return known

    def model(self) -> set[int]:
        """The variables that hold in the last answer."""
        top = len(self.problem.atoms) - 1
        return {v for v in self.solver.get_model()[:top] if v > 0}

    def core(self) -> tuple[int, ...]:
        """Of what was assumed last, some that cannot hold together; empty when nothing can."""
        return tuple(self.solver.get_core() or ())

    def must_have(self) -> frozenset[int]:
        """The parts, steps and stock places that are there in every package.

        The problem must be possible. Raises OutOfTime past the deadline.
        """
        if not self.solve():
            raise ValueError("an impossible problem has no packages")
        open_ = {v for v in self.model() if self.problem.atoms[v][0] in ("new", "step", "stays")}
        must: set[int] = set()
        for variable in sorted(open_):
            if variable not in open_:
                continue
            if self.solve([-variable]):
                open_ &= self.model()
            else:
                must.add(variable)
        return frozenset(must)

    def possible(self, variables: Iterable[int]) -> frozenset[int]:
        """Which of these can be there in some package."""
        left, found = set(variables), set()
        while left:
            variable = min(left)
            if self.solve([variable]):
                seen = self.model() & left
                found |= seen
                left -= seen
            left.discard(variable)
        return frozenset(found)
