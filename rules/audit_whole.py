"""All that can be ordered for one car as a single problem, asked many small questions.

One solver answers for every part: each package it finds clears all the parts in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from functools import cached_property
from itertools import count

from pysat.solvers import Solver

from rules.clashes import smallest_clash
from rules.cone import Cone
from rules.problem import NeedInstance, Reason
from rules.reasons import Reasons
from rules.sat import clauses
from rules.situation import Situation


class Whole:
    """The problem of a car with everything in it that goes on it, and nothing asked for."""

    def __init__(self, situation: Situation) -> None:
        self.at = situation
        self.cone = Cone(situation, {}, {})
        self.cone.enter(key for key in situation.parts if self._counts(key))
        self.problem = self.cone.problem
        self._switches: dict[str, int] = {}
        self._member_of: dict[int, int] = {}

    def _counts(self, part: str) -> bool:
        return self.at.buyable(part) and not self.at.refusal(part)

    @cached_property
    def _solver(self) -> Solver:
        """All statements, those of checks and of general rules each behind a switch.

        Kept as long as this object: its memory goes with it.
        """
        solver = Solver(name="cadical153")
        for stated in clauses(self.problem, self.cone.say):
            switch = self._switch(stated.reason)
            solver.add_clause(stated.literals if switch is None else [*stated.literals, -switch])
        return solver

    def _switch(self, reason: Reason | None) -> int | None:
        if reason is None or reason.type not in ("check", "rule"):
            return None
        key = reason.key if reason.type == "rule" else "checks"
        if key not in self._switches:
            self._switches[key] = next(self._fresh)
        return self._switches[key]

    @cached_property
    def _fresh(self) -> Iterator[int]:
        """Variables that the problem does not use."""
        used = (abs(v) for stated in clauses(self.problem, self.cone.say) for v in stated.literals)
        return count(max(max(used, default=0) + 1, len(self.problem.atoms)))

    def _holds(self, assumed: Iterable[int] = (), without: str = "") -> bool:
        """Whether all statements but those behind one switch can hold with what is assumed."""
        solver = self._solver
        on = [switch for key, switch in self._switches.items() if key != without]
        return bool(solver.solve([*on, *assumed]))

    # -- parts and work ---------------------------------------------------------------------------

    @cached_property
    def empty_is_possible(self) -> bool:
        """Whether the car can be left with no package at all, or with what it always needs."""
        return self._holds()

    @cached_property
    def possible_parts(self) -> frozenset[str]:
        """The parts that are in some package."""
        return self._possible(dict(self.problem.new_parts()))

    @cached_property
    def possible_steps(self) -> frozenset[str]:
        """The work steps that are in some package."""
        return self._possible(dict(self.problem.steps()))

    def possible_but_for_checks(self, part: str) -> bool:
        """Whether a part would be in some package if nothing were computed."""
        variable = self.problem.known("new", part)
        return variable is not None and self._holds([variable], without="checks")

    def _possible(self, variables: dict[str, int]) -> frozenset[str]:
        keys = {variable: key for key, variable in variables.items()}
        left, found = set(keys), set[int]()
        self._solver.set_phases(sorted(keys))
        while left:
            variable = min(left)
            if self._holds([variable]):
                found |= left.intersection(self._solver.get_model())
            left -= found
            left.discard(variable)
        return frozenset(keys[variable] for variable in found)

    def why_not(self, part: str | None = None) -> list[Reason]:
        """The smallest reason why a part is in no package; None: why there is no package.

        Empty when there is one.
        """
        picks = {part: Fraction(max(self.at.units(part), 1))} if part else {}
        found = smallest_clash(Cone(self.at, picks, {}).problem, Reasons(self.at))
        return [reason for reason in found if reason.type != "pick"]

    # -- general rules --------------------------------------------------------------------------

    def rule_can_fire(self, rule: str) -> bool:
        """Whether all that a general rule is about can come together, but for the rule itself."""
        need = self._need_of(rule)
        return need is not None and self._holds(self._fired(need), without=need.reason.key)

    def rule_can_bite(self, rule: str) -> bool:
        """Whether some package would do without what a rule asks for, were it not for the rule."""
        need = self._need_of(rule)
        if need is None:
            return False
        unmet = [-choice.literal for choice in need.choices]
        return self._holds([*self._fired(need), *unmet], without=need.reason.key)

    def _need_of(self, rule: str) -> NeedInstance | None:
        key = f"rule:{rule}"
        return next((need for need in self.problem.needs if need.key == key), None)

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
