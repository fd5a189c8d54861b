"""What every finder of the audit works with: the catalogue, its cars, what a finding says."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Literal

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.graph import graph_of, node
from rules.alike import Cars, alike
from rules.answers import Model
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

    @property
    def cars(self) -> Iterator[Baseline]:
        """Every car of the catalogue."""
        return (car for group in self.groups for car in group)

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
