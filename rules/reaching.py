"""What can matter to some picks, in the order in which one comes to it from them.

A cone holds all that may be reached; once it is known which parts the picks rule out, far less is.
A statement counts once everything it is conditional on may be there, and then lets in what it asks
for: the same walk as that of the cone, over what is left. No package is lost or gained. The order
is that of the walk, picks first and general rules after what parts ask for themselves, whatever
else was in the problem or came into it first: so the same reason is named first each time.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from fractions import Fraction

from rules.ordering import in_order
from rules.problem import Judged, Problem

ADDABLE = ("new", "step", "open")
"""Only of these it matters that no package holds them."""


@dataclass(frozen=True, slots=True)
class Reach:
    """What some picks can reach of a problem."""

    picks: Mapping[str, Fraction]
    outside: Sequence[int]
    """The variables that they cannot reach, so that no package holds them."""
    awake: Set[int]
    """The statements of stock parts alone that have to do with something in reach."""


class Reaching:
    """One problem, of which what one or several sets of picks can reach is told."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem = in_order(problem)
        self.kinds = [kind for kind, _ in problem.atoms]
        self.literals = problem.stated()
        self.refused = {
            -clause.literals[0] for clause in problem.clauses
            if len(clause.literals) == 1 and clause.literals[0] < 0
            and clause.reason.type in ("fit", "check")
        }
        """What does not go on the car at all: nothing it states is in the problem."""
        self.stock_groups = {
            group for group, members in problem.members.items()
            if any(self.kinds[member] == "stays" for member in members)
        }
        self.brings = [list(brought(problem, literals)) for literals in self.literals]
        """What each statement lets in when it counts: what it asks for, what may have to make way.
        """
        self.conditions: list[int] = []
        """For each statement, how many parts, steps and groups it waits for."""
        self.waiters: defaultdict[int, list[int]] = defaultdict(list)
        self.asleep: set[int] = set()
        """Statements that wait for nothing but are met as long as stock parts stay: they count once
        a part is in reach that has to do with them."""
        self.wakes: defaultdict[int, list[int]] = defaultdict(list)
        self.unconditional: list[int] = []
        for number, literals in enumerate(self.literals):
            self._wait(number, literals)
        self.leads_to: defaultdict[int, list[int]] = defaultdict(list)
        """What comes in with a part: the groups it is a member of, the kits that bring it."""
        for group, members in problem.members.items():
            for member in members:
                self.leads_to[member].append(group)
        for kit, contents in problem.kits.items():
            for part in contents:
                if inner := problem.known("new", part):
                    self.leads_to[inner].append(problem.variables["new", kit])
        self.judged: defaultdict[int, list[Judged]] = defaultdict(list)
        """The judged combinations by the first part in them that is added."""
        for judged in problem.judged:
            first = next(v for v in judged.literals if v > 0 and self.kinds[v] == "new")
            self.judged[first].append(judged)

    def _wait(self, number: int, literals: tuple[int, ...]) -> None:
        denied = {-v for v in literals if v < 0}
        waits = {v for v in denied if self.kinds[v] != "stays"} - self.stock_groups
        stock = [v for v in literals if v > 0 and self.kinds[v] == "stays"]
        self.conditions.append(len(waits))
        for variable in waits:
            self.waiters[variable].append(number)
        if waits:
            return
        if not denied or not stock:
            self.unconditional.append(number)
            return
        self.conditions[number] = 1
        self.asleep.add(number)
        for place in stock:
            for displacer in self.problem.displacers[self.problem.atoms[place][1]]:
                self.wakes[displacer].append(number)
        for group in denied & self.stock_groups:
            for member in self.problem.members[group]:
                if self.kinds[member] != "stays":
                    self.wakes[member].append(number)

    def reach(self, picks: Mapping[str, Fraction]) -> Reach:
        """What these picks can reach."""
        walk = _Walk(self, picks, self.refused)
        outside = [
            v for v in self.problem.variables.values()
            if v not in walk.inside and self.kinds[v] in ADDABLE
        ]
        return Reach(picks, outside, self.asleep - walk.asleep)

    def narrowed(self, reach: Reach, never: Set[int]) -> Problem:
        """The problem of some picks with only what can still matter.

        `never` are variables that no package holds. Variables keep their numbers; those left out
        are no longer in `variables`.
        """
        # What stock parts state counts where a part is in reach, be it one that is ruled out.
        return _Walk(self, reach.picks, never, reach.awake).problem()


def brought(problem: Problem, literals: Iterable[int]) -> dict[int, None]:
    """What a statement lets in when it counts: what it asks for, and all that could take the place
    of stock parts that may have to come off.
    """
    found: dict[int, None] = {}
    for literal in literals:
        if literal < 0:
            found |= _displacing(problem, -literal)
        elif problem.atoms[literal][0] != "stays":
            found[literal] = None
    return found


