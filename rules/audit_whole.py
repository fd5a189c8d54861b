"""All that can be ordered for one car as a single problem, asked many small questions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property
from itertools import count

from pysat.solvers import Solver

from rules.audit_reasons import Dead, reasons_of_dead
from rules.clearing import can_hold
from rules.cone import Cone
from rules.problem import NeedInstance, Reason
from rules.sat import Stated, clauses
from rules.situation import Situation

CHECKS = "checks"
"""The switch of all that is computed."""


class Whole:
    """The problem of a car with everything in it that goes on it, and nothing asked for."""

    def __init__(self, situation: Situation) -> None:
        self.at = situation
        self.cone = Cone(situation, {}, {})
        self.cone.enter(key for key in situation.graph.parts_on(situation.car) if self._counts(key))
        self.problem = self.cone.problem
        self._member_of: dict[int, int] = {}

    def _counts(self, part: str) -> bool:
        return self.at.buyable(part) and not self.at.refusal(part)

    @cached_property
    def _stated(self) -> list[Stated]:
        return list(clauses(self.problem, self.cone.say))

    # -- parts and work ---------------------------------------------------------------------------

    @cached_property
    def empty_is_possible(self) -> bool:
        """Whether the car can be left with no package at all, or with what it always needs."""
        return bool(self._possible) or self._holds()

    @cached_property
    def possible_parts(self) -> frozenset[str]:
        """The parts that are in some package."""
        return self._those_possible("new")

    @cached_property
    def possible_steps(self) -> frozenset[str]:
        """The work steps that are in some package."""
        return self._those_possible("step")

    def _those_possible(self, kind: str) -> frozenset[str]:
        atoms = self.problem.atoms
        return frozenset(atoms[v][1] for v in self._possible if atoms[v][0] == kind)

    @cached_property
    def _possible(self) -> frozenset[int]:
        variables = [var for _, var in (*self.problem.new_parts(), *self.problem.steps())]
        return can_hold([stated.literals for stated in self._stated], variables)

    def possible_but_for_checks(self, part: str) -> bool:
        """Whether a part that is in no package would be in some if nothing were computed."""
        variable = self.problem.known("new", part)
        if variable is None or not self.problem.judged:
            return False
        return self._holds([variable], without=CHECKS)

    def why_not(self, parts: Iterable[str]) -> dict[str, list[Reason]]:
        """For parts that can be ordered and are in no package: statements that rule each out.

        Without any one of them the others allow it.
        """
        dead = {var for _, var in self.problem.new_parts()}.difference(self._possible)
        return reasons_of_dead(Dead(self.at, self.problem, self._stated, dead), tuple(parts))

    # -- general rules --------------------------------------------------------------------------

    def rule_can_fire(self, rule: str) -> bool:
        """Whether all that a general rule is about can come together, but for the rule itself."""
        need = self._rules.get(rule)
        return need is not None and self._holds(self._fired(need), without=need.key)

    def rule_can_bite(self, rule: str) -> bool:
        """Whether some package would do without what a rule asks for, were it not for the rule."""
        need = self._rules.get(rule)
        if need is None:
            return False
        unmet = [-choice.literal for choice in need.choices]
        return self._holds([*self._fired(need), *unmet], without=need.key)

    @cached_property
    def _rules(self) -> dict[str, NeedInstance]:
        needs = (need for need in self.problem.needs if need.key.startswith("rule:"))
        return {need.key.removeprefix("rule:"): need for need in needs}

    def _fired(self, need: NeedInstance) -> list[int]:
        """Literals that say that a rule fires.

        A group's variable may be set for no reason, so one that needs a member stands for it.
        """
        return [
            self._sure(literal) if literal in self.problem.members else literal
            for literal in need.guard
        ]

    def _sure(self, group: int) -> int:
        if group not in self._member_of:
            solver, self._member_of[group] = self._solver, next(self._fresh)
            solver.add_clause([-self._member_of[group], *self.problem.members[group]])
        return self._member_of[group]

    # -- statements that can be left out ----------------------------------------------------------

    def _holds(self, assumed: Iterable[int] = (), without: str = "") -> bool:
        """Whether all statements but those behind one switch can hold with what is assumed."""
        on = [switch for key, switch in self._switches.items() if key != without]
        return bool(self._solver.solve([*on, *assumed]))

    @cached_property
    def _solver(self) -> Solver:
        """All statements, those of checks and of general rules each behind a switch.

        Kept as long as this object: its memory goes with it.
        """
        behind = {id(found.reason): CHECKS for found in self.problem.judged}
        behind |= {id(need.reason): need.key for need in self._rules.values()}
        solver = Solver(name="cadical153")
        for literals, reason in self._stated:
            switch = self._switches.get(behind.get(id(reason), ""))
            solver.add_clause(literals if switch is None else [*literals, -switch])
        return solver

    @cached_property
    def _switches(self) -> dict[str, int]:
        keys = [CHECKS, *(need.key for need in self._rules.values())]
        return dict(zip(keys, self._fresh, strict=False))

    @cached_property
    def _fresh(self) -> Iterator[int]:
        """Variables that the problem does not use."""
        used = (max(map(abs, stated.literals), default=0) for stated in self._stated)
        return count(max(max(used, default=0) + 1, len(self.problem.atoms)))
