"""Where the parts of a package come from and what they cost, added up again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from math import ceil

from rules import answers as a
from rules.verify_amounts import apart
from rules.verify_car import exact
from rules.verify_scene import Scene

CENT = Decimal("0.01")


class Sums:
    """Where the parts of a package come from, and what they cost."""

    def __init__(self, scene: Scene, on_hand: Iterable[a.Item]) -> None:
        self.scene, self.car = scene, scene.car
        self.on_hand: dict[str, Fraction] = {}
        for item in on_hand:
            self._have(item.part, exact(item.qty) if item.qty else None)

    def faults(self) -> Iterator[str]:
        """What is supplied by nothing, and sums that are wrong."""
        yield from self._sources()
        yield from self._totals()

    def _have(self, part_id: str, qty: Fraction | None) -> None:
        part = self.car.catalogue.parts[part_id]
        amount = qty if qty is not None else self.car.usual(part)
        self.on_hand[part_id] = self.on_hand.get(part_id, Fraction(0)) + amount
        for inner, inside in self.car.unpacked(part_id).items():
            self.on_hand[inner] = self.on_hand.get(inner, Fraction(0)) + amount * inside

    def _sources(self) -> Iterator[str]:
        brought: dict[str, Fraction] = {}
        for kit, line in self.scene.new.items():
            # What is in a kit on hand counts as on hand already.
            count = line.packs * self.car.catalogue.parts[kit].pack.value
            for inner, amount in self.car.unpacked(kit).items():
                brought[inner] = brought.get(inner, Fraction(0)) + amount * count
        for part_id, line in self.scene.new.items():
            part = self.car.catalogue.parts[part_id]
            qty, hand = exact(line.qty), exact(line.on_hand)
            bought = exact(line.bought)
            if hand > self.on_hand.get(part_id, Fraction(0)):
                yield f"'{part_id}': more is taken from what is on hand than there is"
            if apart(qty, hand + bought) and qty > hand + bought + brought.get(part_id, 0):
                yield f"'{part_id}': {line.qty:g} are wanted, but fewer are supplied"
            if bought and not self.car.buyable(part_id):
                yield f"'{part_id}' cannot be ordered"
            if line.packs != ceil(bought / part.pack.value):
                yield f"'{part_id}': {line.packs} packs are not what {line.bought:g} come to"
            price = part.price.value * line.packs if part.price else None
            if price is not None and line.price is not None and Decimal(line.price) != price:
                yield f"'{part_id}': the price is not {line.price}"

    def _totals(self) -> Iterator[str]:
        totals = self.scene.answer.totals
        if totals is None:
            yield "the totals are missing"
            return
        parts = sum(
            (p.value * line.packs for key, line in self.scene.new.items()
             if (p := self.car.catalogue.parts[key].price)), Decimal(0),
        )
        rate = self.car.catalogue.header.labour_rate
        labour = Decimal(0)
        for minutes in self._minutes():
            if rate:
                cost = Decimal(str(minutes)) * rate.value / 60
                labour += cost.quantize(CENT, ROUND_HALF_UP)
        if abs(totals.minutes - sum(self._minutes())) > 0.1:
            yield f"the work does not take {totals.minutes:g} minutes"
        for name, found, due in (
            ("parts", totals.parts, parts), ("labour", totals.labour, labour),
            ("price", totals.price, parts + labour),
        ):
            if Decimal(found) != due:
                yield f"the total for {name} is {found}, not {due}"

    def _minutes(self) -> Iterator[float]:
        for step in self.scene.steps:
            yield self.car.catalogue.work[step].minutes.value
        for part_id in self.scene.new:
            part = self.car.catalogue.parts[part_id]
            if part.fitting_time:
                yield part.fitting_time.value * max(self.car.units(part), 1)
