"""Examples for the OpenAPI document, drawn from the catalogue being served: they all work."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import islice
from typing import Any

from kb.baseline import Baseline, baselines
from kb.catalogue import Catalogue
from kb.errors import KitwrightError
from rules.answers import Item, Question
from rules.resolve import package
from rules.setup_models import CORNERS
from rules.situation import Situation, situation_of

TRIES, SECONDS = 20, 0.25
"""How many parts are tried, and how long each, before settling for one that may be impossible."""

SCALES = (312, 298, 287, 303)
"""Four scale readings, kg."""

Examples = Mapping[tuple[str, str], Any]
"""(path, parameter or "body") to its example; the empty path stands for every path."""


def examples(catalogue: Catalogue) -> Examples:
    """Examples about a part that makes a package on some car; few without any car."""
    found = list(islice(_candidates(catalogue), TRIES))
    if not found:
        return {("/problems/{code}", "code"): "unknown_part"}
    car, part = next((each for each in found if _is_possible(catalogue, *each)), found[0])
    return _about(situation_of(catalogue, car), car, part)


def _candidates(catalogue: Catalogue) -> Iterator[tuple[Baseline, str]]:
    for car in baselines(catalogue):
        for part in _orderable(situation_of(catalogue, car)):
            yield car, part


def _is_possible(catalogue: Catalogue, car: Baseline, part: str) -> bool:
    question = Question(
        vehicle=car.vehicle_id, year=car.year, variant=car.variant_id, picks=(Item(part=part),),
        alternatives=False, deadline=SECONDS,
    )
    try:
        return package(catalogue, question).outcome != "impossible"
    except KitwrightError:
        return False


def _orderable(at: Situation) -> Iterator[str]:
    """The parts that fill a place of the car and can be ordered for it, priced ones only."""
    for key, part in at.parts.items():
        if part.takes and part.price and at.buyable(key) and not at.refusal(key):
            yield key


def _about(at: Situation, car: Baseline, part: str) -> Examples:
    stated = at.parts[part]
    return {
        ("", "vehicle"): car.vehicle_id,
        ("", "year"): car.year,
        ("", "variant"): car.variant_id,
        ("", "part"): part,
        ("", "node"): f"part:{part}",
        ("/v1/drawings/{name}.svg", "name"): "because",
        ("", "pick"): [part],
        ("", "parts"): [part],
        ("/v1/parts", "kind"): stated.kind,
        ("/v1/parts", "place"): stated.takes[0],
        ("/problems/{code}", "code"): "unknown_part",
        **{
            (path, "body"): {
                **_names(car),
                "picks": [{"part": part}],
            }
            for path in ("/v1/package", "/v1/plan", "/v1/setup", "/v1/options", "/v1/offers")
        },
        ("/v1/batch", "body"): {"questions": [
            {"ask": "needed", "part": part, **_names(car)},
            {"ask": "package", "picks": [{"part": part}], **_names(car)},
        ]},
        ("/v1/gaps", "body"): {
            **_names(car),
            "have": [{"text": stated.name, "qty": 1}], "picks": [{"part": part}],
        },
        ("/v1/corner-weights", "body"): {
            **_names(car),
            "corners": {
                corner: {"scale": scale, "spring_rate": 40, "thread_pitch": 2, "room_down": 20,
                         "room_up": 20}
                for corner, scale in zip(CORNERS, SCALES, strict=True)
            },
        },
    }


def _names(car: Baseline) -> dict[str, Any]:
    """A car as a question names it."""
    return {"vehicle": car.vehicle_id, "year": car.year, "variant": car.variant_id}
