"""What differs between two catalogues, and which of it a question has met."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from kb.catalogue import Catalogue
from rules.cone import Cone
from rules.situation import Situation

SECTIONS = ("vehicles", "parts", "work", "rules", "trials")

SHOP = "the shop's own section"

WEIGHS_ONLY = frozenset({
    "price", "fitting_time", "cautions", "note", "recommends", "tools", "torque", "stage",
    "after", "before",
})
"""Fields of a part that say nothing of what goes together."""


@dataclass(frozen=True)
class Altered:
    """The entries that are not the same in both catalogues, as "section/id", and how."""

    entries: Mapping[str, tuple[str, ...]]
    """The fields that are not the same, or the one word "added", "removed" or "kind"."""
    whole: bool
    """The shop itself changed: its limits, its rate or its currency."""

    def all_said(self) -> Iterator[str]:
        """Everything that was altered, in words."""
        if self.whole:
            yield SHOP
        yield from map(self._said, self.entries)

    def _said(self, entry: str) -> str:
        return f"{entry}: {', '.join(how.replace('_', ' ') for how in self.entries[entry])}"

    def near(self, vehicle: str) -> bool:
        """Whether a question about this vehicle can meet any of it."""
        others = all(e.startswith("vehicles/") and e != f"vehicles/{vehicle}" for e in self.entries)
        return self.whole or not others

    @cached_property
    def weights(self) -> frozenset[str] | None:
        """The altered parts, if nothing but what parts cost was altered."""
        if self.whole or any(
            not entry.startswith("parts/") or not WEIGHS_ONLY.issuperset(how)
            for entry, how in self.entries.items()
        ):
            return None
        return frozenset(entry.removeprefix("parts/") for entry in self.entries)

    def passes_by(self, cone: Cone) -> bool:
        """Whether the question of a cone is sure to have the same cone in both catalogues."""
        atoms = cone.problem.variables
        return self.weights is not None and not any(("new", part) in atoms for part in self.weights)

    def met_by(self, cone: Cone) -> Iterator[str]:
        """The altered entries that a cone has met."""
        if self.whole:
            yield SHOP
        there = set(_entries(cone))
        for entry in self.entries:
            section, _, key = entry.partition("/")
            trial = cone.at.catalogue.trials.get(key) if section == "trials" else None
            if entry in there or (trial and there.issuperset(f"parts/{p}" for p in trial.parts)):
                yield self._said(entry)


def altered(old: Catalogue, new: Catalogue) -> Altered:
    """What was added, removed or changed."""
    found: dict[str, tuple[str, ...]] = {}
    for section in SECTIONS:
        before: Mapping[str, Any] = getattr(old, section)
        after: Mapping[str, Any] = getattr(new, section)
        for key in sorted({*before, *after}):
            how = _how(before.get(key), after.get(key))
            if how:
                found[f"{section}/{key}"] = how
    shop = (old.header, old.limits) != (new.header, new.limits)
    return Altered(found, shop)


def _how(before: Any, after: Any) -> tuple[str, ...]:
    if before is None or after is None:
        return ("added",) if before is None else ("removed",)
    if before == after:
        return ()
    if type(before) is not type(after):
        return ("kind",)
    return tuple(n for n in type(after).model_fields if getattr(before, n) != getattr(after, n))


def _entries(cone: Cone) -> Iterator[str]:
    """The entries that a cone holds."""
    at: Situation = cone.at
    for kind, key in cone.problem.variables:
        if kind in ("new", "step"):
            yield f"{'parts' if kind == 'new' else 'work'}/{key}"
        elif kind == "stays":
            yield f"parts/{at.baseline.fitted[key]}"
    yield from (f"rules/{rule}" for rule in cone.rules.known)
    yield f"vehicles/{at.baseline.vehicle_id}"
