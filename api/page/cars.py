"""Which car: the cars still meant, and the questions that tell them apart."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from api.page.address import Address
from kb.baseline import Baseline, baselines, vehicle_baselines
from kb.catalogue import Catalogue
from kb.errors import QuestionError, nearest_name

MOST_SHOWN = 24
"""So many vehicles are offered at a time; typing more letters narrows them down."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer to a question about the car, and the address it leads to."""

    text: str
    href: str


@dataclass(frozen=True, slots=True)
class Question:
    """A question that tells the cars apart, with its answers."""

    key: str
    text: str
    answers: tuple[Answer, ...]
    more: int = 0
    """How many further answers there are."""


def cars_meant(catalogue: Catalogue, address: Address) -> list[Baseline]:
    """The cars that an address may mean. Raises QuestionError for names no car has."""
    found = _of_vehicle(catalogue, address)
    _check_equipment(found, address)
    words = address.car.casefold().split()
    return [
        car for car in found
        if (not address.has or car.equipment.issuperset(address.has))
        and (not address.lacks or car.equipment.isdisjoint(address.lacks))
        and (not words or all(word in _said(car) for word in words))
    ]


def _check_equipment(cars: Sequence[Baseline], address: Address) -> None:
    for field in ("has", "lacks"):
        for name in getattr(address, field):
            known = {n for car in cars for n in (*car.vehicle.equipment, *car.equipment)}
            if name not in known:
                raise QuestionError(
                    field, f"no such car is told by '{name}'", nearest_name(name, known)
                )


TOLD: Mapping[str, Callable[[Baseline], str]] = {
    "variant": lambda car: car.variant_id,
    "year": lambda car: str(car.year),
}
"""What of a car, beside its vehicle, an address may state."""


def _of_vehicle(catalogue: Catalogue, address: Address) -> list[Baseline]:
    vehicles = catalogue.vehicles
    if address.vehicle and address.vehicle not in vehicles:
        raise _no_such_car("vehicle", address.vehicle, vehicles)
    found = list(
        vehicle_baselines(address.vehicle, vehicles[address.vehicle]) if address.vehicle
        else baselines(catalogue)
    )
    for field, told in TOLD.items():
        value = str(getattr(address, field) or "")
        if not value:
            continue
        names = sorted({told(car) for car in found})
        if value not in names:
            raise _no_such_car(field, value, names)
        found = [car for car in found if told(car) == value]
    return found


def _no_such_car(field: str, value: str, known: Iterable[str]) -> QuestionError:
    return QuestionError(
        field, f"there is no such car: {field} '{value}'", nearest_name(value, known)
    )


def _said(car: Baseline) -> str:
    """What a car is found by, in small letters."""
    variant = car.variant
    return " ".join((
        car.name, car.id, variant.engine, variant.market or "",
        *(name.replace("-", " ") for name in car.equipment),
    )).casefold()


def questions(cars: Sequence[Baseline], address: Address) -> Iterator[Question]:
    """Whatever tells these cars apart: first which vehicle, then the rest."""
    vehicles = {car.vehicle_id: car.vehicle.name for car in cars}
    if len(vehicles) > 1:
        names = sorted(vehicles.items(), key=lambda each: each[1])
        answers = tuple(
            Answer(name, address.to(vehicle=key)) for key, name in names[:MOST_SHOWN]
        )
        yield Question("vehicle", "Which vehicle?", answers, max(len(names) - MOST_SHOWN, 0))
        return
    fixed = address.model_copy(update={"vehicle": cars[0].vehicle_id})
    variants = {car.variant_id: car.variant.name for car in cars}
    if len(variants) > 1:
        yield Question("variant", "Which version?", tuple(
            Answer(name, fixed.to(variant=key)) for key, name in variants.items()
        ))
    years = sorted({car.year for car in cars})
    if len(years) > 1:
        yield Question("year", "Which year?", tuple(
            Answer(str(year), fixed.to(year=year)) for year in years
        ))
    yield from _about_equipment(cars, fixed)


def _about_equipment(cars: Sequence[Baseline], address: Address) -> Iterator[Question]:
    """What some of the cars have; what always comes together is asked once."""
    asked = {_split([car.variant_id for car in cars])}
    for name in cars[0].vehicle.equipment:
        split = _split([name in car.equipment for car in cars])
        if len(set(split)) > 1 and split not in asked:
            asked.add(split)
            yield Question(f"with-{name}", f"With {name.replace('-', ' ')}?", (
                Answer("Yes", address.to(has=(*address.has, name))),
                Answer("No", address.to(lacks=(*address.lacks, name))),
            ))


def _split(told: Sequence[object]) -> tuple[int, ...]:
    """Which cars an answer keeps together: for each, the first that is told the same."""
    return tuple(told.index(each) for each in told)
