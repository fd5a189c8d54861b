"""The command line `kitwright`: questions in, tables for people or JSON for programs out.

Exit codes: 0 answered yes, 1 answered no, 2 the question or the catalogue is wrong, 3 no answer
(out of time, or the answer failed its own re-check and is withheld).
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from traceback import extract_tb
from typing import Any, NoReturn

import click

from api.asking import items, question, said
from api.cli_build import gaps_command, plan_command, setup_command
from api.cli_choices import offers_command, options_command, verify_command
from api.cli_draw import draw_command
from api.cli_keeper import audit_command, compare_command, import_command
from api.cli_matrix import matrix_command
from api.cli_setup import corner_weights_command
from api.loading import load
from api.options import (
    NO,
    NO_ANSWER,
    WRONG,
    YES,
    car_options,
    catalogue_option,
    give,
    json_option,
    question_options,
)
from api.settings import Settings, settings_options
from api.text import show
from api.text_fit import fit_page, survey_page
from api.text_lists import parts_page, vehicles_page
from api.text_needed import needed_page
from api.text_package import package_page
from kb.baseline import find_baseline
from kb.catalogue import Catalogue
from kb.dimensions import kinds
from kb.errors import CatalogueError, FaultyAnswer, OutOfTime, QuestionError, nearest_name
from rules import answers as a
from rules.fit import fit, fit_everywhere
from rules.needed import needed
from rules.resolve import package

NAME = "kitwright"
GOOD = ("fits", "fits_with_work")


class CommandLine(click.Group):
    """A group of commands that says every error in one line on standard error."""

    def main(  # type: ignore[override]  # click overloads it by the value of one flag
        self, args: Sequence[str] | None = None, prog_name: str | None = None, **extra: Any
    ) -> NoReturn:
        """Run, and leave with the exit code that says how it went."""
        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):  # names may hold what a terminal cannot show
                stream.reconfigure(errors="replace")
        try:
            code = super().main(args, prog_name or NAME, **extra, standalone_mode=False)
        except click.exceptions.NoArgsIsHelpError as error:
            click.echo(error.format_message())
            _leave(WRONG)
        except click.ClickException as error:
            _leave(WRONG, error.format_message())
        except click.Abort:
            _leave(NO_ANSWER, "stopped")
        except QuestionError as error:
            _leave(WRONG, said(error))
        except CatalogueError as error:
            _leave(WRONG, *map(str, error.problems))
        except OutOfTime as error:
            _leave(NO_ANSWER, f"no answer in the time given: {error}")
        except FaultyAnswer as error:
            _leave(NO_ANSWER, *(f"answer withheld, re-check failed: {f}" for f in error.findings))
        except OSError as error:
            _leave(WRONG, str(error))
        except Exception as error:  # ours to mend; said where, so that it can be
            at = extract_tb(error.__traceback__)[-1]
            _leave(NO_ANSWER, f"fault in {at.filename}:{at.lineno}: {type(error).__name__} {error}")
        sys.exit(code or YES)


def _leave(code: int, *lines: str) -> NoReturn:
    for line in lines:
        click.echo(f"{NAME}: {' '.join(line.split())}", err=True)
    sys.exit(code)


@click.group(cls=CommandLine, context_settings={"help_option_names": ["-h", "--help"]})
def main() -> None:
    """Which parts go together on this car, and what else is needed.

    Exit codes: 0 answered yes; 1 answered no; 2 the question or the catalogue is wrong; 3 no
    answer.
    """


# -- questions about a car --------------------------------------------------------------------


@main.command("package")
@click.argument("picks", metavar="PICK...", nargs=-1, required=True)
@question_options
@click.option(
    "--no-alternatives", is_flag=True, help="Do not price what could be had instead (quicker)."
)
@catalogue_option
@json_option
def package_command(
    picks: tuple[str, ...], why: bool, on_hand: tuple[str, ...], no_alternatives: bool,
    folder: Path, as_json: bool, **fields: object,
) -> None:
    """Everything that goes on the order for these picks.

    A PICK is a part id, or an id with an amount: nut-12=8, fluid=0.5L.
    """
    catalogue = load(folder)
    answer = package(catalogue, question(
        a.Question, catalogue, picks, on_hand, alternatives=not no_alternatives, **fields,
    ))
    give(
        answer, lambda: list(package_page(answer, why=why)), as_json, answer.outcome != "impossible"
    )


@main.command("needed")
@click.argument("part")
@car_options
@click.option("--cart", multiple=True, metavar="PART", help="A part that is already in the cart.")
@catalogue_option
@json_option
def needed_command(
    part: str, vehicle: str, year: int | None, variant: str | None, deadline: float, why: bool,
    cart: tuple[str, ...], folder: Path, as_json: bool,
) -> None:
    """What is needed with PART on a car, whatever else is chosen."""
    catalogue = load(folder)
    asked = a.Question(
        vehicle=vehicle, year=year, variant=variant, deadline=deadline,
        picks=items(catalogue, cart, "picks"),
    )
    answer = needed(catalogue, part, asked)
    yes = answer.possible and not answer.conflicts_with_cart
    give(answer, lambda: list(needed_page(answer, why=why)), as_json, yes)


@main.command("fit")
@click.argument("parts", metavar="PART...", nargs=-1, required=True)
@click.option("--vehicle", help="Vehicle id. Without one: every car of the catalogue.")
@click.option("--year", type=click.IntRange(1900, 2100), help="Model year.")
@click.option("--variant", help="Variant of the vehicle.")
@catalogue_option
@json_option
def fit_command(
    parts: tuple[str, ...], vehicle: str | None, year: int | None, variant: str | None,
    folder: Path, as_json: bool,
) -> None:
    """The check sheet of PARTs: what was compared, with values, formula, margin and source."""
    catalogue = load(folder)
    if vehicle is None:
        survey = fit_everywhere(catalogue, parts)
        yes = any(group.sheet.verdict in GOOD for group in survey.groups)
        give(survey, lambda: list(survey_page(survey)), as_json, yes)
    sheet = fit(catalogue, parts, find_baseline(catalogue, vehicle, year, variant))
    give(sheet, lambda: list(fit_page(sheet)), as_json, sheet.verdict in GOOD)


# -- the catalogue itself ---------------------------------------------------------------------


@main.command("vehicles")
@catalogue_option
def vehicles_command(folder: Path) -> None:
    """The vehicles of the catalogue and their variants."""
    click.echo(show(vehicles_page(load(folder))))


@main.command("parts")
@click.argument("text", required=False, default="")
@click.option("--kind", help="Only parts of this kind.")
@catalogue_option
def parts_command(text: str, kind: str | None, folder: Path) -> None:
    """Parts whose id, name, maker or kind holds all words of TEXT."""
    if kind is not None and kind not in kinds():
        raise QuestionError("kind", f"there is no kind '{kind}'", nearest_name(kind, kinds()))
    found = _search(load(folder), text.lower().split(), kind)
    click.echo(show(parts_page(found)) if found else "No such part.")
    raise click.exceptions.Exit(YES if found else NO)


def _search(catalogue: Catalogue, words: Sequence[str], kind: str | None) -> dict[str, Any]:
    return {
        key: part for key, part in catalogue.parts.items()
        if kind in (None, part.kind)
        and all(w in f"{key} {part.name} {part.maker or ''} {part.kind}".lower() for w in words)
    }


@main.command("schema")
def schema_command() -> None:
    """The JSON Schema of a catalogue file, for editors."""
    from kb.schema import catalogue_schema

    click.echo(json.dumps(catalogue_schema(), indent=2, ensure_ascii=False))


@main.command("serve")
@catalogue_option
@settings_options
def serve_command(folder: Path, settings: Settings) -> None:
    """Answer the same questions over HTTP as JSON.

    SIGHUP reads the catalogue again, and serves it if it is sound. Each option can be set by a
    variable of the environment too: --most-picks by KITWRIGHT_MOST_PICKS.
    """
    from api.serve import serve

    serve(folder, settings)


for command in (
    options_command, offers_command, verify_command, gaps_command, plan_command, setup_command,
    draw_command,
    corner_weights_command, audit_command, compare_command, import_command, matrix_command,
):
    main.add_command(command)

if __name__ == "__main__":
    main()
