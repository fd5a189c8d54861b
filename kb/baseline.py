"""A baseline: one vehicle in a given year and variant as it left the factory."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from graphlib import TopologicalSorter
from typing import TYPE_CHECKING, Any

from kb.entries import Part, Place, Variant, Vehicle
from kb.errors import QuestionError, nearest_name
from kb.statements import Applies, Axle, Basis

if TYPE_CHECKING:
    from kb.catalogue import Catalogue


@dataclass(frozen=True, slots=True)
class Fact:
    """One known fact of a car, with how it is known."""

    name: str
    value: Any
    basis: Basis
    source: str


@dataclass(frozen=True, eq=False)
class Baseline:
    """A car as built. Hashable by identity; `id` is stable between runs."""

    vehicle_id: str
    variant_id: str
    year: int
    vehicle: Vehicle

    @property
    def id(self) -> str:
        """The baseline as one text, such as "plover/p16/2016"."""
        return f"{self.vehicle_id}/{self.variant_id}/{self.year}"

    @property
    def variant(self) -> Variant:
        """The variant this car is of."""
        return self.vehicle.variants[self.variant_id]

    @property
    def name(self) -> str:
        """The car as said to a customer."""
        return f"{self.vehicle.name} {self.variant.name}, {self.year}"

    @property
    def places(self) -> Mapping[str, Place]:
        """The places of this car."""
        return self.vehicle.places

    @cached_property
    def equipment(self) -> frozenset[str]:
        """What this car has, by variant and by year."""
        have = set(self.variant.equipment)
        for name in equipment_order(self.vehicle):
            if self._is_on(self.vehicle.equipment[name], frozenset(have)):
                have.add(name)
        return frozenset(have)

    @cached_property
    def fitted(self) -> Mapping[str, str]:
        """The stock part of each place that has one."""
        return {
            place: choice.part
            for place, choices in self.vehicle.fitted.items()
            for choice in choices
            if self.applies(choice)
        }

    @cached_property
    def _fitted_of(self) -> dict[tuple[str, Axle | None], tuple[str, ...]]:
        return {}

    @cached_property
    def _facts(self) -> Mapping[tuple[str, Axle | None], Fact]:
        found: dict[tuple[str, Axle | None], Fact] = {}
        for block in self.vehicle.facts:
            if not self.applies(block):
                continue
            for name in block.fact_names():
                value = getattr(block, name, None)
                if value is not None:
                    full = f"{block.group}.{name}"
                    found[full, block.axle] = Fact(full, value, block.basis, block.source or "")
        return found

    def fact(self, name: str, axle: Axle | None = None) -> Fact | None:
        """The fact "group.name" on that axle (or stated for the whole car); None: not known."""
        return self._facts.get((name, axle)) or self._facts.get((name, None))

    def is_fitted(self, part: str) -> bool:
        """Whether a part is one of this car's stock parts."""
        return part in self.fitted.values()

    def fitted_of(
        self, parts: Mapping[str, Part], kind: str, axle: Axle | None = None
    ) -> tuple[str, ...]:
        """The stock parts of a kind, on one axle or anywhere, in order of their places."""
        if (kind, axle) not in self._fitted_of:
            self._fitted_of[kind, axle] = tuple(
                part for place, part in sorted(self.fitted.items())
                if parts[part].kind == kind and axle in (None, self.places[place].axle)
            )
        return self._fitted_of[kind, axle]

    def applies(self, where: Applies) -> bool:
        """Whether a statement limited to `where` holds for this car."""
        return self._is_on(where, self.equipment)

    def _is_on(self, where: Applies, equipment: frozenset[str]) -> bool:
        return (
            self.year in where.years
            and (not where.vehicles or self.vehicle_id in where.vehicles)
            and (not where.variants or self.variant_id in where.variants)
            and (not where.engines or self.variant.engine in where.engines)
            and (not where.markets or self.variant.market in where.markets)
            and (not where.equipment or equipment.issuperset(where.equipment))
            and (not where.without or equipment.isdisjoint(where.without))
        )


def equipment_order(vehicle: Vehicle) -> tuple[str, ...]:
    """The equipment of a vehicle, each after what its condition speaks of.

    Raises graphlib.CycleError when the conditions run in a circle.
    """
    stated = vehicle.equipment
    before = {
        name: sorted({*stated[name].equipment, *stated[name].without} & stated.keys())
        for name in sorted(stated)
    }
    return tuple(TopologicalSorter(before).static_order())


def baselines(catalogue: Catalogue) -> Iterator[Baseline]:
    """Every baseline of a catalogue, in order of vehicle, variant and year."""
    for vehicle_id in catalogue.vehicles:
        yield from vehicle_baselines(vehicle_id, catalogue.vehicles[vehicle_id])


def vehicle_baselines(vehicle_id: str, vehicle: Vehicle) -> Iterator[Baseline]:
    """Every baseline of one vehicle."""
    for variant_id, variant in vehicle.variants.items():
        first = max(vehicle.years.first, variant.years.first)
        for year in range(first, min(vehicle.years.last, variant.years.last) + 1):
            yield Baseline(vehicle_id, variant_id, year, vehicle)


def find_baseline(
    catalogue: Catalogue, vehicle: str, year: int | None = None, variant: str | None = None
) -> Baseline:
    """The one baseline meant. Raises QuestionError when there is none, or more than one."""
    if vehicle not in catalogue.vehicles:
        raise QuestionError(
            "vehicle", f"there is no vehicle '{vehicle}'", nearest_name(vehicle, catalogue.vehicles)
        )
    found = _known_baselines(catalogue)[vehicle]
    if variant is not None:
        names = {b.variant_id for b in found}
        if variant not in names:
            raise QuestionError(
                "variant", f"'{vehicle}' has no variant '{variant}'; it has {_list(names)}",
                nearest_name(variant, names),
            )
        found = [b for b in found if b.variant_id == variant]
    if year is not None:
        if year not in {b.year for b in found}:
            years = _list(str(b.year) for b in found)
            raise QuestionError("year", f"that car was not made in {year}; it was in {years}")
        found = [b for b in found if b.year == year]
    return _the_one(found)


def _the_one(found: list[Baseline]) -> Baseline:
    if len(found) == 1:
        return found[0]
    variants = {b.variant_id for b in found}
    if len(variants) > 1:
        raise QuestionError("variant", f"which variant? {_list(variants)}")
    raise QuestionError("year", f"which year? {_list(str(b.year) for b in found)}")


def _known_baselines(catalogue: Catalogue) -> dict[str, list[Baseline]]:
    """The baselines of each vehicle, made once so that what is derived from one can be kept."""
    if "baselines" not in catalogue.caches:
        found: dict[str, list[Baseline]] = {key: [] for key in catalogue.vehicles}
        for baseline in baselines(catalogue):
            found[baseline.vehicle_id].append(baseline)
        catalogue.caches["baselines"] = found
    known: dict[str, list[Baseline]] = catalogue.caches["baselines"]
    return known


def _list(names: Any) -> str:
    return ", ".join(sorted(set(names)))
