"""What differs between two catalogues, and which questions can have another answer for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from kb.catalogue import Catalogue
from kb.graph import key_of
from rules.alike import Cars
from rules.audit_base import Scene
from rules.cone import Cone
from rules.problem import Atom
from rules.reach import Reach
from rules.situation import Situation

SECTIONS = ("vehicles", "parts", "work", "rules", "trials")


@dataclass(frozen=True)
class Altered:
    """The entries that are not the same in both catalogues, as "section/id", and how."""

    entries: Mapping[str, str]
    whole: bool
    """The shop itself changed: its limits, its rate or its currency."""

    def __contains__(self, entry: str) -> bool:
        return entry in self.entries


def altered(old: Catalogue, new: Catalogue) -> Altered:
    """What was added, removed or changed."""
    found: dict[str, str] = {}
    for section in SECTIONS:
        before: Mapping[str, Any] = getattr(old, section)
        after: Mapping[str, Any] = getattr(new, section)
        for key in sorted({*before, *after}):
            how = _how(before.get(key), after.get(key))
            if how:
                found[f"{section}/{key}"] = how
    shop = (old.header, old.limits) != (new.header, new.limits)
    return Altered(found, shop)


def _how(before: Any, after: Any) -> str:
    if before is None or after is None:
        return "added" if before is None else "removed"
    if before == after:
        return ""
    if type(before) is not type(after):
        return "kind"
    names = [n for n in type(after).model_fields if getattr(before, n) != getattr(after, n)]
    return ", ".join(name.replace("_", " ") for name in names)


def touched(scene: Scene, group: Cars, what: Altered) -> frozenset[str]:
    """The parts whose question on these cars may have another answer.

    All of them where the shop, the car or one of its stock parts is not the same.
    """
    whole = scene.whole(group)
    at = whole.at
    everything = frozenset(key for key, _ in whole.problem.new_parts())
    stock = any(f"parts/{part}" in what for part in at.baseline.fitted.values())
    if what.whole or stock or f"vehicles/{at.baseline.vehicle_id}" in what:
        return everything
    atoms = set(_atoms(at, what))
    if ("rule", "") in atoms:
        return everything
    return Reach(whole).affected(atoms)


def _atoms(at: Situation, what: Altered) -> Iterator[Atom]:
    """The altered entries as atoms of a problem; a rule stands for the parts that set it off."""
    for entry in what.entries:
        section, _, key = entry.partition("/")
        if section == "parts":
            yield "new", key
        elif section == "work":
            yield "step", key
        elif section == "trials" and key in at.catalogue.trials:
            yield from (("new", part) for part in at.catalogue.trials[key].parts)
        elif section == "rules" and key in at.catalogue.rules:
            rule = at.catalogue.rules[key]
            if not rule.when:
                yield "rule", ""
            for selector in rule.when:
                yield from (("new", c.part) for c in at.candidates(selector))
                if selector.step:
                    yield "step", selector.step


def reads(cone: Cone) -> tuple[frozenset[str], frozenset[str]]:
    """The entries a cone reads, and every statement in it in words."""
    entries: set[str] = set()
    for kind, key in cone.problem.variables:
        if kind in ("new", "step"):
            entries.add(f"{'parts' if kind == 'new' else 'work'}/{key}")
        elif kind == "stays":
            entries.add(f"parts/{cone.at.baseline.fitted[key]}")
    entries |= {f"rules/{rule}" for rule in cone.rules}
    entries.add(f"vehicles/{cone.at.baseline.vehicle_id}")
    said = {clause.reason.text for clause in cone.problem.clauses}
    said |= {need.reason.text for need in cone.problem.needs}
    said |= {f"{j.verdict.check}: {j.verdict.says}" for j in cone.problem.judged}
    said |= {key_of(need.owner) for need in cone.problem.needs}
    return frozenset(entries), frozenset(said)


