"""The commands of whoever keeps the catalogue: its health, what changed in it, sheets into it."""

from __future__ import annotations

from pathlib import Path

import click
from rich.console import Console
from rich.progress import Progress

from api.loading import load
from api.options import NO, YES, catalogue_option, give, json_option
from api.revisions import catalogue_at
from api.text import say, show
from api.text_audit import audit_page, health
from api.text_compare import compare_report
from api.text_import import import_page
from kb.importing import read_import
from rules.audit import audit
from rules.audit_lines import to_the_line
from rules.compare import compare


@click.command("audit")
@click.option("--summary", is_flag=True, help="Print the counts in one line, for CI.")
@catalogue_option
@json_option
def audit_command(folder: Path, summary: bool, as_json: bool) -> None:
    """What is wrong or doubtful in a catalogue, how to mend it, and what to measure next.

    Leaves with 1 when there are errors.
    """
    found = to_the_line(audit(load(folder)), folder)
    give(
        found, lambda: [say(health(found))] if summary else list(audit_page(found)), as_json,
        not found.count("error"),
    )


@click.command("compare")
@click.argument("old", metavar="OLD")
@click.argument("new", metavar="NEW", required=False)
@click.option("--newest", is_flag=True, help="Only the newest car of each variant: quicker.")
@catalogue_option
@json_option
def compare_command(
    old: str, new: str | None, newest: bool, folder: Path, as_json: bool
) -> None:
    """What changes for people from one catalogue to another, as Markdown.

    OLD and NEW are folders, or git revisions of the folder given with --catalog. Without NEW: that
    folder as it is now. Asked in both: every part by itself on every car, and every remembered
    kit. Leaves with 1 when something is no longer possible.
    """
    before = catalogue_at(old, folder, "OLD")
    after = catalogue_at(new, folder, "NEW") if new is not None else load(folder)
    with _bar() as bar:
        task = bar.add_task("questions", total=None)
        found = compare(
            before, after, lambda done, of: bar.update(task, completed=done, total=of),
            newest=newest,
        )
    click.echo(found.model_dump_json(indent=2) if as_json else compare_report(found), nl=as_json)
    raise click.exceptions.Exit(NO if found.worse else YES)


def _bar() -> Progress:
    """A progress bar on standard error, where a person watches."""
    screen = Console(stderr=True)
    return Progress(console=screen, transient=True, disable=not screen.is_terminal)


@click.command("import")
@click.argument("sheet", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--kind", required=True, help="The kind of all parts in the sheet.")
@click.option(
    "--map", "map_path", required=True, metavar="MAP.yaml", help="Which column is which field.",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
)
@click.option("--skip-refused", is_flag=True, help="Take the other rows when some cannot be.")
@click.option("--dry-run", is_flag=True, help="Say what would change and write nothing.")
@catalogue_option
def import_command(
    sheet: Path, kind: str, map_path: Path, skip_refused: bool, dry_run: bool, folder: Path
) -> None:
    """Parts from a SHEET (CSV or XLSX) into a file of the catalogue.

    Every row that cannot be taken is listed with its reason, and then nothing is written (unless
    --skip-refused). What is in the file already keeps its comments and its other fields. Leaves
    with 1 when a row was refused.
    """
    found = read_import(folder, sheet, kind, map_path)
    held = bool(found.refused) and not skip_refused
    if found.changes and not held and not dry_run:
        found.write()
    click.echo(show(import_page(found, written=not held and not dry_run)))
    raise click.exceptions.Exit(NO if found.refused else YES)
