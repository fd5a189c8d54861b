"""The names a catalogue states, for finding the ones it only uses.

Taken from the raw entries, so that an entry with a mistake in it still counts as known and one
mistake is not reported once more by everything that refers to it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from kb.errors import nearest_name

HINT_WORK = 10_000_000
"""How many names may be compared for hints in one reading: about a second."""


@dataclass(frozen=True, slots=True)
class CarNames:
    """The names stated within one vehicle, or within several taken together."""

    variants: frozenset[str]
    engines: frozenset[str]
    markets: frozenset[str]
    equipment: frozenset[str]
    places: frozenset[str]


def car_names(raw: Mapping[str, Any]) -> CarNames:
    """The names stated in the raw entry of a vehicle."""
    variants = [v for v in _map(raw.get("variants")).values() if isinstance(v, dict)]
    carried = [v["equipment"] for v in variants if isinstance(v.get("equipment"), list)]
    return CarNames(
        variants=frozenset(_map(raw.get("variants"))),
        engines=frozenset(str(v["engine"]) for v in variants if v.get("engine")),
        markets=frozenset(str(v["market"]) for v in variants if v.get("market")),
        equipment=frozenset(_map(raw.get("equipment"))).union(
            str(name) for names in carried for name in names
        ),
        places=frozenset(_map(raw.get("places"))),
    )


def together(cars: Collection[CarNames]) -> CarNames:
    """The names of several vehicles as one."""
    return CarNames(*(
        frozenset().union(*(getattr(car, field) for car in cars))
        for field in ("variants", "engines", "markets", "equipment", "places")
    ))


class Names:
    """Every name that entries may refer to."""

    def __init__(self, raw: Iterable[tuple[str, str, Mapping[str, Any]]]) -> None:
        self.sections: dict[str, set[str]] = {"parts": set(), "vehicles": set(), "work": set()}
        self.cars: dict[str, CarNames] = {}
        for section, key, entry in raw:
            self.sections.setdefault(section, set()).add(key)
            if section == "vehicles":
                self.cars[key] = car_names(entry)
        self.all_cars = together(self.cars.values())
        self._hint_work = HINT_WORK

    def near(self, name: str, known: Collection[str]) -> str:
        """The known name closest to `name`, if any; none once hints have cost enough."""
        if len(known) > self._hint_work:
            return ""
        self._hint_work -= len(known)
        return nearest_name(name, known)


def _map(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, dict) else {}
