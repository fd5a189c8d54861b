"""The command `kitwright corner-weights`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
from pydantic import ValidationError

from api.asking import demo_folder
from api.loading import load
from api.text import show
from api.text_setup import corner_weights_page
from kb.errors import QuestionError
from rules.setup import CornerQuestion, corner_weights
from rules.setup_models import CORNERS

FOUR, AXLES = "LF RF LR RR", "FRONT REAR"


Command = Callable[..., None]


def _of_each(
    option: str, help_text: str, values: int, *, required: bool = False
) -> Callable[[Command], Command]:
    """An option with a value for each corner or each axle."""
    return click.option(
        option, nargs=values, type=float, required=required, help=help_text,
        metavar=FOUR if values == 4 else AXLES,
    )


@click.command("corner-weights")
@_of_each("--scales", "Scale readings, kg.", 4, required=True)
@click.option("--vehicle", required=True, help="Vehicle id: see 'kitwright vehicles'.")
@click.option("--year", type=click.IntRange(1900, 2100), help="Model year.")
@click.option("--variant", help="Variant of the vehicle.")
@click.option("--part", "parts", multiple=True, metavar="PART",
              help="A spring or damper on the car in place of the stock one.")
@click.option("--cross", type=float, default=50.0, show_default=True,
              help="Wanted share of right front and left rear, %.")
@_of_each("--heights", "Body heights now, mm.", 4)
@_of_each("--wanted-heights", "Body heights wanted, mm. Default: left free.", 4)
@click.option("--room", nargs=2, type=float, metavar="DOWN UP",
              help="Thread left below and above every perch, mm.")
@_of_each("--room-down", "Thread left below each perch, mm.", 4)
@_of_each("--room-up", "Thread left above each perch, mm.", 4)
@_of_each("--rates", "Spring rates, N/mm. Default: of the springs on the car.", 2)
@_of_each("--motion-ratios", "Spring travel over wheel travel. Default: of the car.", 2)
@_of_each("--pitch", "Thread pitch of the perches, mm. Default: of the dampers.", 2)
@click.option("--wheelbase", type=float, help="mm. Default: of the car.")
@_of_each("--tracks", "mm. Default: of the car.", 2)
@click.option("--bars-connected", is_flag=True, help="The anti-roll bars are still connected.")
@_of_each("--bars", "Bar rates at the wheel, N/mm. Default: of the car.", 2)
@click.option("--why", is_flag=True, help="Print every value and where it came from.")
@click.option("--catalog", "folder", type=click.Path(path_type=Path), default=demo_folder,
              metavar="DIR", help="Folder of the catalogue. Default: the demo.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON for programs.")
def corner_weights_command(folder: Path, why: bool, as_json: bool, **given: Any) -> None:
    """The perch turns that bring the wanted cross weight at the wanted heights."""
    try:
        question = CornerQuestion.model_validate(_question(given))
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(map(str, first["loc"]))
        raise QuestionError(where, f"{where}: {first['msg'].lower()}") from None
    answer = corner_weights(load(folder), question)
    page = show(corner_weights_page(answer, why=why))
    click.echo(answer.model_dump_json(indent=2) if as_json else page)
    raise click.exceptions.Exit(0 if answer.outcome == "reached" else 1)


def _question(given: dict[str, Any]) -> dict[str, Any]:
    """The options as the fields of a question."""
    tracks, bars = given["tracks"] or (None, None), given["bars"] or (None, None)
    same = ("vehicle", "year", "variant", "parts", "cross", "wheelbase", "bars_connected")
    return {
        **{name: given[name] for name in same},
        "front_track": tracks[0], "rear_track": tracks[1],
        "front_bar": bars[0], "rear_bar": bars[1],
        "corners": {name: _corner(given, i) for i, name in enumerate(CORNERS)},
    }


def _corner(given: dict[str, Any], corner: int) -> dict[str, Any]:
    down, up = given["room"] or (None, None)
    axle = corner // 2

    def at(option: str, place: int, default: float | None = None) -> float | None:
        return given[option][place] if given[option] else default

    return {
        "scale": given["scales"][corner],
        "height": at("heights", corner), "wanted_height": at("wanted_heights", corner),
        "spring_rate": at("rates", axle), "motion_ratio": at("motion_ratios", axle),
        "thread_pitch": at("pitch", axle),
        "room_down": at("room_down", corner, down), "room_up": at("room_up", corner, up),
    }
