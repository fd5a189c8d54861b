"""The commands of whoever keeps the catalogue: its health, what changed in it, sheets into it."""

from __future__ import annotations

from pathlib import Path

import click

from api.options import catalogue_option, give, json_option
from api.text import say
from api.text_audit import audit_page, health
from kb.catalogue import load
from rules.audit import audit


@click.command("audit")
@click.option("--summary", is_flag=True, help="Print the counts in one line, for CI.")
@catalogue_option
@json_option
def audit_command(folder: Path, summary: bool, as_json: bool) -> None:
    """What is wrong or doubtful in a catalogue, how to mend it, and what to measure next.

    Leaves with 1 when there are errors.
    """
    found = audit(load(folder))
    give(
        found, lambda: [say(health(found))] if summary else list(audit_page(found)), as_json,
        not found.count("error"),
    )
