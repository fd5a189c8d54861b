"""Needs in a cone: what can meet each, and under which conditions."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING
from weakref import proxy

from kb.statements import Need, Selector, When
from rules.problem import Asker, Choice, NeedInstance, Reason, late

if TYPE_CHECKING:
    from rules.cone import Cone

ONE = Fraction(1)


class Needs:
    """The needs of a cone."""

    def __init__(self, cone: Cone) -> None:
        # A proxy, so that a cone goes with its question and waits for no collection.
        self.cone: Cone = proxy(cone)
        self.at, self.problem, self.say = cone.at, cone.problem, cone.say

    def condition(
        self, when: When, owner: str | None
    ) -> tuple[tuple[int, ...], tuple[int, ...]] | None:
        """Guards and exceptions of a condition; None when it does not hold on this car."""
        if not when.model_fields_set:
            return (), ()
        if not self.at.holds(when) or any(map(self.cone.is_served, when.absent)):
            return None
        guards = tuple(self.cone.rules.watch(selector, owner).variable for selector in when.present)
        unless = tuple(
            choice.literal for selector in when.absent for choice in self.choices(selector, owner)
        )
        return guards, unless

    def need(
        self, need: Need, key: str, owner: str, owner_part: str | None,
        guard: tuple[int, ...], unless: tuple[int, ...], asker: int, units: int | None,
        *, by_stock: bool = False,
    ) -> None:
        """Add what a part, step or combination needs. `units` None counts the asker's quantity.

        A need of a stock part (`by_stock`) the factory met: stock parts meet it in any amount.
        """
        if self.cone.is_served(need):
            return
        condition = self.condition(need.when, owner_part)
        if condition is None:
            return
        guards, more_unless = condition
        asking = Asker(asker, owner_part if units is None else None, units or 0)

        def least() -> Fraction:
            if not need.each:
                return need.amount.value
            asked = self.problem.own_amount(owner_part or "") if units is None else units
            return need.amount.value * asked

        self._add(
            key, owner, (*guard, *guards), (*unless, *more_unless), (asking,),
            need, self.choices(need, owner_part, None if by_stock else least),
            late(self.say.need, owner, need),
        )

    def _add(
        self, key: str, owner: str, guard: tuple[int, ...], unless: tuple[int, ...],
        askers: tuple[Asker, ...], need: Need, choices: tuple[Choice, ...], reason: Reason,
    ) -> None:
        if unless:
            guard = (*guard, *[-literal for literal in unless])
        self.problem.needs.append(NeedInstance(
            key, owner, guard, askers, need.amount.value, need.each is not None, choices, reason,
        ))
        if len(choices) == 1 and self.cone.certain.issuperset(guard):
            self.cone.is_certain(choices[0].literal)
        self.cone.open_denied([-literal for literal in guard])

    def steps(
        self, key: str, owner: str, guard: tuple[int, ...], unless: tuple[int, ...],
        steps: Sequence[tuple[str, int | None]], reason: Reason,
    ) -> None:
        """Add a need of work: one of these steps."""
        choices = tuple(Choice(lit, None, step=s) for s, lit in steps if lit is not None)
        guard = (*guard, *(-literal for literal in unless))
        self.problem.needs.append(
            NeedInstance(key, owner, guard, (), ONE, False, choices, reason)
        )
        self.cone.open_denied(-literal for literal in guard)

    def choices(
        self, selector: Selector, owner: str | None, least: Callable[[], Fraction] | None = None
    ) -> tuple[Choice, ...]:
        """Everything a selector means, as literals; whatever can be added enters.

        `least` gives the least amount a need can come to; None where stock serves in any amount.
        """
        plain = self._plain_choices(selector)
        if plain is not None:
            return plain
        if selector.step is not None:
            literal = self.cone.step(selector.step)
            return (Choice(literal, None, step=selector.step),) if literal else ()
        found: list[Choice] = []
        for candidate in self.at.candidates(selector, owner):
            opened = self._open_match(candidate.missing)
            stock = self.at.stock_places.get(candidate.part)
            if stock and selector.fitted is not False:
                found += self._stock_choices(
                    selector, candidate.part, opened, least() if least else None
                )
            fitted_only = selector.fitted is True or (selector.fitted is False and stock)
            if not fitted_only and self.obtainable(candidate.part):
                found.append(Choice(self.cone.new(candidate.part), candidate.part, None, opened))
        return tuple(found)

    def _plain_choices(self, selector: Selector) -> tuple[Choice, ...] | None:
        """The choices of a selector that names parts, all on sale and none of them stock.

        None for any other: this is the short way for most needs of a large catalogue.
        """
        at, named = self.at, selector.listed
        if not named or selector.at is not None or selector.fitted is not None:
            return None
        unit = selector.amount.unit if isinstance(selector, Need) else None
        stock, for_sale, parts = at.stock_places, at.for_sale, at.parts
        for part in named:
            if part in stock or not for_sale(part):
                return None
            if unit is not None and parts[part].pack.unit != unit:
                return None
        known, new = self.problem.variables, self.cone.new
        each = named if len(named) == 1 else dict.fromkeys(named)
        return tuple([Choice(known.get(("new", part)) or new(part), part) for part in each])

    def obtainable(self, part: str) -> bool:
        """Whether a part can be added at all: ordered, on hand, or out of a kit."""
        if self.at.for_sale(part):
            return True
        if self.at.refusal(part):
            return False
        return part in self.problem.on_hand or bool(self.kits_with(part))

    def kits_with(self, part: str) -> list[str]:
        """The kits that hold a part and can be had themselves."""
        return [kit for kit in self.at.kits_with(part) if self.obtainable(kit)]

    def _stock_choices(
        self, selector: Selector, part: str, opened: int | None, least: Fraction | None
    ) -> list[Choice]:
        """A stock part in the places meant: not for a need if used up, or if there are too few."""
        places = [p for p in self.at.stock_places.get(part, ()) if selector.at in (None, p)]
        if least is None:
            return [Choice(self.cone.stays(place), part, place, opened) for place in places]
        if self.at.parts[part].one_time_use:
            return []
        counts = {place: self.at.baseline.places[place].count for place in places}
        if least > sum(counts.values()):
            return []
        return [
            Choice(self.cone.stays(place), part, place, opened, kept=tuple(
                (self.cone.stays(place), count) for place, count in counts.items()
            )) for place in places
        ]

    def _open_match(self, missing: tuple[str, ...]) -> int | None:
        return self.cone.unknown(missing) if missing else None
