"""What every finder of the audit works with: the catalogue, its cars, what a finding says."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from functools import cached_property
from typing import Literal

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.graph import graph_of, node
from kb.statements import Applies
from rules.alike import Cars, alike, limit_of
from rules.answers import Model
from rules.audit_survey import Survey
from rules.audit_whole import Whole
from rules.situation import Situation, situation_of

Severity = Literal["error", "warning", "note"]
SEVERITIES: tuple[Severity, ...] = ("error", "warning", "note")


class Finding(Model):
    """One thing that is wrong or doubtful."""

    severity: Severity
    code: str
    where: str
    entry: str
    text: str
    mend: str


class Scene:
    """One catalogue under audit."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self.parts = catalogue.parts
        self.graph = graph_of(catalogue)
        self.groups: tuple[Cars, ...] = alike(catalogue)
        self._wholes: dict[str, Whole] = {}
        self._meant: dict[Hashable, tuple[Cars, ...]] = {}
        self._of_vehicle: dict[str, list[Cars]] = {}
        for group in self.groups:
            self._of_vehicle.setdefault(group[0].vehicle_id, []).append(group)

    @property
    def cars(self) -> Iterator[Baseline]:
        """Every car of the catalogue."""
        return (car for group in self.groups for car in group)

    @cached_property
    def survey(self) -> Survey:
        """What is possible on each group of cars."""
        return Survey(self.catalogue, self.groups)

    def meant(self, where: Applies) -> tuple[Cars, ...]:
        """The groups of cars that a limit holds for."""
        key = limit_of(where)
        if key not in self._meant:
            pools = [self._of_vehicle.get(name, ()) for name in dict.fromkeys(where.vehicles)]
            pool = [group for pool in pools for group in pool] if where.vehicles else self.groups
            self._meant[key] = tuple(group for group in pool if group[0].applies(where))
        return self._meant[key]

    def situation(self, group: Cars) -> Situation:
        """The catalogue as it applies to the cars of a group."""
        return situation_of(self.catalogue, group[0])

    def whole(self, group: Cars) -> Whole:
        """All that can be ordered for the cars of a group, as one problem."""
        key = group[0].id
        if key not in self._wholes:
            self._wholes[key] = Whole(self.situation(group))
        return self._wholes[key]

    def replaced(self, part: str) -> bool:
        """Whether another part stands in for this one."""
        return any(True for _ in self.graph.into(node("part", part), "supersedes"))

    def finding(
        self, severity: Severity, code: str, section: str, key: str, text: str, mend: str
    ) -> Finding:
        """A finding about one entry, with where it stands."""
        where = str(self.catalogue.origins.get((section, key), ""))
        return Finding(
            severity=severity, code=code, where=where, entry=f"{section}/{key}", text=text,
            mend=mend,
        )


Finder = Callable[[Scene], Iterator[Finding]]
"""Finds one sort of fault in a catalogue."""
