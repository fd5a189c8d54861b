"""A package in the solvers' terms, what makes one less than another, and what bounds it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from rules.answers import Preference
from rules.problem import Choice, NeedInstance, Problem

Order = Preference | Literal["offer"]

LEVELS: Mapping[Preference, tuple[str, ...]] = {
    "least_cost": ("unpriced", "money", "open", "minutes", "lines", "mass", "amount", "rank"),
    "least_work": ("minutes", "unpriced", "money", "open", "lines", "mass", "amount", "rank"),
    "least_mass": ("mass", "unpriced", "money", "open", "minutes", "lines", "amount", "rank"),
    "fewest_parts": ("lines", "unpriced", "money", "open", "minutes", "mass", "amount", "rank"),
}
"""What is made least, first to last. A part without a price is no bargain, so the number of those
comes before money; of equal packages the one with less to measure wins."""

OFFER = ("unpriced", "money", "minutes", "mass", "open", "lines", "amount", "rank")
"""An offer is weighed against others by money, minutes and mass: nothing comes between those."""

RIVALS = ("money", "minutes", "mass")
"""The costs that packages are weighed by against each other."""


def levels_of(order: Order) -> tuple[str, ...]:
    """What is made least in that order, first to last."""
    return OFFER if order == "offer" else LEVELS[order]


def levels_to_money(order: Order) -> tuple[str, ...]:
    """The levels that decide what the least package costs in money: none after it does."""
    levels = levels_of(order)
    return levels[:levels.index("money") + 1]


@dataclass(slots=True)
class Solution:
    """One package in the solver's terms."""

    new: set[str] = field(default_factory=set)
    steps: set[str] = field(default_factory=set)
    stays: set[str] = field(default_factory=set)
    assigned: list[tuple[NeedInstance, Choice]] = field(default_factory=list)
    kits: dict[str, int] = field(default_factory=dict)
    """How many packs of each kit are bought."""
    true: set[int] = field(default_factory=set)
    costs: dict[str, int] = field(default_factory=dict)
    proven: bool = False
    problem: Problem = field(default_factory=Problem)
    """What the picks left open of the problem that was solved."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a package has to keep to besides its statements.

    `at_most` bounds the cost of a level. `beat` lists packages' costs: of each, the new package
    has to be better in money, minutes or mass.
    """

    at_most: Mapping[str, int] = field(default_factory=dict)
    beat: tuple[Mapping[str, int], ...] = ()


NO_BOUNDS = Bounds()
