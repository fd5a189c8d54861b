"""The builder's commands: what is missing, and in which order it is done."""

from __future__ import annotations

from pathlib import Path

import click

from api.asking import asked, items, question
from api.lists import read_have
from api.loading import load
from api.options import (
    car_options,
    catalogue_option,
    give,
    json_option,
    question_options,
    terms_options,
)
from api.text_gaps import gaps_page
from api.text_plan import plan_page
from api.text_setup_sheet import setup_sheet_page
from rules import answers as a
from rules.gaps import gaps
from rules.gaps_models import GapsQuestion
from rules.plan import plan
from rules.setup_sheet import setup_sheet
from rules.setup_sheet_models import SetupQuestion


@click.command("plan")
@click.argument("picks", metavar="PICK...", nargs=-1, required=True)
@question_options
@catalogue_option
@json_option
def plan_command(
    picks: tuple[str, ...], why: bool, on_hand: tuple[str, ...], folder: Path, as_json: bool,
    **fields: object,
) -> None:
    """The order of work for these picks, for one person and for two.

    A PICK is a part id, or an id with an amount: nut-12=8, fluid=0.5L.
    """
    catalogue = load(folder)
    found = plan(catalogue, question(
        a.Question, catalogue, picks, on_hand, alternatives=False, **fields,
    ))
    give(found, lambda: list(plan_page(found, why=why)), as_json, found.outcome != "impossible")


@click.command("gaps")
@click.argument("listed", metavar="LIST", type=click.Path(path_type=Path))
@click.argument("picks", metavar="[PICK]...", nargs=-1)
@car_options
@terms_options
@catalogue_option
@json_option
def gaps_command(
    listed: Path, picks: tuple[str, ...], vehicle: str, year: int | None, variant: str | None,
    deadline: float, why: bool, folder: Path, as_json: bool, **terms: object,
) -> None:
    """What is missing, short, left over, wrong or in conflict, from a LIST of what is there.

    LIST is a CSV or XLSX file whose first row names the columns: part (an id) or description, qty,
    perhaps unit; or a YAML file with lines such as "nut-12: 8" or "Brake fluid DOT 4: 0.5 L".
    A PICK is what is to be built; without one, the parts of the list that take places on the car.
    """
    catalogue = load(folder)
    found = gaps(catalogue, asked(GapsQuestion, {
        "vehicle": vehicle, "year": year, "variant": variant, "deadline": deadline,
        "picks": items(catalogue, picks, "picks"),
        "have": read_have(listed, catalogue.parts),
        **terms,
    }))
    yes = found.outcome in ("ready", "ready_once_measured")
    give(found, lambda: list(gaps_page(found)), as_json, yes)


@click.command("setup")
@click.argument("picks", metavar="[PICK]...", nargs=-1)
@question_options
@click.option("--ride-height", nargs=2, type=click.FloatRange(100, 1000), metavar="FRONT REAR",
              help="Wanted, wheel centre to arch edge, mm.")
@click.option("--damping", nargs=2, type=click.FloatRange(0, 1.5, min_open=True),
              metavar="FRONT REAR", help="Wanted damping ratios at the wheel, such as 0.4 0.4.")
@catalogue_option
@json_option
def setup_command(
    picks: tuple[str, ...], why: bool, ride_height: tuple[float, float] | None,
    damping: tuple[float, float] | None, on_hand: tuple[str, ...], folder: Path, as_json: bool,
    **fields: object,
) -> None:
    """Starting values: spring perches, damper clicks, helper travel, tyre pressure, cross weight.

    Without a PICK: for the car as it left the factory.
    """
    catalogue = load(folder)
    heights, ratios = ride_height or (None, None), damping or (None, None)
    found = setup_sheet(catalogue, question(
        SetupQuestion, catalogue, picks, on_hand,
        front={"ride_height": heights[0], "damping_ratio": ratios[0]},
        rear={"ride_height": heights[1], "damping_ratio": ratios[1]}, **fields,
    ))
    yes = found.outcome != "impossible"
    give(found, lambda: list(setup_sheet_page(found, why=why)), as_json, yes)
