"""One small car with brakes and suspension, for the checks of both.

A part whose id starts with "f-" or "r-" sits on that axle, in a place called as itself.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from kb.baseline import find_baseline
from kb.catalogue import Catalogue, load_texts
from kb.statements import Axle
from rules.checking import Verdict, checks
from rules.situation import Member, situation_of

Data = dict[str, Any]
AXLES: dict[str, Axle] = {"f": "front", "r": "rear"}


def part(kind: str, **dimensions: Any) -> Data:
    """A part of a kind, called by its kind."""
    return {"kind": kind, "name": kind.replace("-", " "), "dimensions": dimensions}


def chassis(
    parts: dict[str, Data], *, facts: Sequence[Data] = (), limits: Data | None = None,
    fitted: Sequence[str] = (),
) -> Catalogue:
    """A catalogue of one car, "tern", with a place for each part; `fitted` are stock."""
    places = {}
    for key, entry in parts.items():
        entry["takes"] = [key]
        axle = AXLES.get(key.partition("-")[0]) if key[1:2] == "-" else None
        places[key] = {"count": 2, "axle": axle} if axle else {}
    return load_texts({"all.yaml": json.dumps({
        "catalog": {"name": "small"}, "limits": limits or {}, "parts": parts,
        "vehicles": {"tern": {
            "name": "Tern", "years": "2015", "variants": {"t": {"name": "T", "engine": "e"}},
            "places": places, "fitted": {key: key for key in fitted},
            "facts": [{"basis": "measured", **fact} for fact in facts],
        }},
    })})


def verdicts(catalogue: Catalogue, check: str, *parts: str) -> dict[str, Verdict]:
    """What a check says of these parts, by aspect."""
    at = situation_of(catalogue, find_baseline(catalogue, "tern"))
    asked = checks()[check]
    axles = {axle for key in parts for axle in at.axles(key)} - {None}
    axle = None if asked.whole_car or not axles else axles.pop()
    members = tuple(Member(key) for key in parts)
    return {found.aspect: found for found in at.verdicts(asked, members, axle)}


def verdict(catalogue: Catalogue, check: str, *parts: str) -> Verdict:
    """The only verdict of a check on these parts."""
    (found,) = verdicts(catalogue, check, *parts).values()
    return found


def noted(found: Verdict) -> dict[str, str]:
    """The values on a sheet by name."""
    return {value.name: value.value for value in found.values}
