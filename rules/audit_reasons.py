"""Why parts are in no package on a car.

Where a part is dead because all that could meet one of its needs is dead, its reason is that need
together with their reasons. So a cause that takes thousands of parts with it is searched for once.
"""

from __future__ import annotations

from collections import deque
from collections.abc import (
    Callable,
    Collection,
    Hashable,
    Iterable,
    Iterator,
    Sequence,
    Set,
)
from itertools import combinations
from typing import NamedTuple

from pysat.solvers import Solver

from rules.cone import Cone
from rules.problem import Atom, Problem, Reason
from rules.sat import Stated, clauses
from rules.situation import Situation

Chain = tuple[Stated, ...]
"""Clauses that rule a part out between them."""

MOST = 8
"""Statements in a reason that is followed any further."""


class Dead(NamedTuple):
    """The whole problem of a car, and the variables of the parts that are in no package."""

    at: Situation
    problem: Problem
    stated: Sequence[Stated]
    variables: Set[int]


def reasons_of_dead(whole: Dead, wanted: Collection[str]) -> dict[str, list[Reason]]:
    """Statements that rule out each of some dead parts; without any one of them the others do not.
    """
    variables = {part: whole.problem.variables["new", part] for part in wanted}
    grounds = _Grounds(whole)
    alone: dict[str, list[Reason]] = {}
    for part in sorted(wanted, key=lambda part: variables[part] in grounds.ruled):
        if variables[part] not in grounds.found:
            alone[part], ruling = reason_alone(whole.at, part, whole.problem)
            if ruling:
                grounds.follow(variables[part], ruling)
    return {part: alone.get(part) or _said(grounds.found[variables[part]]) for part in wanted}


class _Grounds:
    """Clauses that rule a dead variable out once all others in them are ruled out.

    Only clauses about parts, and about groups that must stay empty: where stock parts come in, what
    a statement means hangs on who else is in the problem.
    """

    def __init__(self, whole: Dead) -> None:
        self.found: dict[int, Chain] = {}
        """What is ruled out by what was looked at so far."""
        self.ruled: set[int] = set()
        """All that some clause rules out."""
        self._whole = whole
        self._behind: dict[int, list[tuple[int, Stated]]] = {}
        dead = whole.variables | set(_empty_groups(whole))
        at_once = []
        for clause in whole.stated:
            allowing = [literal for literal in clause.literals if literal not in dead]
            if len(allowing) == 1 and -allowing[0] in dead:
                variable = -allowing[0]
                self.ruled.add(variable)
                for literal in clause.literals:
                    if literal != -variable:
                        self._behind.setdefault(literal, []).append((variable, clause))
                if len(clause.literals) == 1:
                    at_once.append((variable, clause))
        for variable, clause in at_once:
            if variable not in self.found:
                self.follow(variable, (clause,))

    def follow(self, variable: int, ruling: Chain) -> None:
        """Take in why a variable is ruled out, and all that follows from it, the next first."""
        self.found[variable] = ruling
        queue = deque([variable])
        while queue:
            for later, clause in self._behind.get(queue.popleft(), ()):
                if later not in self.found and all(
                    literal == -later or literal in self.found for literal in clause.literals
                ):
                    self.found[later] = self._ruling(later, clause)
                    queue.append(later)

    def _ruling(self, variable: int, clause: Stated) -> Chain:
        """Why a variable is ruled out by a clause, all others in which are.

        What would be longer than people follow leaves their reasons to what is said of them.
        """
        behind = [literal for literal in clause.literals if literal in self.found]
        every = {id(one): one for literal in behind for one in self.found[literal]}
        if len(every) >= MOST:
            return (clause, *[self._told(literal) for literal in behind])
        ruling = (clause, *every.values())
        whole = (*ruling, *self._more_of(ruling))
        return _irreducible(variable, whole, (lambda reason: reason.key) if whole != ruling else id)

    def _more_of(self, ruling: Chain) -> Iterator[Stated]:
        """What the same places and groups mean for the others spoken of: of one statement, all."""
        problem = self._whole.problem
        named = {abs(literal) for clause in ruling for literal in clause.literals}
        for reason in {id(c.reason): c.reason for c in ruling if c.reason}.values():
            if reason.type == "place":
                takers = problem.exclusive[reason.key.removeprefix("place:")]
                for one, other in combinations([v for v in takers if v in named], 2):
                    yield Stated([-one, -other], reason)
        for group in named & problem.members.keys():
            for member in named.intersection(problem.members[group]):
                yield Stated([-member, group], None)

    def _told(self, variable: int) -> Stated:
        """That a part is dead, as a statement of its own."""
        kind, key = self._whole.problem.atoms[variable]
        name = self._whole.at.name(key) if kind == "new" else "that"
        return Stated([-variable], Reason("need", f"dead:{key}", f"{name} can be in no package"))


