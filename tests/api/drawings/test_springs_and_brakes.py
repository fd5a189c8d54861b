"""Spring travel and brake balance: what is drawn is what was judged."""

from __future__ import annotations

import dataclasses

import pytest
import shapely

from api.drawings.all import drawings_of
from kb.baseline import find_baseline
from rules import answers as a
from tests.support.demo_kits import answered, demo, drawn
from tests.support.drawn import Drawn

HUNDREDTH = 0.03


def line(kit: str, check: str, aspect: str, axle: str | None = None) -> a.CheckLine:
    _, package = answered(kit)
    return next(
        one for one in package.checks
        if one.check.startswith(check) and one.aspect == aspect and one.axle == axle
    )


def seat(seen: Drawn, number: int) -> float:
    """The gap between the seats of one column, mm."""
    upper, lower = seen.shape(f"seat-{number}"), seen.shape(f"foot-{number}")
    return lower.bounds[1] - upper.bounds[1]


@pytest.mark.parametrize("axle", ["front", "rear"])
@pytest.mark.parametrize("kit", ["dampers", "early car", "van"])
def test_the_steps_between_the_seats_are_the_travel_of_the_check(kit: str, axle: str) -> None:
    drawing = drawn(kit)[f"springs-{axle}"]
    seen = Drawn(drawing)
    droop, ground, bump, closed = (seat(seen, number) for number in range(4))
    check = "spring-on-damper"
    assert bump - closed == pytest.approx(
        line(kit, check, "coil bind", axle).margin, abs=HUNDREDTH)
    baseline = answered(kit)[1].baseline
    ratios = {
        name: _fact(baseline, f"suspension.{name}_motion_ratio", axle)
        for name in ("spring", "damper")
    }
    per = ratios["spring"] / ratios["damper"]
    assert (droop - ground) / per == pytest.approx(
        line(kit, check, "droop travel", axle).margin, abs=HUNDREDTH)


def _fact(ref: a.BaselineRef, name: str, axle: str) -> float:
    found = find_baseline(demo(), ref.vehicle, ref.year, ref.variant).fact(name, axle)
    assert found is not None
    return float(found.value)


def test_the_springs_stand_on_each_other_between_the_seats() -> None:
    """By hand for the heavy kit: 88 mm of main spring, 14 of helper and 6 of ring at block."""
    seen = Drawn(drawn("dampers")["springs-front"])
    main, helper = seen.shape("main-3"), seen.shape("helper-3")
    assert main.bounds[3] - main.bounds[1] == pytest.approx(88, abs=HUNDREDTH)
    assert helper.bounds[3] - helper.bounds[1] == pytest.approx(14, abs=HUNDREDTH)
    assert main.bounds[1] - helper.bounds[3] == pytest.approx(6, abs=HUNDREDTH)
    assert seat(seen, 3) == pytest.approx(108, abs=HUNDREDTH)


def test_the_lines_of_brake_force_cross_where_both_axles_lock() -> None:
    seen = Drawn(drawn("brakes and wheels")["brake-balance"])
    judged = line("brakes and wheels", "brake-balance", "lock order, as driven")
    ideal, installed = seen.shape("ideal-as-driven"), seen.shape("installed-as-driven")
    # Away from the corner where all lines begin; on paper y runs downwards.
    corner = shapely.Point(ideal.coords[0])
    crossing = ideal.intersection(installed).difference(corner.buffer(0.05))
    point = crossing if crossing.geom_type == "Point" else crossing.geoms[0]
    rate = (point.x - corner.x) + (corner.y - point.y)
    assert rate == pytest.approx(judged.margin, abs=0.01)


def test_old_and_new_share_stand_in_one_picture() -> None:
    drawing = drawn("brakes and wheels")["brake-balance"]
    values = {value.name: value.value for value in drawing.values}
    assert values["front share, new"] < values["front share, stock"]
    words = " ".join(Drawn(drawing).texts())
    assert f"brakes of this package: {values['front share, new']:.1%} at the front" in words
    assert f"stock brakes: {values['front share, stock']:.1%} at the front" in words
    assert "As driven" in words
    assert "Fully laden" in words


def test_springs_that_are_not_measured_are_not_drawn() -> None:
    question, package = answered("dampers")
    unknown = demo().parts["damper-grit-f"].dimensions.model_copy(update={"travel": None})
    part = demo().parts["damper-grit-f"].model_copy(update={"dimensions": unknown})
    known = dataclasses.replace(demo(), parts={**demo().parts, "damper-grit-f": part}, caches={})
    names = {drawing.name for drawing in drawings_of(known, question, package)}
    assert "springs-rear" in names
    assert "springs-front" not in names
    assert "beside-front-damper" not in names
