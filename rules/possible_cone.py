"""The problem of all parts of a car that may be in a package, for what is possible only.

It asks for nothing that harmless parts meet, since every package can have all of those; and what
can be ordered need not come out of a kit. So it is much smaller than the cone of a question, and
the same parts can be in its packages.
"""

from __future__ import annotations

from collections.abc import Set

from kb.entries import Part
from kb.statements import Selector
from rules.cone import Cone
from rules.plain_parts import PlainParts
from rules.problem import late
from rules.situation import Situation


class PossibleCone(Cone):
    """A cone without picks, in which harmless parts count as there."""

    def __init__(self, situation: Situation, plain: PlainParts, harmless: Set[str]) -> None:
        self.plain, self.harmless = plain, harmless
        super().__init__(situation, {}, {})

    @property
    def nothing(self) -> int:
        """A variable that stands for nothing: it can hold where any package is possible."""
        return self.problem.variable("any package", "")

    def kept(self, part: str) -> int:
        """The variable of a stock part that stays in all its places."""
        kept = self.problem.variable("kept", part)
        for place in self.at.stock_places[part]:
            self.clause((-kept, self.stays(place)), late(self.say.pick, part))
        return kept

    def is_served(self, selector: Selector) -> bool:
        """Whether a harmless part meets what is asked for."""
        return self.plain.is_met(selector, self.harmless)

    def _appear(self, part_id: str, new: int) -> bool:
        if part_id in self.plain.dead:
            self.clause((-new,), late(self.say.refusal, part_id, ""))
            return False
        return super()._appear(part_id, new)

    def _sources(self, part_id: str, part: Part, new: int) -> None:
        if not self.at.buyable(part_id) and self.harmless.isdisjoint(self.at.kits_with(part_id)):
            super()._sources(part_id, part, new)

    def _brings(self, part: Part) -> list[str]:
        return [inner for inner in super()._brings(part) if inner not in self.harmless]
