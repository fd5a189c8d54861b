"""A question given to the solver, over a problem of its own or over one kept with the car.

Questions about one car reach much the same: its whole brakes and wheels, say. What a part can reach
does not depend on being asked for, so a large problem is kept, and answers every question whose
parts are all in it: the picks are assumed, and what they leave open is looked at. Questions with
wishes, with parts on hand or with amounts that stock cannot meet have problems of their own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Set
from contextlib import contextmanager
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from threading import Lock

from cachetools import LRUCache

from kb.collection import no_collection
from kb.errors import OutOfTime
from rules.asking import Asked
from rules.cone import NO_WISHES, Cone
from rules.looking_up import LookUp
from rules.problem import Clause, NeedInstance, Problem, late
from rules.reaching import Reach, Reaching
from rules.reasons import Reasons
from rules.sat import Sat
from rules.situation import Situation

WORTH_KEEPING = 30
"""Parts: a smaller problem costs less to make again than to look for."""
LARGEST = 400
"""Parts: problems are kept as one as long as it is no larger."""
MOST_KEPT = 8
"""Problems kept of each car, the least recently used going first."""
MOST_CARS = 40
"""Cars of which problems are kept: those asked about most recently."""


@dataclass
class Posed:
    """A question before the solver, which holds to its picks."""

    sat: Sat
    picks: Mapping[str, Fraction]
    look_up: LookUp

    @property
    def problem(self) -> Problem:
        """The solver's problem: that of the picks or a larger one."""
        return self.sat.problem

    @cached_property
    def never(self) -> frozenset[int]:
        """What no package holds, as far as that follows without a search."""
        return self.sat.ruled_out()

    @cached_property
    def inside(self) -> set[int]:
        """The variables that can still matter to the picks, but for stock parts."""
        return self.look_up.narrowing.inside(self.picks, self.never)

    def left(self, need: NeedInstance) -> NeedInstance:
        """A need with only what can still matter to the picks."""
        return self.look_up.narrowing.open(need, self.inside, self.never)


@contextmanager
def posed(
    asked: Asked, picks: Mapping[str, Fraction], beside: Iterable[str] = ()
) -> Iterator[Posed]:
    """The question with these picks given to the solver.

    The parts `beside` may be picked as well in a question to come. Raises OutOfTime past the
    question's deadline.
    """
    if not _is_plain(asked, picks):
        cone = Cone(asked.situation, picks, asked.on_hand, asked.wishes)
        with Sat(cone.problem, asked.reasons, asked.left()) as sat:
            yield Posed(sat, picks, LookUp(cone.problem))
        return
    with (
        _kept(asked, {*picks, *beside}) as kept, kept.sat_for(picks, asked.left()) as sat,
    ):
        yield Posed(sat, picks, kept.look_up)


def has_kept_problem(asked: Asked) -> bool:
    """Whether the package of a question can come from a problem kept with the car."""
    # Where less mass comes first, it matters what else could be changed on the car.
    least_mass = asked.question.prefer == "least_mass"
    return not asked.lazy and not least_mass and _is_plain(asked, asked.picks)


def left_open(asked: Asked) -> Problem | None:
    """What the picks of such a question leave open; None where they cannot go together.

    Raises OutOfTime past its deadline.
    """
    with _kept(asked, asked.picks.keys()) as kept:
        with kept.sat_for(asked.picks, asked.left()) as sat:
            if not sat.solve():
                return None
        reach = kept.reaching.reach(asked.picks)
        never = kept.never(reach)
    return _with_picks(asked, kept.reaching.narrowed(reach, never))


def in_reach(asked: Asked) -> Problem:
    """All that the picks can reach: of a problem kept with the car where nothing else matters.

    Of a pick that does not go on the car by itself, not much more than that is in it. Raises
    OutOfTime past the question's deadline.
    """
    if asked.lazy or not _is_plain(asked, asked.picks):
        return asked.problem
    with _kept(asked, asked.picks.keys()) as kept:
        reaching = kept.reaching
    return _with_picks(asked, reaching.narrowed(reaching.reach(asked.picks), frozenset()))


def _with_picks(asked: Asked, left: Problem) -> Problem:
    picked = [
        Clause((left.variables["new", part],), late(asked.reasons.pick, part))
        for part in sorted(asked.picks)
    ]
    return replace(left, clauses=[*picked, *left.clauses])


