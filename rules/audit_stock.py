"""What is said against the factory's own cars: their stock parts must go together."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

from kb.baseline import Baseline
from kb.statements import Conflict
from rules.alike import said
from rules.audit_base import Finding, Scene
from rules.checking import checks
from rules.combining import combine, in_role, stock_by_kind
from rules.situation import Situation


def conflicts_in_stock(scene: Scene) -> Iterator[Finding]:
    """Conflicts that forbid two stock parts of one car."""
    found: dict[tuple[str, str], list[Baseline]] = {}
    for group in scene.groups:
        for pair in dict.fromkeys(_forbidden(scene.situation(group))):
            found.setdefault(pair, []).extend(group)
    for (owner, other), cars in found.items():
        yield scene.finding(
            "error", "stock-conflict", "parts", owner,
            f"'{owner}' is stated not to go with '{other}', and yet the factory fitted both "
            f"on {said(cars)}",
            "limit the conflict with 'when', or correct the stock parts of the vehicle",
        )


def _forbidden(at: Situation) -> Iterator[tuple[str, str]]:
    for owner in at.stock_places:
        for conflict in at.parts[owner].conflicts:
            if _holds_on_stock(at, owner, conflict):
                for place in at.stock_of(conflict, owner):
                    other = at.baseline.fitted[place]
                    if other != owner:
                        yield owner, other


def _holds_on_stock(at: Situation, owner: str, conflict: Conflict) -> bool:
    when = conflict.when
    return (
        conflict.step is None and at.holds(when)
        and all(at.stock_of(selector, owner) for selector in when.present)
        and not any(at.stock_of(selector, owner) for selector in when.absent)
    )


def misfits_in_stock(scene: Scene) -> Iterator[Finding]:
    """Checks by which stock parts of one car do not fit each other or the car.

    Notes only: the shop's limits ask for more reserve than a factory leaves.
    """
    found: dict[tuple[str, tuple[str, ...], str], list[Baseline]] = {}
    for group in scene.groups:
        for key in dict.fromkeys(_misfits(scene.situation(group))):
            found.setdefault(key, []).extend(group)
    for (check, parts, says), cars in found.items():
        names = " with ".join(f"'{part}'" for part in parts)
        yield scene.finding(
            "note", "stock-misfit", "parts", parts[0],
            f"by the check '{check}', {names} does not fit {said(cars)}, and yet the factory "
            f"fitted it: {says}",
            "measure again and correct the dimensions or the facts of the car",
        )


def _misfits(at: Situation) -> Iterator[tuple[str, tuple[str, ...], str]]:
    stock = stock_by_kind(at)
    for check in checks().values():
        pools = [in_role(stock, role) for role in check.roles]
        modifiers = stock.get(check.modifier or "", [])
        for members in product(*pools):
            for found in combine(at, check, [[m] for m in members], modifiers or [None], stock):
                if found.verdict.verdict == "does_not_fit":
                    parts = tuple(member.part for member in found.members)
                    yield check.name, parts, found.verdict.says