def _empty_groups(whole: Dead) -> Iterator[int]:
    """The groups that a statement by itself forbids to have a member."""
    atoms = whole.problem.atoms
    for clause in whole.stated:
        if len(clause.literals) == 1:
            variable = -clause.literals[0]
            if 0 < variable < len(atoms) and atoms[variable][0] == "any":
                yield variable


def reason_alone(
    at: Situation, part: str, whole: Problem | None = None
) -> tuple[list[Reason], Chain]:
    """Statements that rule a part out, from its own problem; none when it is in some package.

    Then the same as clauses of the `whole` problem, if they are about parts alone.
    """
    cone = Cone(at, {}, {})
    cone.enter([part])
    stated = list(clauses(cone.problem, cone.say))
    variable, atoms = cone.problem.variables["new", part], cone.problem.atoms
    found = _irreducible(variable, stated)
    if any(_is_stock(atoms, clause) or _is_of_a_place(clause) for clause in found):
        # Then one statement may be several clauses; to tell them they are put into words.
        found = _irreducible(variable, stated, lambda reason: reason.key)
    if whole is None or any(
        abs(v) >= len(atoms) or atoms[abs(v)][0] != "new" for s in found for v in s.literals
    ):
        return _said(found), ()
    there = whole.variables
    return _said(found), tuple(
        Stated([there[atoms[abs(v)]] * (1 if v > 0 else -1) for v in s.literals], s.reason)
        for s in found if s.reason is not None
    )


def _is_stock(atoms: Sequence[Atom], clause: Stated) -> bool:
    variables = (abs(literal) for literal in clause.literals)
    return any(v < len(atoms) and atoms[v][0] == "stays" for v in variables)


def _is_of_a_place(clause: Stated) -> bool:
    return clause.reason is not None and clause.reason.type == "place"


def _irreducible(
    variable: int, stated: Iterable[Stated], name: Callable[[Reason], Hashable] = id
) -> Chain:
    """Of clauses, those whose statements are all needed to rule a variable out; none if they do
    not. What only defines a helper variable counts as given, and is kept where a statement is.
    """
    every = list(stated)
    small = {variable: 1}  # a solver makes room for every number up to the greatest
    for clause in every:
        for literal in clause.literals:
            small.setdefault(abs(literal), len(small) + 1)
    first = len(small) + 1
    switches: dict[Hashable, int] = {}
    with Solver(name="minisat22") as solver:
        for literals, reason in every:
            renamed = [small[abs(v)] if v > 0 else -small[abs(v)] for v in literals]
            if reason is not None:
                renamed.append(-switches.setdefault(name(reason), first + len(switches)))
            solver.add_clause(renamed)
        if solver.solve([1, *switches.values()]):
            return ()
        core = {switch for switch in solver.get_core() if switch >= first}
        for switch in sorted(core):
            if switch in core and not solver.solve([1, *(core - {switch})]):
                core = {switch for switch in solver.get_core() if switch >= first}
    kept = [s for s in every if s.reason is not None and switches[name(s.reason)] in core]
    named = {abs(v) for clause in kept for v in clause.literals}
    helpers = [s for s in every if s.reason is None and named.intersection(map(abs, s.literals))]
    return (*kept, *helpers)


def _said(ruling: Iterable[Stated]) -> list[Reason]:
    """The statements behind some clauses, each once."""
    reasons = [clause.reason for clause in ruling if clause.reason is not None]
    return list({reason.key: reason for reason in reasons}.values())