@contextmanager
def _kept(asked: Asked, parts: Set[str]) -> Iterator[_Kept]:
    """A kept problem with these parts in it, for this question alone. Raises OutOfTime."""
    shelf = _shelf_of(asked.situation)
    if not shelf.lock.acquire(timeout=asked.left()):
        raise OutOfTime(f"no answer within {asked.question.deadline:g} s")
    try:
        yield shelf.problem_with(parts)
    finally:
        shelf.lock.release()


def _is_plain(asked: Asked, picks: Mapping[str, Fraction]) -> bool:
    """Whether nothing but the names of the picks matters to the problem."""
    at = asked.situation
    return asked.wishes == NO_WISHES and not asked.on_hand and not any(
        (part in at.stock_places and not at.buyable(part)) or _amount_matters(at, part, amount)
        for part, amount in picks.items()
    )


def _amount_matters(at: Situation, part: str, amount: Fraction) -> bool:
    """Whether more is asked for than a part is there for anyway, and it passes that on."""
    least = 0 if at.parts[part].pack.unit else 1
    return amount > max(at.units(part), least) and any(n.each for n in at.parts[part].requires)


class _Kept:
    """A problem of a car without picks, in a solver."""

    def __init__(self, situation: Situation, parts: Set[str]) -> None:
        with no_collection():
            cone = Cone(situation, {}, {})
            cone.enter(sorted(parts))
        self.at, self.problem, self.asked = situation, cone.problem, parts
        self.parts = {part for part, _ in self.problem.new_parts()}
        self.sat = Sat(self.problem, cone.say)
        self.usable = True

    @cached_property
    def look_up(self) -> LookUp:
        """Where to look in the problem."""
        return LookUp(self.problem)

    @cached_property
    def reaching(self) -> Reaching:
        """What tells what some picks can reach of the problem."""
        return Reaching(self.problem)

    @cached_property
    def _following(self) -> Sat:
        """A solver that never searches: what follows at once does not hang on what was asked."""
        return Sat(self.problem, Reasons(self.at))

    def never(self, reach: Reach) -> frozenset[int]:
        """What no package holds, as far as that follows without a search."""
        self._following.start(0.0, [
            *self._picked(reach.picks), *[-variable for variable in reach.outside],
        ])
        return self._following.ruled_out()

    def _picked(self, picks: Iterable[str]) -> list[int]:
        return [self.problem.variables["new", part] for part in picks]

    @contextmanager
    def sat_for(self, picks: Iterable[str], deadline: float) -> Iterator[Sat]:
        """The solver, holding to the picks. What took it long is not used again."""
        self.usable = False
        self.sat.start(deadline, self._picked(picks))
        try:
            yield self.sat
            self.usable = self.sat.timer is None
        finally:
            self.sat.stop()


class _Shelf:
    """The problems kept with one car, the most recently used first."""

    def __init__(self, situation: Situation) -> None:
        self.at, self.lock = situation, Lock()
        self.kept: list[_Kept] = []

    def problem_with(self, parts: Set[str]) -> _Kept:
        """A problem in which all these parts are."""
        self.kept = [kept for kept in self.kept if kept.usable]
        for kept in self.kept:
            if kept.parts.issuperset(parts):
                self.kept.remove(kept)
                self.kept.insert(0, kept)
                return kept
        made = _Kept(self.at, set(parts).union(*self._to_join(parts)))
        if len(made.parts) >= WORTH_KEEPING:
            others = [kept for kept in self.kept if not made.parts.issuperset(kept.parts)]
            self.kept = [made, *others][:MOST_KEPT]
        return made

    def _to_join(self, parts: Set[str]) -> Iterator[Set[str]]:
        """What the problems were made for that hold some of these parts: one problem with all of
        it answers carts of any of them.
        """
        union: set[str] = set()
        for kept in self.kept:
            if not kept.parts.isdisjoint(parts) and len(union | kept.parts) <= LARGEST:
                union |= kept.parts
                yield kept.asked


_finding = Lock()


def _shelf_of(situation: Situation) -> _Shelf:
    with _finding:
        shelves: LRUCache[str, _Shelf] = situation.catalogue.caches.setdefault(
            "shelves", LRUCache(MOST_CARS)
        )
        shelf = shelves.get(situation.baseline.id)
        if shelf is None:
            shelf = shelves[situation.baseline.id] = _Shelf(situation)
        return shelf
