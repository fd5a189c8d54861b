"""Shapes nobody would measure: drawn within the sheet all the same, or not drawn."""

from __future__ import annotations

import math
import random
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from api.drawings.all import drawings_of
from kb.baseline import baselines
from kb.errors import KitwrightError
from rules import answers as a
from rules.resolve import package
from tests.support.combinations import small_car
from tests.support.demo_kits import demo
from tests.support.drawn import Drawn


@st.composite
def outlines(draw: st.DrawFn) -> list[str]:
    """A simple shape around a middle: its corners at rising angles."""
    x, y = draw(st.floats(-300, 300)), draw(st.floats(100, 600))
    reach = draw(st.lists(st.floats(1, 90), min_size=3, max_size=7))
    turns = [2 * math.pi * i / len(reach) for i in range(len(reach))]
    return [
        f"{x + r * math.cos(t):.2f}, {y + r * math.sin(t):.2f} mm"
        for r, t in zip(reach, turns, strict=True)
    ]


def drawn_well(catalogue: Any, picks: list[str]) -> set[str]:
    question = a.Question(vehicle="tern", picks=tuple(a.Item(part=part) for part in picks))
    drawings = drawings_of(catalogue, question, package(catalogue, question))
    for drawing in drawings:
        seen = Drawn(drawing)
        assert not seen.overlaps()
        assert not seen.outside()
        assert "nan" not in drawing.svg
        assert "inf" not in drawing.svg
    return {drawing.name for drawing in drawings}


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(
    caliper=outlines(), obstacles=st.lists(outlines(), min_size=1, max_size=5),
    spacer=st.floats(0, 60), shoulder=st.floats(0, 20), offset=st.floats(-80, 80),
)
def test_any_caliper_and_any_room_stay_on_the_sheet(
    caliper: list[str], obstacles: list[list[str]], spacer: float, shoulder: float, offset: float
) -> None:
    room = {"about": "room", "axle": "front", "obstacles": {
        f"o{number}": {"name": f"thing number {number}", "outline": outline, "tolerance": "2 mm"}
        for number, outline in enumerate(obstacles)
    }}
    fits = [{"vehicles": ["tern"]}]
    car = small_car({
        "c": {"kind": "caliper", "fits": fits, "dimensions": {"outline": caliper}},
        "t": {"kind": "tyre", "fits": fits, "dimensions": {
            "size": "205/55 R16 91W", "shoulder_radius": f"{shoulder:.2f} mm"}},
        "w": {"kind": "wheel", "fits": fits, "dimensions": {
            "rim": "7 J x 16", "offset": f"{offset:.2f} mm",
            "barrel": ["-400, 190 mm", "400, 180 mm"], "spokes": ["30, 0 mm", "25, 400 mm"]}},
        "s": {"kind": "spacer", "fits": fits, "dimensions": {"thickness": f"{spacer:.2f} mm"}},
    }, facts=[room])
    assert "room-front-ride-height" in drawn_well(car, ["c", "t", "w", "s"])


@pytest.mark.slow
def test_every_sort_of_kit_on_every_sort_of_car_stays_on_the_sheet() -> None:
    dice, known = random.Random(20), demo()
    cars, kinds = list(baselines(known)), {
        "wheel", "tyre", "caliper", "spring", "damper", "kit", "spacer", "brake-disc", "engine",
    }
    parts = [key for key, part in known.parts.items() if part.kind in kinds and part.orderable]
    count = 0
    for _ in range(40):
        car, picks = dice.choice(cars), dice.sample(parts, dice.choice([1, 1, 2, 3]))
        question = a.Question(
            vehicle=car.vehicle_id, year=car.year, variant=car.variant_id, alternatives=False,
            picks=tuple(a.Item(part=part) for part in picks),
        )
        try:
            answer = package(known, question)
        except KitwrightError:
            continue
        for drawing in drawings_of(known, question, answer):
            seen = Drawn(drawing)
            assert not seen.overlaps(), (car.id, picks, drawing.name)
            assert not seen.outside(), (car.id, picks, drawing.name)
            count += 1
    assert count > 40
