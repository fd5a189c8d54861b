"""What the catalogue says of one car, as the independent re-check reads it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property, lru_cache

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.entries import Part, Rule, Trial
from kb.statements import Axle, Selector
from rules.checking import Check, Verdict

_Combination = tuple[str, str, Axle | None, tuple[str, ...]]
"""A check, a car, an axle and the parts compared."""


@dataclass(frozen=True, slots=True)
class _Here:
    """What the catalogue states in general that holds for one car."""

    rules: Mapping[str, Rule]
    trials: Sequence[Trial]
    found: dict[str, bool] = field(default_factory=dict)
    """What was found out about the factory's car."""


class Car:
    """One car and the entries of the catalogue as they are for it."""

    def __init__(self, catalogue: Catalogue, baseline: Baseline) -> None:
        self.catalogue, self.baseline = catalogue, baseline
        self._names: dict[tuple[str, ...], set[str]] = {}
        self._verdicts: dict[_Combination, tuple[Verdict, ...]] = \
            catalogue.caches.setdefault("verify:verdicts", {})

    @property
    def rules(self) -> Mapping[str, Rule]:
        """The general rules for this car."""
        return self._here.rules

    @property
    def trials(self) -> Sequence[Trial]:
        """The trial fits for this car."""
        return self._here.trials

    def once(self, what: str, find: Callable[[], bool]) -> bool:
        """What `find` says of the factory's car, from the first time that it was asked."""
        found = self._here.found
        if what not in found:
            found[what] = find()
        return found[what]

    def usual(self, part: Part) -> Fraction:
        """How many are meant where no amount is given."""
        return part.pack.value if part.pack.unit else Fraction(max(self.units(part), 1))

    def units(self, part: Part, axle: Axle | None = None) -> int:
        """How many of a part its places hold, on one axle or in all."""
        places = [self.baseline.places[p] for p in part.takes if p in self.baseline.places]
        return sum(p.count for p in places if axle in (None, p.axle))

    def axles(self, part: Part) -> list[Axle | None]:
        """The axles a part sits on."""
        places = self.baseline.places
        found = {places[p].axle for p in part.takes if p in places}
        return sorted((axle for axle in found if axle), key=str) or [None]

    def unpacked(self, kit: str) -> dict[str, Fraction]:
        """What is in one of a kit, kits inside it unpacked."""
        found: dict[str, Fraction] = {}
        for inner, amount in self.catalogue.parts[kit].contents.items():
            found[inner] = found.get(inner, Fraction(0)) + amount.value
            for deeper, value in self.unpacked(inner).items():
                found[deeper] = found.get(deeper, Fraction(0)) + amount.value * value
        return found

    def usable(self, part_id: str) -> bool:
        """Whether a part, or for a kit anything in it that takes a place, goes on this car."""
        part = self.catalogue.parts[part_id]
        placed = [inner for inner in self.unpacked(part_id) if self.catalogue.parts[inner].takes]
        return (
            (not part.fits or any(self.baseline.applies(f) for f in part.fits))
            and all(place in self.baseline.places for place in part.takes)
            and (not placed or any(map(self.usable, placed)))
        )

    def successors(self, part: str) -> set[str]:
        """The parts that replace a part."""
        found: set[str] = set()
        queue = [part]
        while queue:
            more = self._replaced_by.get(queue.pop(), set()) - found
            found |= more
            queue += more
        return found

    @cached_property
    def _replaced_by(self) -> Mapping[str, set[str]]:
        """Old part to the parts that say they supersede it; read once per catalogue."""
        kept: dict[str, set[str]] | None = self.catalogue.caches.get("verify:replaced_by")
        if kept is None:
            kept = {}
            for key, part in self.catalogue.parts.items():
                for old in part.supersedes:
                    kept.setdefault(old, set()).add(key)
            self.catalogue.caches["verify:replaced_by"] = kept
        return kept

    def buyable(self, part: str) -> bool:
        """Whether a part can be ordered."""
        return self.catalogue.parts[part].orderable and not self.successors(part)

    def named(self, selector: Selector) -> set[str]:
        """The parts a selector names, and those that replace them."""
        listed = selector.listed
        found = self._names.get(listed)
        if found is None:
            found = self._names[listed] = {*listed}.union(*map(self.successors, listed))
        return found

    @cached_property
    def _here(self) -> _Here:
        """The general rules and trials for this car, looked out once."""
        kept: dict[str, _Here] = self.catalogue.caches.setdefault("verify:here", {})
        if self.baseline.id not in kept:
            applies = self.baseline.applies
            kept[self.baseline.id] = _Here(
                {key: rule for key, rule in self.catalogue.rules.items() if applies(rule.on)},
                [trial for trial in self.catalogue.trials.values() if applies(trial.on)],
            )
        return kept[self.baseline.id]

    def run(
        self, check: Check, parts: tuple[str, ...], axle: Axle | None
    ) -> tuple[Verdict, ...]:
        """What a check says, from the first time this re-check ran it on the car."""
        key = (check.name, self.baseline.id, axle, parts)
        if key not in self._verdicts:
            stated = [(part, self.catalogue.parts[part]) for part in parts]
            self._verdicts[key] = check.run(stated, self.catalogue, self.baseline, axle)
        return self._verdicts[key]


@lru_cache(maxsize=10_000)
def exact(amount: float) -> Fraction:
    """An amount as it is written: 0.1 is a tenth."""
    return Fraction(str(amount))
