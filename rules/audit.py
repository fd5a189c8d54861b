"""The health of a catalogue: what is wrong or doubtful in it, where it stands, how to mend it.

One module per concern holds the finders; this one runs them all.
"""

from __future__ import annotations

from pydantic import Field

from kb.catalogue import Catalogue
from kb.collection import no_collection
from rules.answers import CatalogRef, Model
from rules.audit_base import SEVERITIES, Finder, Finding, Scene, Severity
from rules.audit_cautions import missing_cautions
from rules.audit_contradictions import trials_against_checks, trials_against_statements
from rules.audit_figures import dear_kits, missing_prices, prices_and_masses
from rules.audit_idle import idle_parts, idle_statements, idle_steps
from rules.audit_kits import remembered_kits
from rules.audit_measures import ToMeasure, to_measure
from rules.audit_parts import dead_parts, dead_steps, impossible_cars
from rules.audit_reliefs import idle_reliefs
from rules.audit_rules import idle_rules
from rules.audit_stock import conflicts_in_stock, misfits_in_stock
from rules.audit_succession import successions
from rules.naming import catalog_ref

__all__ = ["SEVERITIES", "Audit", "Finding", "Severity", "audit"]

FINDERS: tuple[Finder, ...] = (
    impossible_cars, dead_parts, dead_steps, idle_rules, conflicts_in_stock, misfits_in_stock,
    trials_against_checks, trials_against_statements, idle_statements, idle_steps, idle_parts,
    idle_reliefs, successions, prices_and_masses, missing_prices, dear_kits, missing_cautions,
    remembered_kits,
)


class Audit(Model):
    """All findings, worst first, and what to measure next."""

    catalog: CatalogRef
    parts: int
    baselines: int
    kits: int = Field(description="remembered kits that were asked again")
    counts: dict[Severity, int]
    findings: tuple[Finding, ...]
    to_measure: tuple[ToMeasure, ...] = Field(
        description="measurements whose absence leaves the most questions open, worst first"
    )

    def count(self, severity: Severity) -> int:
        """How many findings there are of one severity."""
        return self.counts[severity]


def audit(catalogue: Catalogue) -> Audit:
    """Everything found wrong or doubtful in a catalogue that could be loaded."""
    scene = Scene(catalogue)
    with no_collection():
        findings = [finding for finder in FINDERS for finding in finder(scene)]
        measures = to_measure(scene)
    found = sorted(
        findings, key=lambda f: (SEVERITIES.index(f.severity), f.code, f.entry, f.text)
    )
    return Audit(
        catalog=catalog_ref(catalogue), parts=len(catalogue.parts),
        baselines=sum(1 for _ in scene.cars), kits=len(catalogue.kits),
        counts={s: sum(f.severity == s for f in found) for s in SEVERITIES},
        findings=tuple(found), to_measure=measures,
    )
