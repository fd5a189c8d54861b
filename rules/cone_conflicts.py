"""Conflicts in a cone: stated by what enters, and against it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING
from weakref import proxy

from kb.graph import key_of, node
from kb.statements import Conflict
from rules.problem import late

if TYPE_CHECKING:
    from rules.cone import Cone


class Conflicts:
    """The conflicts of a cone."""

    def __init__(self, cone: Cone) -> None:
        # A proxy, so that a cone goes with its question and waits for no collection.
        self.cone: Cone = proxy(cone)
        self.at, self.problem, self.say = cone.at, cone.problem, cone.say

    def stated_by(
        self, conflict: Conflict, owner: str, owner_part: str | None, literal: int
    ) -> None:
        """A conflict stated by what enters: against what is inside, and against stock parts."""
        if not self.at.holds(conflict.when):
            return
        if conflict.step is not None:
            if conflict.step in self.cone.steps:
                step = self.problem.variable("step", conflict.step)
                self._exclude(conflict, owner, owner_part, literal, step,
                              node("step", conflict.step), ())
            return
        for candidate in self.at.candidates(conflict, owner_part):
            target = node("part", candidate.part)
            if target == owner:
                continue
            stock = self.at.stock_places.get(candidate.part, ())
            only_stock = conflict.fitted is True or (conflict.fitted is False and stock)
            if candidate.part in self.cone.inside and not only_stock:
                self._exclude(conflict, owner, owner_part, literal,
                              self.cone.inside[candidate.part], target, candidate.missing)
            if conflict.fitted is not False:
                for place in stock:
                    if conflict.at in (None, place):
                        self._exclude(conflict, owner, owner_part, literal,
                                      self.cone.stays(place), target, candidate.missing)

    def against(self, target: str, literal: int) -> None:
        """Conflicts that others state against what enters."""
        names: Sequence[str] = (target,)
        if target.startswith("part:"):
            names = self.at.names(key_of(target))
        for name in names:
            for edge in self.at.graph.into(name, "conflicts", self.at.car):
                conflict = edge.statement
                if isinstance(conflict, Conflict) and self.at.holds(conflict.when):
                    self._one_against(conflict, edge.node, target, literal)

    def _one_against(self, conflict: Conflict, owner: str, target: str, literal: int) -> None:
        section, _, key = owner.partition(":")
        owner_part = key if section == "part" else None
        missing: tuple[str, ...] = ()
        if conflict.step is None:
            found = [c for c in self.at.candidates(conflict, owner_part)
                     if node("part", c.part) == target]
            if not found or conflict.fitted is True or target == owner:
                return
            if conflict.fitted is False and key_of(target) in self.at.stock_places:
                return
            missing = found[0].missing
        owners = [self.cone.inside[key]] if owner_part in self.cone.inside else []
        if section == "step" and key in self.cone.steps:
            owners = [self.problem.variable("step", key)]
        places = self.at.stock_places.get(owner_part or "", ())
        owners += [self.cone.stays(place) for place in places]
        for owner_literal in owners:
            self._exclude(conflict, owner, owner_part, owner_literal, literal, target, missing)

    def _exclude(
        self, conflict: Conflict, owner: str, owner_part: str | None, one: int, other: int,
        target: str, missing: tuple[str, ...],
    ) -> None:
        condition = self.cone.needs.condition(conflict.when, owner_part)
        if condition is None or one == other:
            return
        guards, unless = condition
        reason = late(self.say.conflict, owner, target, conflict)
        opened = (self.cone.unknown(missing),) if missing else ()
        self.cone.clause((-one, -other, *(-g for g in guards), *unless, *opened), reason)
