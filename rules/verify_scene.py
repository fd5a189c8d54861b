"""What is on a car with a package on it, and which of it a selector means."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from kb.entries import Part
from kb.matching import matches
from kb.statements import Axle, Selector, When
from rules import answers as a
from rules.verify_car import Car, exact


@dataclass(frozen=True, slots=True)
class There:
    """Something on the car: a part added (place None) or the stock part of a place."""

    part: str
    place: str | None
    qty: Fraction


class Scene:
    """A car with a package on it, and what the language's selectors mean there."""

    def __init__(self, car: Car, answer: a.Package) -> None:
        self.car, self.answer = car, answer
        self.new = {line.part: line for line in answer.lines if line.status != "kept"}
        self.off = {gone.place for gone in answer.comes_off}
        self.steps = {work.step for work in answer.work}
        self.there = [
            There(part, None, exact(line.qty)) for part, line in self.new.items()
            if part in car.catalogue.parts
        ]
        self.there += [thing for thing in self._stock_things() if thing.place not in self.off]

    @property
    def certain(self) -> bool:
        """Whether the package says that nothing is left to measure."""
        return self.answer.outcome == "complete"

    def means(self, selector: Selector, thing: There, owner: str | None) -> bool | None:
        """Whether a selector means something that is there; None when that is not known."""
        if selector.step is not None:
            return False
        if selector.kind is None and thing.part not in self.car.named(selector):
            return False
        part = self.car.catalogue.parts[thing.part]
        if selector.fitted is True and thing.place is None:
            return False
        if selector.fitted is False and thing.part in self.car.baseline.fitted.values():
            return False
        if selector.at is not None:
            where = (thing.place,) if thing.place else part.takes
            if selector.at not in where:
                return False
        if selector.kind is None:
            return True
        if part.kind != selector.kind:
            return False
        return self._matches(selector, part, owner)

    def _matches(self, selector: Selector, part: Part, owner: str | None) -> bool | None:
        asker = self.car.catalogue.parts[owner] if owner else None
        known: bool | None = True
        for axle in self.car.axles(asker or part):
            def fact(name: str, axle: Axle | None = axle) -> object:
                found = self.car.baseline.fact(name, axle)
                return found.value if found else None

            met, _ = matches(
                selector.match, part.kind, part.dimensions,
                asker.dimensions if asker else None, fact,
            )
            if met is False:
                return False
            known = known and met
        return known

    def present(self, selector: Selector, owner: str | None) -> list[There]:
        """What is there and may be meant: what is not known counts as there."""
        return [
            t for t in self.worth_a_look((selector,)) if self.means(selector, t, owner) is not False
        ]

    def worth_a_look(self, selectors: Iterable[Selector]) -> list[There]:
        """Of what is there, only what is of a kind or has a name that one of these means."""
        places: set[int] = set()
        for selector in selectors:
            if selector.kind is not None:
                places.update(self._of_kind.get(selector.kind, ()))
            elif selector.step is None:
                for part in self.car.named(selector):
                    places.update(self._of_part.get(part, ()))
        return [self.there[i] for i in sorted(places)]

    def step_there(self, selector: Selector) -> bool:
        """Whether a selector means work that is done."""
        return selector.step is not None and selector.step in self.steps

    def holds(self, when: When, owner: str | None) -> bool:
        """Whether a condition holds of what is there."""
        there = (bool(self.present(s, owner)) or self.step_there(s) for s in when.present)
        absent = (not self.present(s, owner) and not self.step_there(s) for s in when.absent)
        return self.car.baseline.applies(when) and all(there) and all(absent)

    def was_met(self, number: int, owner: str) -> bool:
        """Whether that need of a stock part was active on the factory's car, and met there."""
        def find() -> bool:
            need = self.car.catalogue.parts[owner].requires[number]

            def there(selector: Selector) -> bool:
                return self._stock_meets((selector,), owner)

            return (
                self.car.baseline.applies(need.when)
                and all(map(there, need.when.present))
                and not any(map(there, need.when.absent))
                and there(need)
            )

        return self.car.once(f"part:{owner}#{number}", find)

    def stock_keeps(self, rule: str) -> bool:
        """Whether the factory's car has what a general rule asks for."""
        then = self.car.rules[rule].then_any
        return self.car.once(f"rule:{rule}", lambda: self._stock_meets(then, None))

    def _stock_things(self) -> list[There]:
        return [
            There(part, place, Fraction(self.car.baseline.places[place].count))
            for place, part in self.car.baseline.fitted.items()
        ]

    def _stock_meets(self, selectors: Sequence[Selector], owner: str | None) -> bool:
        """Whether the factory's car has what one of these selectors means."""
        return any(
            self.means(s, t, owner) is not False for s in selectors for t in self._stock_things()
            if s.fitted is not False
        )

    def axles_of(self, thing: There) -> list[Axle | None]:
        """The axles something on the car sits on."""
        if thing.place:
            return [self.car.baseline.places[thing.place].axle]
        return self.car.axles(self.car.catalogue.parts[thing.part])

    @cached_property
    def _of_part(self) -> Mapping[str, list[int]]:
        """Where each part stands in `there`."""
        found: dict[str, list[int]] = {}
        for i, thing in enumerate(self.there):
            found.setdefault(thing.part, []).append(i)
        return found

    @cached_property
    def _of_kind(self) -> Mapping[str, list[int]]:
        """Where the parts of each kind stand in `there`."""
        found: dict[str, list[int]] = {}
        for i, thing in enumerate(self.there):
            found.setdefault(self.car.catalogue.parts[thing.part].kind, []).append(i)
        return found

    def kept_units(self, part: str, selector: Selector) -> Fraction:
        """How many of a stock part stay in the places meant."""
        return sum(
            (t.qty for t in self.there
             if t.part == part and t.place and selector.at in (None, t.place)),
            Fraction(0),
        )