def _displacing(problem: Problem, variable: int) -> dict[int, None]:
    kind, key = problem.atoms[variable]
    if kind == "stays":
        return dict.fromkeys(problem.displacers[key])
    found: dict[int, None] = {}
    if kind == "any":
        found[variable] = None
        for member in problem.members[variable]:
            found |= _displacing(problem, member)
    return found


def narrowed(problem: Problem, never: Set[int]) -> Problem:
    """A problem with only what can still matter for its own picks: all it holds is in reach."""
    over = Reaching(problem)
    stock = {v for (kind, _), v in problem.variables.items() if kind == "stays"}
    return _Walk(over, problem.picks, never, over.asleep).problem(stock)


class _Walk:
    def __init__(
        self, over: Reaching, picks: Mapping[str, Fraction], never: Set[int],
        awake: Set[int] = frozenset(),
    ) -> None:
        self.over, self.whole, self.picks = over, over.problem, picks
        self.never = {v for v in never if over.kinds[v] in ADDABLE}
        self.inside: dict[int, None] = {}
        self.reached: list[int] = []
        self.waiting, self.asleep = list(over.conditions), set(over.asleep)
        self.queue: list[int] = []
        self.groups: deque[int] = deque()
        for part in picks:
            if picked := self.whole.known("new", part):
                self._come(picked)
        self._follow_all()
        if self.whole.partial:
            # What is not stated yet may ask for anything that is there.
            for (kind, _), variable in self.whole.variables.items():
                if kind != "stays":
                    self._come(variable)
        for number in over.unconditional:
            self._reach(number)
        self._follow_all()
        for number in sorted(awake):
            self._wake(number)
        self._follow_all()

    def _come(self, variable: int) -> None:
        if variable not in self.inside and variable not in self.never:
            self.inside[variable] = None
            if self.over.kinds[variable] == "any":
                self.groups.append(variable)
            else:
                self.queue.append(variable)

    def _follow_all(self) -> None:
        """Parts first; then the groups that general rules and conditions speak of."""
        while self.queue or self.groups:
            self._follow(self.queue.pop() if self.queue else self.groups.popleft())

    def _follow(self, variable: int) -> None:
        for other in self.over.leads_to.get(variable, ()):
            self._come(other)
        for number in self.over.waiters.get(variable, ()):
            self._waits_no_longer(number)
        for number in self.over.wakes.get(variable, ()):
            self._wake(number)

    def _wake(self, number: int) -> None:
        if number in self.asleep:
            self.asleep.remove(number)
            self._waits_no_longer(number)

    def _waits_no_longer(self, number: int) -> None:
        self.waiting[number] -= 1
        if not self.waiting[number]:
            self._reach(number)

    def _reach(self, number: int) -> None:
        """A statement counts."""
        self.reached.append(number)
        for variable in self.over.brings[number]:
            self._come(variable)

    # -- what is left ---------------------------------------------------------------------------

    def problem(self, stock: Set[int] = frozenset()) -> Problem:
        """What the walk came to, with these stock parts whether or not they matter: their mass
        counts.
        """
        whole, count = self.whole, len(self.whole.clauses)
        needs = [
            whole.needs[i - count].left(self._is_left, self.never)
            for i in self.reached if i >= count
        ]
        named = {abs(literal) for i in self.reached for literal in self.over.literals[i]} | stock
        named.update(v for need in needs for choice in need.choices for v, _ in choice.kept)
        members = {
            group: self._left(whole.members[group]) for group in whole.members if group in named
        }
        named.update(v for choices in members.values() for v in choices)
        displacers = {
            place: self._left(parts) for place, parts in whole.displacers.items()
            if whole.variables["stays", place] in named or not self.inside.keys().isdisjoint(parts)
        }
        there = [v for v in self.inside if v in members or self.over.kinds[v] != "any"]
        staying = [whole.variables["stays", place] for place in displacers]
        return replace(
            whole,
            picks=dict(self.picks),
            variables={whole.atoms[v]: v for v in (*there, *staying)},
            clauses=[whole.clauses[i] for i in self.reached if i < count],
            needs=needs,
            exclusive={
                place: left for place, parts in whole.exclusive.items()
                if (left := self._left(parts))
            },
            displacers=displacers,
            members=members,
            judged=[one for v in there for one in self.over.judged.get(v, ())],
            kits={
                kit: contents for kit, contents in whole.kits.items()
                if whole.variables["new", kit] in self.inside
            },
        )

    def _is_left(self, variable: int) -> bool:
        return variable in self.inside or self.over.kinds[variable] == "stays"

    def _left(self, variables: Iterable[int]) -> list[int]:
        return [variable for variable in variables if self._is_left(variable)]
