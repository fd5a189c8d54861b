"""Cars on which everything the catalogue states applies in the same way.

What holds for one of them holds for all, so questions about every car are asked once per group.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping
from datetime import date
from functools import cache
from itertools import groupby
from typing import Any, get_args

from pydantic import BaseModel

from kb.baseline import Baseline, baselines
from kb.catalogue import Catalogue
from kb.statements import Applies
from rules.engineering.pressure_sensors import sensors_required

Cars = tuple[Baseline, ...]


def alike(catalogue: Catalogue, cars: Iterable[Baseline] | None = None) -> tuple[Cars, ...]:
    """Every car of the catalogue, or these, in groups within which every answer is the same.

    Answers still name the car and its year.
    """
    limits = _limits_by_vehicle(catalogue)
    groups: dict[Hashable, list[Baseline]] = {}
    for car in baselines(catalogue) if cars is None else cars:
        told = (*limits.get("", ()), *limits.get(car.vehicle_id, ()))
        groups.setdefault(_look(car, told), []).append(car)
    return tuple(map(tuple, groups.values()))


def _look(car: Baseline, limits: Iterable[Applies]) -> Hashable:
    told = tuple([car.applies(where) for where in limits])
    return car.vehicle_id, car.equipment, _duty(car), told


def _duty(car: Baseline) -> tuple[str, ...]:
    """The one thing a check reads from the year itself: laws hold from a day."""
    rule = car.fact("receiver.rule")
    if rule is None:
        return ()
    days = date(car.year, 1, 1), date(car.year, 12, 31)
    return tuple(sensors_required(rule.value, day) for day in days)


def _limits_by_vehicle(catalogue: Catalogue) -> dict[str, list[Applies]]:
    """Every limit on cars that is stated anywhere, each once, under each vehicle that it names.

    Those that name none stand under an empty name.
    """
    sections = (
        catalogue.vehicles, catalogue.parts, catalogue.work, catalogue.rules, catalogue.trials
    )
    each = {
        limit_of(where): where for section in sections for where in _inside(section)
        if where.model_fields_set
    }
    found: dict[str, list[Applies]] = {}
    for where in each.values():
        for vehicle in where.vehicles or ("",):
            found.setdefault(vehicle, []).append(where)
    return found


def limit_of(where: Applies) -> Hashable:
    """What a statement says of the cars it holds for, and nothing else of it."""
    return (
        where.vehicles, where.variants, where.engines, where.markets, where.years,
        where.equipment, where.without,
    )


def _inside(value: Any) -> Iterator[Applies]:
    if isinstance(value, BaseModel):
        if isinstance(value, Applies):
            yield value
        for name in value.model_fields_set & _holders(type(value)):
            yield from _inside(getattr(value, name))
    elif isinstance(value, Mapping):
        for inner in value.values():
            yield from _inside(inner)
    elif isinstance(value, tuple):
        for inner in value:
            yield from _inside(inner)


@cache
def _holders(model: type[BaseModel]) -> frozenset[str]:
    """The fields of a model in which a limit can stand."""
    fields = model.model_fields.items()
    return frozenset(name for name, field in fields if _can_hold(field.annotation))


def _can_hold(annotation: Any) -> bool:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return issubclass(annotation, Applies) or bool(_holders(annotation))
    return any(map(_can_hold, get_args(annotation)))


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
