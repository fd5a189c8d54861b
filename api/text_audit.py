"""The health of a catalogue as a page for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from api import text as t
from rules.audit import SEVERITIES, Audit, Finding, Severity
from rules.audit_measures import ToMeasure

TITLES: Mapping[Severity, tuple[str, str]] = {
    "error": ("Errors", "error"), "warning": ("Warnings", "warning"), "note": ("Notes", "note"),
}


def audit_page(found: Audit) -> t.Page:
    """What is wrong, where, and how to mend it; what to measure next."""
    yield t.say(health(found), "bold")
    many = (
        t.count(found.parts, "part"), t.count(found.baselines, "baseline"),
        t.count(found.kits, "remembered kit"),
    )
    yield t.say(f"{many[0]}, {many[1]} and {many[2]} looked at.")
    for severity in SEVERITIES:
        yield from _findings(severity, [f for f in found.findings if f.severity == severity])
    yield from _measures(found.to_measure)
    yield from t.origin(found.catalog)


def health(found: Audit) -> str:
    """The counts in one sentence."""
    counts = [
        t.count(many, TITLES[severity][1]) for severity in SEVERITIES
        if (many := found.count(severity))
    ]
    return f"The catalogue has {', '.join(counts)}." if counts else "The catalogue is clean."


def _findings(severity: Severity, findings: Sequence[Finding]) -> t.Page:
    if findings:
        yield from t.heading(TITLES[severity][0])
        yield t.numbered([
            t.stack([
                t.say(f"{f.where}: {f.code}: {t.sentence(f.text)}"),
                t.say(f"To mend: {t.sentence(f.mend)}", "dim"),
            ])
            for f in findings
        ])


def _measures(found: Sequence[ToMeasure]) -> t.Page:
    if found:
        yield from t.heading("Measure next")
        yield t.numbered([
            t.say(
                t.sentence(f"{m.what}{f' ({m.vehicle})' if m.vehicle else ''}: "
                           f"{t.count(m.questions, 'open question')}, with {', '.join(m.parts)}")
            ) for m in found
        ])
