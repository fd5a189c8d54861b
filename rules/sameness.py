"""Problems that are the same, solved once: on other cars, and in another catalogue.

A problem is told by what it holds and what it weighs, not by how its variables are numbered. Cars
that see the same statements pose the same problems, and so do two catalogues where nothing that a
question meets was altered.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass, fields

from kb.errors import OutOfTime
from rules.amounts import tallies
from rules.least import least
from rules.problem import Problem
from rules.situation import Situation
from rules.solution import Bounds, Order, Solution

Lines = frozenset[tuple[str, float, str]]
"""What is added: part, amount, unit."""

THIS_CAR = "this car"
"""Stands for the name of the car in what has to be measured: the same text on every car."""


@dataclass(slots=True)
class Told(Solution):
    """A least package by names. Its variables are those of the problem it was first found for."""

    lines: Lines = frozenset()
    measures: frozenset[str] = frozenset()


class Solved:
    """Least packages of problems met before; to be asked in place of `least`."""

    def __init__(self) -> None:
        self._kept: dict[Hashable, Told | None] = {}

    def __call__(
        self, at: Situation, problem: Problem, prefer: Order, deadline: float, bounds: Bounds
    ) -> Told | None:
        """As `least`. Raises OutOfTime also for a package that is not proven least."""
        key = (prefer, form(at, problem))
        if key not in self._kept:
            found = least(at, problem, prefer, deadline, bounds)
            if found is not None and not found.proven:
                raise OutOfTime(f"no package proven least within {deadline:g} s")
            self._kept[key] = _told(at, problem, found) if found else None
        return self._kept[key]


def _told(at: Situation, problem: Problem, found: Solution) -> Told:
    kept = {each.name: getattr(found, each.name) for each in fields(found)}
    lines = frozenset(
        (part, float(tally.wanted), at.parts[part].pack.unit)
        for part, tally in tallies(at, problem, found).items()
        if tally.wanted or part in problem.picks
    )
    names = [problem.atoms[v] for v in found.true if problem.atoms[v][0] == "open"]
    measures = frozenset(told_of(at, key) for _, key in names)
    return Told(**kept, lines=lines, measures=measures)


def told_of(at: Situation, measure: str) -> str:
    """What has to be measured, said without the name of the car."""
    return measure.replace(at.baseline.name, THIS_CAR)


# -- forms ----------------------------------------------------------------------------------------


def form(at: Situation, problem: Problem) -> Hashable:
    """All that decides about the least package: equal only for problems that are the same."""
    names = _names(at, problem)

    def named(literals: Iterable[int]) -> frozenset[tuple[bool, Hashable]]:
        return frozenset([(literal > 0, names[abs(literal)]) for literal in literals])

    def groups(found: Mapping[str, list[int]]) -> frozenset[Hashable]:
        return frozenset([(place, named(literals)) for place, literals in found.items()])

    return (
        frozenset(problem.picks.items()), frozenset(problem.on_hand.items()),
        frozenset(problem.units.items()), _weights(at, problem),
        frozenset([named(clause.literals) for clause in problem.clauses]),
        frozenset([
            (need.key, named(need.guard), need.amount, need.each,
             frozenset([(names[q.literal], q.part, q.units) for q in need.askers]),
             frozenset([
                 (names[c.literal], c.part, names[c.open or 0], c.stock_place,
                  frozenset([(names[stays], count) for stays, count in c.kept]))
                 for c in need.choices
             ]))
            for need in problem.needs
        ]),
        groups(problem.exclusive), groups(problem.displacers), problem.partial,
    )


def _names(at: Situation, problem: Problem) -> list[Hashable]:
    """A name for each variable; groups are named by their members."""
    names: list[Hashable] = [_name(at, *atom) for atom in problem.atoms]
    for group, members in problem.members.items():
        names[group] = ("any", frozenset([names[member] for member in members]))
    return names


def _name(at: Situation, kind: str, key: str) -> Hashable:
    if kind == "stays":
        return kind, key, at.baseline.fitted[key]
    return kind, told_of(at, key) if kind == "open" else key


def _weights(at: Situation, problem: Problem) -> Hashable:
    """What its parts and its work cost, weigh and take."""
    found: list[Hashable] = [at.catalogue.header.labour_rate]
    for kind, key in problem.variables:
        if kind == "new":
            part = at.parts[key]
            found.append((
                key, part.price, part.pack, part.mass, part.fitting_time, at.buyable(key),
                part.contents, part.takes,
            ))
        elif kind == "stays":
            place = at.baseline.places[key]
            found.append((kind, key, place.count, at.parts[at.baseline.fitted[key]].mass))
        elif kind == "step":
            found.append((kind, key, at.catalogue.work[key].minutes))
    return frozenset(found)
