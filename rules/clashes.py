"""Why a question is impossible: its smallest clashes, statements that cannot hold together.

Each clash is irreducible: without any one of its statements the rest can hold. All of them are
found, up to a limit, by the MARCO method (Liffiton, Previti, Malik, Marques-Silva, "Fast, flexible
MUS enumeration", Constraints 21, 2016): a second solver holds the map of what has been looked at.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from threading import Timer
from time import monotonic
from types import TracebackType

from pysat.solvers import Solver

from kb.errors import OutOfTime
from rules.problem import Problem, Reason
from rules.reasons import Reasons
from rules.sat import Stated, clauses
from rules.searching import searched

FEW = 3
"""So many clashes are looked at where one is wanted: a short one is easier to follow."""


def smallest_clash(problem: Problem, reasons: Reasons, deadline: float = 10.0) -> list[Reason]:
    """The shortest of the first few clashes; empty when the problem is possible.

    Raises OutOfTime past the deadline.
    """
    return min(smallest_clashes(problem, reasons, FEW, deadline), key=len, default=[])


def smallest_clashes(
    problem: Problem, reasons: Reasons, most: int = 8, deadline: float = 10.0
) -> Iterator[list[Reason]]:
    """The clashes one by one, at most `most`; none when the problem is possible.

    Raises OutOfTime past the deadline (seconds) when not even one was found; past it after that,
    the listing just ends.
    """
    found = 0
    stated = _numbered(clauses(problem, reasons))
    with Switched(stated, deadline) as switched, Solver(name="minisat22") as explored:
        for key in switched.switches.values():
            explored.add_clause([key, -key])  # makes the variable known
        explored.set_phases(list(switched.switches.values()))
        try:
            while found < most and explored.solve():
                assumed = _chosen(explored, switched)
                if switched.holds(assumed):
                    grown = switched.grown(assumed)
                    explored.add_clause([s for s in switched.switches.values() if s not in grown])
                    continue
                core = switched.shrunk(assumed)
                explored.add_clause([-switch for switch in core])
                found += 1
                yield [switched.said[switch] for switch in core]
        except OutOfTime:
            if not found:
                raise


def _chosen(explored: Solver, switched: Switched) -> list[int]:
    model = set(explored.get_model() or ())
    return [switch for switch in switched.switches.values() if switch in model]


def _saying_the_same(stated: Iterable[Stated]) -> dict[str, Reason]:
    """Conflicts that rule out the very same, such as those of both parts, as one: by their keys.

    They stand or fall together; told one by one they would be so many clashes that read alike.
    """
    ruled_out: dict[str, set[frozenset[int]]] = {}
    said: dict[str, Reason] = {}
    for clause in stated:
        if clause.reason is not None and clause.reason.type == "conflict":
            ruled_out.setdefault(clause.reason.key, set()).add(frozenset(clause.literals))
            said.setdefault(clause.reason.key, clause.reason)
    groups: dict[frozenset[frozenset[int]], list[str]] = {}
    for key, what in ruled_out.items():
        groups.setdefault(frozenset(what), []).append(key)
    return {
        key: _together([said[each] for each in sorted(keys)])
        for keys in groups.values() if len(keys) > 1 for key in keys
    }


def _together(reasons: list[Reason]) -> Reason:
    first, *others = reasons
    return Reason(
        first.type, first.key, "; ".join(dict.fromkeys(reason.text for reason in reasons)),
        "; ".join(dict.fromkeys(reason.why for reason in reasons if reason.why)),
        first.basis, first.source, tuple(reason.key for reason in others),
    )


def _numbered(stated: Iterable[Stated]) -> Iterator[Stated]:
    """The clauses with their variables counted as they are first met: which clash is found first
    does not depend on what else is in the problem.
    """
    numbers: dict[int, int] = {}
    for literals, reason in stated:
        yield Stated([
            numbers.setdefault(v, len(numbers) + 1) if v > 0
            else -numbers.setdefault(-v, len(numbers) + 1) for v in literals
        ], reason)


class Switched:
    """Clauses of which every statement can be switched off."""

    def __init__(self, stated: Iterable[Stated], deadline: float) -> None:
        self.ends = monotonic() + deadline
        self.switches: dict[str, int] = {}
        self.said: dict[int, Reason] = {}
        self.solver = Solver(name="minisat22")
        self.timer = Timer(deadline, self.solver.interrupt)
        self.timer.daemon = True
        every = list(stated)
        same = _saying_the_same(every)
        top = max((abs(v) for s in every for v in s.literals), default=0)
        for clause in every:
            if clause.reason is None:
                self.solver.add_clause(clause.literals)
                continue
            reason = same.get(clause.reason.key, clause.reason)
            switch = self.switches.setdefault(reason.key, top + len(self.switches) + 1)
            self.said.setdefault(switch, reason)
            self.solver.add_clause([*clause.literals, -switch])

    def __enter__(self) -> Switched:
        self.timer.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.timer.cancel()
        self.solver.delete()

    def refuted(self, assumed: Iterable[int]) -> list[int] | None:
        """The switches among those assumed that already clash; None when they can all hold."""
        begun = monotonic()
        answer = self.solver.solve_limited(list(assumed), expect_interrupt=True)
        ended = monotonic()
        searched(ended - begun)
        if answer is None or ended > self.ends:
            raise OutOfTime("no clash found in time")
        return None if answer else sorted(self.solver.get_core() or [])

    def holds(self, assumed: Iterable[int]) -> bool:
        """Whether these statements can hold together."""
        return self.refuted(assumed) is None

    def shrunk(self, assumed: list[int]) -> list[int]:
        """An irreducible clash among these: every member was tried and found needed."""
        core = self.refuted(assumed) or []
        for switch in list(core):
            if switch in core:
                smaller = self.refuted(s for s in core if s != switch)
                if smaller is not None:
                    core = smaller
        return core

    def grown(self, assumed: list[int]) -> set[int]:
        """A largest set of statements around these that can still hold."""
        inside = set(assumed)
        for switch in self.switches.values():
            if switch not in inside and self.holds([*inside, switch]):
                inside.add(switch)
        return inside
