"""Options that several commands have, and how a command answers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NoReturn

import click
from pydantic import BaseModel
from rich.console import ConsoleRenderable

from api.asking import demo_folder
from api.text import show
from rules.solution import LEVELS

YES, NO, WRONG, NO_ANSWER = 0, 1, 2, 3
"""Exit codes: answered yes; answered no; the question or the catalogue is wrong; no answer."""

Command = Callable[..., None]


def catalogue_option(command: Command) -> Command:
    """The catalogue that answers."""
    return click.option(
        "--catalog", "folder", type=click.Path(path_type=Path), default=demo_folder,
        metavar="DIR", envvar="KITWRIGHT_CATALOG",
        help="Folder of the catalogue. Default: KITWRIGHT_CATALOG, or else the demo.",
    )(command)


def json_option(command: Command) -> Command:
    """JSON in place of a page."""
    return click.option("--json", "as_json", is_flag=True, help="Print JSON for programs.")(command)


def car_options(command: Command) -> Command:
    """The car, how long to look for an answer, how much to tell."""
    for option in (
        click.option("--why", is_flag=True, help="Print every chain of reasons and every check."),
        click.option(
            "--deadline", type=click.FloatRange(0, 120, min_open=True), default=10.0,
            metavar="S", show_default=True, help="Seconds to look for the answer.",
        ),
        click.option("--variant", help="Variant of the vehicle."),
        click.option("--year", type=click.IntRange(1900, 2100), help="Model year."),
        click.option("--vehicle", required=True, help="Vehicle id: see 'kitwright vehicles'."),
    ):
        command = option(command)
    return command


def terms_options(command: Command) -> Command:
    """What is made least, what is not wanted, what it may cost: by the fields of the question."""
    for option in (
        click.option("--budget", metavar="SUM", help="The most it may cost, such as 1500.00."),
        click.option("--certain-only", is_flag=True, help="Refuse what has to be measured first."),
        click.option("--reversible-only", is_flag=True, help="Refuse work that cannot be undone."),
        click.option("--refuse-work", multiple=True, metavar="STEP", help="Work not to be done."),
        click.option("--avoid-maker", "avoid_makers", multiple=True, metavar="MAKER",
                     help="A maker that is not wanted."),
        click.option("--avoid", multiple=True, metavar="PART", help="A part that is not wanted."),
        click.option("--keep", multiple=True, metavar="PLACE", help="A place to leave stock."),
        click.option("--prefer", type=click.Choice(list(LEVELS)), default="least_cost",
                     show_default=True, help="What to make least."),
    ):
        command = option(command)
    return command


def question_options(command: Command) -> Command:
    """A question about a package: the car, what is there already, how the package is to be."""
    on_hand = click.option(
        "--on-hand", "on_hand", multiple=True, metavar="PART=QTY",
        help="A part that is already there.",
    )
    return car_options(on_hand(terms_options(command)))


def give(
    found: BaseModel, page: Callable[[], Sequence[ConsoleRenderable]], as_json: bool, yes: bool
) -> NoReturn:
    """Print an answer and leave with the exit code that says which one it was."""
    click.echo(found.model_dump_json(indent=2) if as_json else show(page()))
    raise click.exceptions.Exit(YES if yes else NO)
