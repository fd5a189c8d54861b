"""The set-up sheet for people: each starting value, and how it was worked out."""

from __future__ import annotations

from api import text as t
from api.text_choices import ways_out_section
from rules.setup_sheet_models import SetupSheet, Start


def setup_sheet_page(found: SetupSheet, *, why: bool) -> t.Page:
    """The answer as a page; with `why`, every value, formula and source."""
    yield from t.car(found.baseline)
    yield t.say(_outcome(found), "bold")
    yield from t.notes(found.notes)
    yield from t.clashes(found.clashes)
    yield from ways_out_section(found.ways_out, found.catalog.currency)
    yield from t.measures(found.measure_first)
    if found.starts:
        yield from t.heading("Starting values")
        table = t.table("Axle", "Setting", "Start", rigid=[0, 1])
        for start in found.starts:
            table.add_row(start.axle or "", start.setting.replace("_", " "), t.say(start.says))
        yield table
        yield t.say("Turns: positive raises the body.")
        yield from t.heading("Cautions")
        yield t.bullets(t.say(caution) for caution in found.cautions)
    if why:
        for start in found.starts:
            yield from _grounds(start)
    yield from t.origin(found.catalog)


def _outcome(found: SetupSheet) -> str:
    if found.outcome == "impossible":
        return "No: this cannot all go on this car, so there is nothing to set up."
    unknown = sum(start.value is None and bool(start.missing) for start in found.starts)
    if unknown:
        return f"{t.count(unknown, 'starting value')} still open: see what to measure or say first."
    return "Every starting value that can be worked out is here."


def _grounds(start: Start) -> t.Page:
    yield from t.heading(f"{start.axle or 'car'}: {start.setting.replace('_', ' ')}")
    yield t.bullets(t.say(f"{v.name} = {v.value} [{v.basis}]") for v in start.values)
    yield t.say(f"Formula: {start.formula}.", "dim")
    yield t.say(f"Source: {start.source}.", "dim")
