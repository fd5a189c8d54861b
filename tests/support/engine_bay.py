"""One small car with an engine bay, for the checks of what an engine swap touches."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from kb.baseline import find_baseline
from kb.catalogue import Catalogue, load_texts
from rules.checking import Verdict, checks
from rules.situation import Member, situation_of

Data = dict[str, Any]
PLACES: dict[str, Data] = {
    "engine": {}, "gearbox": {}, "clutch": {}, "fuel-pump": {}, "radiator": {},
    "control-unit": {}, "harness": {}, "drive-shaft": {"axle": "front"},
    "tyre": {"axle": "front"}, "wheel": {"axle": "front"}, "pressure-sensor": {"axle": "front"},
}


def part(kind: str, **dimensions: Any) -> Data:
    """A part of a kind, called by its kind."""
    return {"kind": kind, "name": kind.replace("-", " "), "dimensions": dimensions}


def engine_bay(
    parts: dict[str, Data], *, fitted: dict[str, str] | None = None, facts: Sequence[Data] = (),
    limits: Data | None = None, years: str = "2015",
) -> Catalogue:
    """A catalogue of one car, "tern"; parts take the place called as their kind."""
    for entry in parts.values():
        if entry["kind"] in PLACES:
            entry["takes"] = [entry["kind"]]
    return load_texts({"all.yaml": json.dumps({
        "catalog": {"name": "small"}, "limits": limits or {}, "parts": parts,
        "vehicles": {"tern": {
            "name": "Tern", "years": years, "variants": {"t": {"name": "T", "engine": "e"}},
            "places": PLACES, "fitted": fitted or {}, "facts": list(facts),
        }},
    })})


def says(
    catalogue: Catalogue, check: str, *parts: str, stock: Sequence[str] = ()
) -> Verdict | None:
    """The only verdict of a check on these parts, of which `stock` are in their places; or None."""
    at = situation_of(catalogue, find_baseline(catalogue, "tern", year=_year(catalogue)))
    members = tuple(
        Member(key, at.parts[key].kind if key in stock else "") for key in parts
    )
    axles = {axle for key in parts for axle in at.axles(key)} - {None}
    found = at.verdicts(checks()[check], members, axles.pop() if axles else None)
    assert len(found) <= 1
    return found[0] if found else None


def verdict(catalogue: Catalogue, check: str, *parts: str, stock: Sequence[str] = ()) -> Verdict:
    """The verdict of a check that has something to say."""
    found = says(catalogue, check, *parts, stock=stock)
    assert found is not None
    return found


def _year(catalogue: Catalogue) -> int:
    return catalogue.vehicles["tern"].years.first
