"""The needs that every package of a question has, what can meet each, and in what amounts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from kb.graph import node
from rules.entailed import Entailed
from rules.posed import Posed
from rules.problem import Asker, Choice, NeedInstance

NOTHING = Fraction(0)


@dataclass(frozen=True, slots=True)
class Open:
    """A need that is certain to be there, and what can still meet it."""

    need: NeedInstance
    choices: tuple[Choice, ...]
    met: bool


class Survey:
    """What is certain of a question that is possible."""

    def __init__(self, posed: Posed) -> None:
        """`posed` has just been found possible."""
        self.problem, self.picks, self._posed = posed.problem, posed.picks, posed
        takers = posed.look_up.takers
        stay = {variable for variable, off in takers.items() if off.isdisjoint(posed.inside)}
        matter = (posed.inside | takers.keys()) - posed.look_up.measurements
        self.entailed = Entailed(posed.sat, matter, stay)
        self.must = self.entailed.must
        self.open = sorted(self._certain_needs(), key=self._place_in_answer)
        """The certain needs, those of the picks first; the same order for every way of asking."""
        self._amounts: dict[str, Fraction] = {}
        self.falling_on: dict[str, list[Open]] = {}
        """Certain needs that only one part can meet, by that part."""
        for found in self.open:
            parts = {choice.part for choice in found.choices}
            if len(parts) == 1 and (only := parts.pop()) is not None:
                self.falling_on.setdefault(only, []).append(found)

    def keys(self, kind: str) -> list[str]:
        """The parts ("new") or steps ("step") that every package has, in order of their ids."""
        atoms = [self.problem.atoms[variable] for variable in self.must]
        return sorted(key for found, key in atoms if found == kind)

    def parts(self) -> list[str]:
        """The parts that every package has: what the picks ask for, what that asks for, and on."""
        asked_by: dict[str, list[str]] = {}
        for found in self.open:
            parts = [c.part for c in found.choices if c.part and c.literal in self.must]
            asked_by.setdefault(found.need.owner, []).extend(parts)
        must = dict.fromkeys(self.keys("new"))
        order = [part for part in self.picks if part in must]
        for part in order:  # grows on the way
            for other in asked_by.get(node("part", part), ()):
                if other in must and other not in order:
                    order.append(other)
        return list(dict.fromkeys([*order, *must]))

    def amount(self, part: str) -> Fraction:
        """The least of a part that every package wants."""
        if part not in self._amounts:
            own = max(self.problem.own_amount(part), self.picks.get(part, NOTHING))
            self._amounts[part] = own  # also ends any circle
            each, once = NOTHING, NOTHING
            for found in self.falling_on.get(part, ()):
                amount = self.asked(found.need)
                each, once = (
                    (each + amount, once) if found.need.each else (each, max(once, amount))
                )
            self._amounts[part] = max(own, each, once)
        return self._amounts[part]

    def asked(self, need: NeedInstance) -> Fraction:
        """The least that a certain need asks for."""
        if not need.each:
            return need.amount
        certain = [
            self._units(asker) for asker in need.askers
            if asker.literal == 0 or asker.literal in self.must
        ]
        if not certain:
            # One of them is there, though not always the same one.
            certain = [min((
                self._units(asker) for asker in need.askers
                if self.entailed.possible(asker.literal)
            ), default=NOTHING)]
        return need.amount * sum(certain, NOTHING)

    def _units(self, asker: Asker) -> Fraction:
        return self.amount(asker.part) if asker.part else Fraction(asker.units)

    # -- which needs are certain ----------------------------------------------------------------

    def _certain_needs(self) -> Iterator[Open]:
        for stated in self._posed.look_up.needs(self.must):
            if self.entailed.certain(stated.guard):
                need = self._posed.left(stated)
                choices = tuple(c for c in need.choices if self.entailed.possible(c.literal))
                met = any(c.literal in self.must for c in choices)
                if not (met and self._is_the_cars_own(need)):
                    yield Open(need, choices, met)

    def _is_the_cars_own(self, need: NeedInstance) -> bool:
        """Whether a need is there by stock parts alone, which stay."""
        return bool(need.guard) and all(map(self._held_by_stock, need.guard))

    def _held_by_stock(self, literal: int) -> bool:
        behind = self.problem.members.get(literal, (literal,))
        return any(v in self.must and self.problem.atoms[v][0] == "stays" for v in behind if v > 0)

    def _place_in_answer(self, found: Open) -> tuple[bool, str]:
        key = found.need.owner.removeprefix("part:")
        return key not in self.picks, found.need.key
