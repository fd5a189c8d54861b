"""Cars on which everything the catalogue states applies in the same way.

What holds for one of them holds for all, so questions about every car are asked once per group.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping
from datetime import date
from itertools import groupby
from typing import Any

from pydantic import BaseModel

from kb.baseline import Baseline, baselines
from kb.catalogue import Catalogue
from kb.statements import Applies
from rules.engineering.pressure_sensors import sensors_required

Cars = tuple[Baseline, ...]


def alike(catalogue: Catalogue) -> tuple[Cars, ...]:
    """Every car of the catalogue, in groups within which every answer is the same.

    Answers still name the car and its year.
    """
    limits = list(_limits(catalogue))
    groups: dict[Hashable, list[Baseline]] = {}
    for car in baselines(catalogue):
        groups.setdefault(_look(car, limits), []).append(car)
    return tuple(map(tuple, groups.values()))


def _look(car: Baseline, limits: Iterable[Applies]) -> Hashable:
    return (
        car.vehicle_id, car.variant.engine, car.variant.market, car.equipment, _duty(car),
        tuple(car.applies(where) for where in limits),
    )


def _duty(car: Baseline) -> tuple[str, ...]:
    """The one thing a check reads from the year itself: laws hold from a day."""
    rule = car.fact("receiver.rule")
    if rule is None:
        return ()
    days = date(car.year, 1, 1), date(car.year, 12, 31)
    return tuple(sensors_required(rule.value, day) for day in days)


def _limits(catalogue: Catalogue) -> Iterator[Applies]:
    """Every limit on cars that is stated anywhere, each once."""
    sections = (
        catalogue.vehicles, catalogue.parts, catalogue.work, catalogue.rules, catalogue.trials
    )
    found = {
        tuple(getattr(where, name) for name in Applies.model_fields): where
        for section in sections for where in _inside(section)
    }
    yield from found.values()


def _inside(value: Any) -> Iterator[Applies]:
    if isinstance(value, Applies):
        yield value
    if isinstance(value, BaseModel):
        for name in type(value).model_fields:
            yield from _inside(getattr(value, name))
    elif isinstance(value, Mapping):
        for inner in value.values():
            yield from _inside(inner)
    elif isinstance(value, tuple):
        for inner in value:
            yield from _inside(inner)


def said(cars: Iterable[Baseline]) -> str:
    """Cars in few words: "quernby/q12 2012-2013, quernby/q16 2013"."""
    by_variant = groupby(
        sorted(cars, key=lambda car: (car.vehicle_id, car.variant_id, car.year)),
        key=lambda car: f"{car.vehicle_id}/{car.variant_id}",
    )
    return ", ".join(f"{name} {_spans([car.year for car in found])}" for name, found in by_variant)


def _spans(years: list[int]) -> str:
    """Years that follow each other, as spans."""
    found: list[list[int]] = []
    for year in years:
        if found and year == found[-1][1] + 1:
            found[-1][1] = year
        else:
            found.append([year, year])
    return " and ".join(str(a) if a == b else f"{a}-{b}" for a, b in found)
