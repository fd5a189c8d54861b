"""Verdicts shared between cars: a check says the same wherever it reads the same of the car.

While a check runs, everything it reads of the car is written down. On another car what was read is
looked up again, which costs far less than the check; where all of it is equal, so is the verdict.
Nothing has to be declared: a check that reads the model year is shared by cars of that year only.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple, cast

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.entries import Part
from kb.statements import Applies, Axle
from rules.checking import Check, Verdict

MOST_TRACES = 64
"""Ways in which cars may differ for one combination before no more are kept."""


MOST_COMBINATIONS = 100_000
"""Combinations of parts that verdicts are kept of, about 100 MB; then all are let go."""


class Reading(NamedTuple):
    """One look at the car, which can be repeated on another car."""

    look: Callable[[Baseline], Any]
    value: Any

    def same_on(self, car: Baseline) -> bool:
        """Whether that car looks the same here."""
        found = self.look(car)
        return found is self.value or bool(found == self.value)


class _Trace(NamedTuple):
    """What a check said, and all it read of the car to say it."""

    readings: tuple[Reading, ...]
    verdicts: tuple[Verdict, ...]


class Watched:
    """A car whose every reading is written down. To a check it is the car."""

    def __init__(self, car: Baseline) -> None:
        self.car = car
        self.readings: dict[tuple[Any, ...], Reading] = {}

    def __getattr__(self, name: str) -> Any:
        return self.look(("attribute", name), lambda car: getattr(car, name))

    def fact(self, name: str, axle: Axle | None = None) -> Any:
        """As `Baseline.fact`."""
        return self.look(("fact", name, axle), lambda car: car.fact(name, axle))

    def is_fitted(self, part: str) -> Any:
        """As `Baseline.is_fitted`."""
        return self.look(("is fitted", part), lambda car: car.is_fitted(part))

    def fitted_of(self, parts: Mapping[str, Part], kind: str, axle: Axle | None = None) -> Any:
        """As `Baseline.fitted_of`."""
        look = ("fitted of", kind, axle)
        return self.look(look, lambda car: car.fitted_of(parts, kind, axle))

    def applies(self, where: Applies) -> Any:
        """As `Baseline.applies`; statements live as long as their catalogue."""
        return self.look(("applies", id(where)), lambda car: car.applies(where))

    def look(self, key: tuple[Any, ...], look: Callable[[Baseline], Any]) -> Any:
        """What a look at the car shows; the first of each is written down."""
        if key not in self.readings:
            self.readings[key] = Reading(look, look(self.car))
        return self.readings[key].value

    def trace(self, verdicts: tuple[Verdict, ...]) -> _Trace:
        """What was read so far, with what came of it."""
        return _Trace(tuple(self.readings.values()), verdicts)


def run_shared(
    check: Check, parts: Sequence[tuple[str, Part]], catalogue: Catalogue, car: Baseline,
    axle: Axle | None,
) -> tuple[Verdict, ...]:
    """As `Check.run`, from an earlier run on a car that is the same in all the check reads."""
    kept = catalogue.caches.setdefault("shared verdicts", {})
    key = (check.name, tuple(part_id for part_id, _ in parts), axle)
    if len(kept) >= MOST_COMBINATIONS:
        kept.clear()
    traces: list[_Trace] = kept.setdefault(key, [])
    for trace in traces:
        if all(reading.same_on(car) for reading in trace.readings):
            return trace.verdicts
    watched = Watched(car)
    verdicts = check.run(parts, catalogue, cast(Baseline, watched), axle)
    if len(traces) < MOST_TRACES:
        traces.append(watched.trace(verdicts))
    return verdicts
