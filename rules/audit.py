"""The health of a catalogue: what is wrong or idle in it, where it stands and how to mend it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Literal

from kb.baseline import Baseline, baselines
from kb.catalogue import Catalogue
from kb.entries import Part
from kb.errors import nearest_name
from kb.graph import graph_of, node
from kb.statements import Applies
from rules.answers import CatalogRef, Model
from rules.checking import checks
from rules.clashes import smallest_clash
from rules.cone import Cone
from rules.naming import catalog_ref
from rules.reasons import Reasons
from rules.sat import Sat
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


class Audit(Model):
    """All findings, worst first."""

    catalog: CatalogRef
    parts: int
    baselines: int
    findings: tuple[Finding, ...]

    def count(self, severity: Severity) -> int:
        """How many findings there are of one severity."""
        return sum(finding.severity == severity for finding in self.findings)


def audit(catalogue: Catalogue) -> Audit:
    """Everything found wrong or doubtful in a catalogue that could be loaded."""
    auditor = _Auditor(catalogue)
    found = sorted(
        auditor.findings(),
        key=lambda f: (SEVERITIES.index(f.severity), f.code, f.entry, f.text),
    )
    return Audit(
        catalog=catalog_ref(catalogue), parts=len(catalogue.parts),
        baselines=len(auditor.cars), findings=tuple(found),
    )


class _Auditor:
    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue, self.graph = catalogue, graph_of(catalogue)
        self.cars = list(baselines(catalogue))

    def findings(self) -> Iterator[Finding]:
        """Every finding, in no order."""
        yield from self._dead_parts()
        yield from self._idle_statements()
        yield from self._idle_entries()
        yield from self._trials()
        yield from self._prices()

    def _finding(
        self, severity: Severity, code: str, section: str, key: str, text: str, mend: str
    ) -> Finding:
        where = str(self.catalogue.origins.get((section, key), ""))
        return Finding(
            severity=severity, code=code, where=where, entry=f"{section}/{key}", text=text,
            mend=mend,
        )

    # -- parts that can be in no package ----------------------------------------------------------

    def _dead_parts(self) -> Iterator[Finding]:
        stock = {part for car in self.cars for part in car.fitted.values()}
        for key, part in self.catalogue.parts.items():
            if part.orderable and key not in stock:
                yield from self._dead(key, part)

    def _dead(self, key: str, part: Part) -> Iterator[Finding]:
        reason = ""
        claimed = [car for car in self.cars if self._claims(car, part)]
        for car in claimed:
            why = self._why_not(situation_of(self.catalogue, car), key)
            if why is None:
                return
            reason = reason or f"on {car.id}: {why}"
        if not claimed:
            reason = "no car of the catalogue is one it is listed for, or has its places"
        if self._replaced(key):
            return
        yield self._finding(
            "error", "dead-part", "parts", key,
            f"'{key}' can be in no package: {reason}",
            "add what it needs, correct its statements, or take it off sale",
        )

    def _claims(self, car: Baseline, part: Part) -> bool:
        listed = not part.fits or any(car.applies(fits) for fits in part.fits)
        return listed and all(place in car.places for place in part.takes)

    def _replaced(self, key: str) -> bool:
        return any(True for _ in self.graph.into(node("part", key), "supersedes"))

    def _why_not(self, situation: Situation, key: str) -> str | None:
        """The smallest reason why a part goes into no package on that car; None when it does."""
        units = situation.units(key)
        problem = Cone(situation, {key: Fraction(max(units, 1))}, {}).problem
        reasons = Reasons(situation)
        with Sat(problem, reasons) as sat:
            if sat.solve():
                return None
        clash = smallest_clash(problem, reasons)
        return "; ".join(reason.text for reason in clash if reason.type != "pick")

    # -- statements and entries that do nothing ---------------------------------------------------

    def _idle_statements(self) -> Iterator[Finding]:
        for section, key, name, where in self._limited():
            if not any(car.applies(where) for car in self.cars):
                yield self._finding(
                    "warning", "never-applies", section, key,
                    f"{name} of '{key}' holds for no car in the catalogue",
                    "correct its vehicles, variants, years or equipment, or remove it",
                )

    def _limited(self) -> Iterator[tuple[str, str, str, Applies]]:
        """Every statement with a limit on the car: section, entry, what it is, the limit."""
        for key, part in self.catalogue.parts.items():
            for fits in part.fits:
                yield "parts", key, "a stated fit", fits
            for name, statements in (
                ("a need", part.requires), ("a conflict", part.conflicts),
                ("a work need", part.work), ("a recommendation", part.recommends),
            ):
                for statement in statements:
                    yield "parts", key, name, statement.when
        for key, work in self.catalogue.work.items():
            yield "work", key, "the step", work.on
        for key, rule in self.catalogue.rules.items():
            yield "rules", key, "the rule", rule.on
        for key, trial in self.catalogue.trials.items():
            yield "trials", key, "the trial", trial.on

    def _idle_entries(self) -> Iterator[Finding]:
        called = set(self._called_steps())
        for key in self.catalogue.work:
            if key not in called:
                yield self._finding(
                    "warning", "idle-step", "work", key,
                    f"nothing calls for the work step '{key}'",
                    "state it under 'work' of a part, in a stated fit, or as a relief",
                )
        fitted = {part for car in self.cars for part in car.fitted.values()}
        for key, part in self.catalogue.parts.items():
            used = any(
                True for edge_type in ("requires", "contents")
                for _ in self.graph.into(node("part", key), edge_type)
            )
            if not part.orderable and key not in fitted and not used:
                yield self._finding(
                    "warning", "idle-part", "parts", key,
                    f"'{key}' is neither for sale nor fitted to any car",
                    "put it under 'fitted' of a vehicle, or remove it",
                )

    def _called_steps(self) -> Iterator[str]:
        for part in self.catalogue.parts.values():
            for work in part.work:
                yield from work.listed
            for fits in part.fits:
                yield from fits.work
        for rule in self.catalogue.rules.values():
            yield from _steps(selector.step for selector in rule.then_any)
        for trial in self.catalogue.trials.values():
            yield from trial.work
        for key, step in self.catalogue.work.items():
            if step.relieves:
                yield key

    def _trials(self) -> Iterator[Finding]:
        for key, trial in self.catalogue.trials.items():
            if trial.check is not None and trial.check not in checks():
                near = nearest_name(trial.check, checks())
                yield self._finding(
                    "error", "unknown-check", "trials", key,
                    f"the trial '{key}' names a check '{trial.check}' that does not exist",
                    f"did you mean '{near}'?" if near else f"one of {', '.join(checks())}",
                )

    def _prices(self) -> Iterator[Finding]:
        for key, part in self.catalogue.parts.items():
            if part.orderable and part.price is None and not self._replaced(key):
                yield self._finding(
                    "warning", "no-price", "parts", key, f"'{key}' is for sale without a price",
                    "state its price, or 'orderable: false'",
                )


def _steps(names: Iterable[str | None]) -> Iterator[str]:
    return (name for name in names if name is not None)
