"""Cross-checks between entries: no entry may contradict itself, or another.

What single statements refer to is checked by `kb.referring`.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from graphlib import CycleError
from typing import Any

from kb.baseline import Baseline, equipment_order, vehicle_baselines
from kb.circles import circles
from kb.entries import Part, Rule, Trial, Vehicle, Work
from kb.errors import Problem
from kb.order import order_circles
from kb.referring import Entries, Path, Referring, Values
from kb.remembered import RememberedKit
from kb.stages import Staged


def check_integrity(
    values: Values, entries: Entries, problems: list[Problem], *, whole: bool = True
) -> None:
    """Add to `problems` whatever does not hold together between the entries.

    Not `whole`: some file could not be read, so a name that is not stated may stand there.
    """
    _Checker(values, entries, problems, whole).run()


class _Checker(Referring):
    def run(self) -> None:
        readers: dict[str, Callable[[Any], None]] = {
            "parts": self.part, "vehicles": self.vehicle, "work": self.work,
            "rules": self.rule, "trials": self.trial, "kits": self.kit,
        }
        for (section, key), value in self.values.items():
            if section in readers:
                self.entry = self.entries[section, key]
                self.own_car = self.names.cars.get(key) if section == "vehicles" else None
                readers[section](value)
        self.circles()
        self.order_circles()

    @cached_property
    def currency(self) -> str:
        """The currency of the catalogue."""
        header = self.values.get(("catalog", "catalog"))
        return header.currency if header else "EUR"

    # -- parts ----------------------------------------------------------------------------------

    def part(self, part: Part) -> None:
        if part.takes or part.clears:
            self.places(part)
        for part_id, amount in part.contents.items():
            self.known("part", part_id, self.parts, ("contents", part_id))
            self.amount(part_id, amount, ("contents", part_id))
        for i, part_id in enumerate(part.supersedes):
            self.known("part", part_id, self.parts, ("supersedes", i))
        if part.price and part.price.currency != self.currency:
            self.add(("price",), f"the price is in {part.price.currency}", self.currency)
        self.part_on_cars(part)
        self.part_with_others(part)
        self.order(part)

    def places(self, part: Part) -> None:
        for field in ("takes", "clears"):
            places = getattr(part, field)
            for i, place in enumerate(places):
                self.known("place", place, self.names.all_cars.places, (field, i))
                if place in places[:i]:
                    self.add((field, i), f"'{place}' is named twice under '{field}'")

    def part_on_cars(self, part: Part) -> None:
        for i, fits in enumerate(part.fits):
            self.applies(fits, ("fits", i))
            self.work_goes_with(fits.verdict, fits.work, ("fits", i))
        for i, work in enumerate(part.work):
            for step in work.listed:
                self.known("work step", step, self.steps, ("work", i))
            self.when(work.when, part, ("work", i, "when"))

    def work_goes_with(self, verdict: str, steps: tuple[str, ...], path: Path) -> None:
        for i, step in enumerate(steps):
            self.known("work step", step, self.steps, (*path, "work", i))
        if verdict == "fits_with_work" and not steps:
            self.add(path, "'fits_with_work' has no work", "the steps under 'work'")
        elif steps and verdict != "fits_with_work":
            self.add((*path, "work"), "work is stated", "verdict: fits_with_work")

    def part_with_others(self, part: Part) -> None:
        me = self.entry.id
        for i, need in enumerate(part.requires):
            if self.plain(need, part):
                continue
            self.need(need, part, ("requires", i))
            if me in need.listed:
                self.add(("requires", i), "a part cannot need itself")
            if need.each and part.pack.unit:
                self.add(("requires", i), f"a part sold in {part.pack.unit} has no units to "
                         "count 'each' by", "'once'")
            if need.each and part.contents:
                self.add(("requires", i), "a kit has no units to count 'each' by",
                         "the need on the part in the kit that asks")
        for i, conflict in enumerate(part.conflicts):
            if self.plain(conflict, part):
                continue
            self.conflict(conflict, part, ("conflicts", i))
            if me in conflict.listed:
                self.add(("conflicts", i), "a part cannot conflict with itself")
        for i, offer in enumerate(part.recommends):
            self.known("part", offer.part, self.parts, ("recommends", i, "part"))
            if offer.each:
                self.amount(offer.part, offer.each, ("recommends", i, "each"))
            self.when(offer.when, part, ("recommends", i, "when"))

    # -- vehicles -------------------------------------------------------------------------------

    def vehicle(self, vehicle: Vehicle) -> None:
        for name, variant in vehicle.variants.items():
            for i, item in enumerate(variant.equipment):
                self.known("equipment", item, self.names.all_cars.equipment,
                           ("variants", name, "equipment", i))
        for name, where in vehicle.equipment.items():
            self.applies(where, ("equipment", name))
        for i, block in enumerate(vehicle.facts):
            self.applies(block, ("facts", i))
        self.stock_parts(vehicle)
        try:
            equipment_order(vehicle)
        except CycleError as error:
            names = ", ".join(sorted(set(error.args[1])))
            self.add(("equipment",), f"equipment is conditional on itself ({names})")
            return
        self.cars_as_built(vehicle, list(vehicle_baselines(self.entry.id, vehicle)))

    def stock_parts(self, vehicle: Vehicle) -> None:
        for place, choices in vehicle.fitted.items():
            self.known("place", place, vehicle.places, ("fitted", place), "this vehicle has")
            for i, choice in enumerate(choices):
                path = ("fitted", place, i)
                self.known("part", choice.part, self.parts, path)
                self.applies(choice, path)
                part = self.values.get(("parts", choice.part))
                if part is not None and place not in part.takes:
                    self.add(path, f"'{choice.part}' is fitted in '{place}' but does not take it",
                             f"'{place}' under 'takes' of the part")

    def cars_as_built(self, vehicle: Vehicle, cars: list[Baseline]) -> None:
        made = {car.variant_id for car in cars}
        for name in vehicle.variants:
            if name not in made:
                self.add(("variants", name),
                         f"variant '{name}' was made in no year of the vehicle", str(vehicle.years))
        for place, choices in vehicle.fitted.items():
            twice = [c for c in cars if sum(c.applies(choice) for choice in choices) > 1]
            if twice:
                self.add(("fitted", place), f"'{place}' has two stock parts on {twice[0].id}")
        self.facts_once(vehicle, cars)

    def facts_once(self, vehicle: Vehicle, cars: list[Baseline]) -> None:
        """No fact may be stated twice for one car and axle."""
        told: set[tuple[int, str]] = set()
        for car in cars:
            seen: set[tuple[str, str | None]] = set()
            for i, block in enumerate(vehicle.facts):
                if not car.applies(block):
                    continue
                for name in block.fact_names():
                    key = (f"{block.group}.{name}", block.axle)
                    if getattr(block, name) is None:
                        continue
                    if key in seen and (i, name) not in told:
                        told.add((i, name))
                        self.add(("facts", i), f"'{key[0]}' is stated twice for {car.id}")
                    seen.add(key)

    # -- work, rules, trials --------------------------------------------------------------------

    def work(self, work: Work) -> None:
        self.applies(work.on, ("on",))
        for i, need in enumerate(work.requires):
            self.need(need, None, ("requires", i))
        for i, conflict in enumerate(work.conflicts):
            self.conflict(conflict, None, ("conflicts", i))
            if conflict.step == self.entry.id:
                self.add(("conflicts", i), "a work step cannot conflict with itself")
        self.reliefs(work)
        self.order(work)

    def reliefs(self, work: Work) -> None:
        """One step moves an obstacle once along the wheel's axis and once square to it."""
        moved: dict[tuple[str, bool], str] = {}
        for i, relief in enumerate(work.relieves):
            if relief.direction is None:
                continue
            line = (relief.obstacle, relief.direction in ("inboard", "outboard"))
            if line in moved:
                ways = " and ".join(dict.fromkeys([moved[line], relief.direction]))
                self.add(("relieves", i), f"'{relief.obstacle}' is moved twice ({ways})",
                         "how far it stands from where it was, in one direction")
            moved[line] = relief.direction

    def order(self, staged: Staged) -> None:
        if not (staged.after or staged.before):
            return
        for field in ("after", "before"):
            for i, order in enumerate(getattr(staged, field)):
                self.selector(order, None, (field, i))

    def rule(self, rule: Rule) -> None:
        self.applies(rule.on, ("on",))
        if not rule.when and not rule.then_any:
            self.add((), "a rule with neither 'when' nor 'then_any' says nothing")
        for field in ("when", "then_any"):
            for i, selector in enumerate(getattr(rule, field)):
                self.selector(selector, None, (field, i))
        if rule.each and not rule.when:
            self.add(("each",), "'each' counts per unit of the first 'when'; there is none")
        for i, selector in enumerate(rule.then_any):
            for part in selector.listed:
                amount = rule.each or rule.once
                if amount:
                    self.amount(part, amount, ("then_any", i))

    def trial(self, trial: Trial) -> None:
        self.applies(trial.on, ("on",))
        for i, part in enumerate(trial.parts):
            self.known("part", part, self.parts, ("parts", i))
        self.work_goes_with(trial.verdict, trial.work, ())

    # -- remembered kits ------------------------------------------------------------------------

    def kit(self, kit: RememberedKit) -> None:
        self.known("vehicle", kit.vehicle, self.names.cars, ("vehicle",))
        for field in ("picks", "on_hand"):
            for i, pick in enumerate(getattr(kit, field)):
                self.known("part", pick.part, self.parts, (field, i))
                if pick.amount:
                    self.amount(pick.part, pick.amount, (field, i))
        for part, amount in kit.parts.items():
            self.known("part", part, self.parts, ("parts", part))
            self.amount(part, amount, ("parts", part))
        if kit.price and kit.price.currency != self.currency:
            self.add(("price",), f"the price is in {kit.price.currency}", self.currency)
        if kit.outcome == "impossible" and (kit.parts or kit.price):
            self.add(("outcome",), "an impossible kit has neither parts nor a price")
        self.kit_car(kit)

    def kit_car(self, kit: RememberedKit) -> None:
        """A remembered kit is for one car exactly."""
        vehicle = self.values.get(("vehicles", kit.vehicle))
        if vehicle is None:
            return
        if kit.variant is not None and kit.variant not in vehicle.variants:
            self.known("variant", kit.variant, vehicle.variants, ("variant",), "this vehicle has")
            return
        cars = [
            car for car in vehicle_baselines(kit.vehicle, vehicle)
            if kit.variant in (None, car.variant_id) and kit.year in (None, car.year)
        ]
        if not cars:
            self.add(("year",), f"that car was not made in {kit.year}")
        elif len(cars) > 1:
            field = "year" if len({car.variant_id for car in cars}) == 1 else "variant"
            self.add((), f"{len(cars)} cars are meant", f"'{field}' to tell which")

    # -- circles --------------------------------------------------------------------------------

    def circles(self) -> None:
        parts = {key: value for (section, key), value in self.values.items() if section == "parts"}
        rules = {key: value for (section, key), value in self.values.items() if section == "rules"}
        for circle in circles(parts, rules):
            self.entry = self.entries["parts", circle.parts[0]]
            self.add((circle.field,), circle.message)

    def order_circles(self) -> None:
        sections: dict[str, dict[str, Any]] = {"parts": {}, "work": {}, "vehicles": {}}
        for (section, key), value in self.values.items():
            sections.get(section, {})[key] = value
        parts, work, vehicles = sections.values()
        for circle in order_circles(parts, work, vehicles.values()):
            section = "parts" if circle[0][0] == "part" else "work"
            self.entry = self.entries[section, circle[0][1]]
            names = {"part": "part '{}'", "step": "step '{}'", "begin": "stage {}"}
            way = ", then ".join(names[sort].format(name) for sort, name in circle)
            self.add((), f"the order of work runs in a circle ({way}, and again)")
