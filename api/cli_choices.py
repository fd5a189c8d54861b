"""The commands about choices: `options`, `offers`, and `verify` for answers written down."""

from __future__ import annotations

from pathlib import Path

import click
from pydantic import ValidationError

from api.asking import question
from api.loading import load
from api.options import NO, YES, catalogue_option, give, json_option, question_options
from api.text_choices import front_page, options_page
from kb.errors import QuestionError
from rules import answers as a
from rules.front import front
from rules.options import options
from rules.recheck import recheck


@click.command("options")
@click.argument("picks", metavar="[PICK...]", nargs=-1)
@question_options
@click.option("--place", "places", multiple=True, help="Only this place; may be repeated.")
@click.option("--why-not", "why_not", multiple=True, metavar="PART",
              help="Explain why this part is out.")
@click.option("--every", is_flag=True, help="Also show what cannot be there.")
@catalogue_option
@json_option
def options_command(
    picks: tuple[str, ...], why: bool, on_hand: tuple[str, ...], places: tuple[str, ...],
    why_not: tuple[str, ...], every: bool, folder: Path, as_json: bool, **fields: object,
) -> None:
    """What is still open with these picks: forced, possible or out, exactly."""
    catalogue = load(folder)
    asked = question(a.Question, catalogue, picks, on_hand, **fields)
    answer = options(catalogue, asked, places, why_not)
    give(answer, lambda: list(options_page(answer, every=every or why)), as_json, answer.possible)


@click.command("offers")
@click.argument("picks", metavar="PICK...", nargs=-1, required=True)
@question_options
@click.option("--most", type=click.IntRange(1, 20), default=3, show_default=True,
              help="How many packages at most.")
@catalogue_option
@json_option
def offers_command(
    picks: tuple[str, ...], why: bool, on_hand: tuple[str, ...], most: int, folder: Path,
    as_json: bool, **fields: object,
) -> None:
    """Packages to compare: none is beaten by another on price, time and mass at once."""
    del why
    catalogue = load(folder)
    asked = question(a.Question, catalogue, picks, on_hand, alternatives=False, **fields)
    answer = front(catalogue, asked, most)
    yes = answer.packages[0].outcome != "impossible"
    give(answer, lambda: list(front_page(answer)), as_json, yes)


@click.command("verify")
@click.argument("answer", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@catalogue_option
@json_option
def verify_command(answer: Path, folder: Path, as_json: bool) -> None:
    """Re-check an ANSWER written by 'package --json' with nothing but the catalogue."""
    catalogue = load(folder)
    try:
        written = a.Package.model_validate_json(answer.read_bytes())
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(map(str, first["loc"]))
        message = f"{answer} is not an answer: {where}: {first['msg']}"
        raise QuestionError("answer", message) from None
    found = recheck(catalogue, written)
    if as_json:
        click.echo(found.model_dump_json(indent=2))
    else:
        click.echo("The answer holds." if found.holds else "The answer does not hold:")
        for finding in found.findings:
            click.echo(f" - {finding}")
    raise click.exceptions.Exit(YES if found.holds else NO)
