"""A catalogue in which only the statements of one clash still stand, judged by the oracle.

Every other statement is struck out of the catalogue's own text, so that whether the rest clash is
told by the meaning of the language and not by anybody's clauses. Only what no text can say, that
one place takes one part and that a kit brings its contents, is left to the oracle.
"""

from __future__ import annotations

import copy
from collections.abc import Collection
from dataclasses import replace
from typing import Any

from kb.baseline import find_baseline
from tests.support.oracle import Oracle, World
from tests.support.small_catalogues import Scenario
from tests.support.wishful import Wishful

Entry = dict[str, Any]


class Unfit(Exception):
    """The case cannot be told by striking statements out."""


def can_hold(made: Wishful, kept: Collection[str], *, all_sold: bool, most: int = 256) -> bool:
    """Whether these statements alone leave a package, amounts left aside.

    `all_sold`: strike out, too, that parts are not sold or not for this car. (A need never means
    such a part to begin with, so that this need not be a statement of every clash it is behind.)
    Raises Unfit, TooLarge.
    """
    scenario = _only(made, kept, all_sold=all_sold)
    catalogue = scenario.catalogue()
    oracle = _Lenient(
        catalogue, find_baseline(catalogue, "tern", 2015, "p"), scenario.picks, scenario.on_hand
    )
    oracle.kept = kept
    wishes = [key for key in kept if key.startswith("wish:")]
    return any(made.grants_all(wishes, world) for world in oracle.findings(most).worlds)


class _Lenient(Oracle):
    """The oracle, less the statements that were not kept."""

    kept: Collection[str] = ()

    def _one_per_place(self, world: World) -> bool:
        taken = [place for key in world.new for place in self.part(key).takes]
        return all(taken.count(place) < 2 or f"place:{place}" not in self.kept for place in taken)

    def _sources_there(self, world: World) -> bool:
        for key in world.new:
            for inner in self.part(key).contents:
                if f"contents:{key}/{inner}" in self.kept and self.goes_on(inner) \
                        and inner not in world.new:
                    return False
            kits = [k for k in world.new if key in self.part(k).contents]
            if not (self.for_sale(key) or key in self.on_hand or kits):
                return False
        return True


def _only(made: Wishful, kept: Collection[str], *, all_sold: bool) -> Scenario:
    sections = copy.deepcopy(made.scenario.sections)
    parts = sections["parts"]
    for key, part in parts.items():
        if "supersedes" in part or (f"fit:{key}" in kept and "contents" in part):
            raise Unfit
        _strike_part(key, part, kept)
        if all_sold:
            _sell(key, part, kept)
    for key, step in sections["work"].items():
        _strike(f"step:{key}", step, kept)
    sections["rules"] = {k: r for k, r in sections["rules"].items() if f"rule:{k}" in kept}
    picks = tuple((part, qty) for part, qty in made.scenario.picks if f"pick:{part}" in kept)
    stock = sections["vehicles"]["tern"]["fitted"].values()
    if any(part in stock and not made.oracle.for_sale(part) for part, _ in made.scenario.picks):
        raise Unfit  # to strike out that it is not sold would turn the pick into another one
    return replace(made.scenario, sections=sections, picks=picks)


def _strike_part(key: str, part: Entry, kept: Collection[str]) -> None:
    _strike(f"part:{key}", part, kept)
    part["work"] = [
        work for i, work in enumerate(part.get("work", ())) if f"work:{key}/work/{i}" in kept
    ]
    for fits in part.get("fits", ()):
        if "work" in fits and f"fits:{key}/{fits['work'][0]}" not in kept:
            del fits["work"], fits["verdict"]


def _sell(key: str, part: Entry, kept: Collection[str]) -> None:
    if f"sale:{key}" not in kept:
        part.pop("orderable", None)
    for fits in part.get("fits", ()):
        if f"fit:{key}" not in kept and "variants" in fits:
            fits["variants"] = ["p"]


def _strike(owner: str, entry: Entry, kept: Collection[str]) -> None:
    entry["requires"] = [
        need for i, need in enumerate(entry.get("requires", ()))
        if f"need:{owner}/requires/{i}" in kept
    ]
    conflicts = []
    for i, conflict in enumerate(entry.get("conflicts", ())):
        ends = f"/conflicts/{i}"
        targets = [
            key.removeprefix(f"conflict:{owner}/").removesuffix(ends)
            for key in kept if key.startswith(f"conflict:{owner}/") and key.endswith(ends)
        ]
        if targets:
            conflicts.append(_narrowed(conflict, targets))
    entry["conflicts"] = conflicts


def _narrowed(conflict: Entry, targets: list[str]) -> Entry:
    """The conflict against those of its targets alone that were kept."""
    if "step" in conflict:
        return conflict
    rest = {k: v for k, v in conflict.items() if k not in ("kind", "part", "parts")}
    return {**rest, "parts": [target.removeprefix("part:") for target in targets]}
