"""How the tests ask one check about a few parts on one small car."""

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


def small_car(
    parts: dict[str, Data], *, facts: Sequence[Data] = (), fitted: dict[str, str] | None = None,
    limits: Data | None = None, work: dict[str, Data] | None = None,
    trials: dict[str, Data] | None = None,
) -> Catalogue:
    """A catalogue of one car, "tern", with the front places that wheel parts take."""
    kinds = ("wheel", "tyre", "wheel-nut", "wheel-stud", "spacer", "caliper", "brake-disc")
    places = {f"front-{kind}": {"count": 2, "axle": "front"} for kind in kinds}
    for part in parts.values():
        part.setdefault("name", part["kind"])
        if part["kind"] in kinds:
            part.setdefault("takes", [f"front-{part['kind']}"])
    sections = {
        "catalog": {"name": "small"}, "limits": limits or {}, "parts": parts, "work": work or {},
        "trials": trials or {},
        "vehicles": {"tern": {
            "name": "Tern", "years": "2015", "variants": {"t": {"name": "T", "engine": "e"}},
            "places": places, "fitted": fitted or {}, "facts": [dict(fact) for fact in facts],
        }},
    }
    return load_texts({"all.yaml": json.dumps(sections)})


def verdicts(catalogue: Catalogue, check: str, *parts: str) -> dict[str, Verdict]:
    """What a check says of these parts on the front axle, by aspect."""
    at = situation_of(catalogue, find_baseline(catalogue, "tern"))
    members = tuple(Member(part) for part in parts)
    axle: Axle | None = "front" if at.axles(parts[0]) != (None,) else None
    return {found.aspect: found for found in at.verdicts(checks()[check], members, axle)}


def verdict(catalogue: Catalogue, check: str, *parts: str) -> Verdict:
    """The only verdict of a check on these parts."""
    (found,) = verdicts(catalogue, check, *parts).values()
    return found
