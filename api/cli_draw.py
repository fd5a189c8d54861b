"""The drawings of a package, written into a folder."""

from __future__ import annotations

from pathlib import Path

import click

from api import text as t
from api.asking import question
from api.drawings.all import drawings_of
from api.drawings.drawing import Drawing
from api.loading import load
from api.options import NO, YES, catalogue_option, question_options
from rules import answers as a
from rules.resolve import package


@click.command("draw")
@click.argument("picks", metavar="PICK...", nargs=-1, required=True)
@question_options
@click.option(
    "--out", required=True, type=click.Path(file_okay=False, path_type=Path), metavar="DIR",
    help="Folder for the drawings, one SVG file each; made when it is not there.",
)
@catalogue_option
def draw_command(
    picks: tuple[str, ...], why: bool, on_hand: tuple[str, ...], out: Path, folder: Path,
    **fields: object,
) -> None:
    """Drawings of the package for these picks, with the dimensions and margins of its checks.

    What cannot be is drawn too, as asked for. A PICK is a part id, or an id with an amount.
    """
    catalogue = load(folder)
    asked = question(a.Question, catalogue, picks, on_hand, alternatives=False, **fields)
    answer = package(catalogue, asked)
    drawings = drawings_of(catalogue, asked, answer)
    _write(out, drawings)
    click.echo(t.show(list(_page(drawings, out, why=why))))
    raise click.exceptions.Exit(NO if answer.outcome == "impossible" else YES)


def _write(out: Path, drawings: tuple[Drawing, ...]) -> None:
    out.mkdir(parents=True, exist_ok=True)
    for drawing in drawings:
        (out / f"{drawing.name}.svg").write_text(drawing.svg, encoding="utf-8")


def _page(drawings: tuple[Drawing, ...], out: Path, *, why: bool) -> t.Page:
    """What was drawn; with `why`, all that each drawing says."""
    if not drawings:
        yield t.say("Nothing to draw: no measurements are known of what is on this list.")
        return
    table = t.table("File", "What it shows", rigid=[0])
    for drawing in drawings:
        says = drawing.alt if why else f"{drawing.title}. {drawing.caption}"
        table.add_row(f"{drawing.name}.svg", t.say(says))
    yield table
    yield t.say(f"{t.count(len(drawings), 'drawing')} in {out}.")
