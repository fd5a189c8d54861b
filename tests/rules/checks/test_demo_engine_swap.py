"""The stories of the demo that the checks of engine and pressure sensors tell."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from kb.baseline import find_baseline
from kb.catalogue import Catalogue, load
from kb.kinds.electrics import ControlUnit, Harness
from rules.answers import CheckLine, Item, Package, Question
from rules.resolve import package
from rules.setup import CornerQuestion, corner_weights

ESTATE = {"vehicle": "quernby", "year": 2014, "variant": "q12"}


@cache
def demo() -> Catalogue:
    return load(Path(__file__).parents[3] / "demo_catalog")


@cache
def order(*picks: str, year: int = 2014, variant: str = "q12") -> Package:
    return package(demo(), Question(
        vehicle="quernby", year=year, variant=variant, alternatives=False,
        picks=tuple(Item(part=pick) for pick in picks),
    ))


def check(found: Package, name: str, *parts: str) -> CheckLine:
    return next(c for c in found.checks if c.check == name and set(parts) <= set(c.parts))


def refused(found: Package) -> str:
    assert found.outcome == "impossible"
    return " ".join(member.text for clash in found.clashes for member in clash.members)


def test_the_swap_is_complete_and_every_number_is_on_the_sheet() -> None:
    found = order("engine-p20")
    # The heavier engine stays on the stock springs until somebody has weighed the front axle.
    assert [m.what for m in found.measure_first] == ["mass on this axle"]
    names = {line.check for line in found.checks}
    assert names >= {
        "clutch-torque", "shaft-torque", "shaft-speed", "injector-flow", "pump-flow",
        "pump-supply", "charging-balance", "unit-plug", "sensor-plugs", "sensor-on-harness",
        "engine-fluids", "engine-figures",
    }
    assert check(found, "clutch-torque").margin == pytest.approx(275 - 208 * 1.25)
    # 118 kW at 300 g/kWh, 0.745 kg/L: 0.7919 L/min; by 4 and 0.85: 0.2329 each.
    assert check(found, "injector-flow").margin == pytest.approx(0.26 - 0.2329, abs=1e-4)
    assert {line.unit: line.qty for line in found.lines if line.kind in ("oil", "coolant")}


def test_a_clutch_too_weak_for_the_new_engine_is_refused_with_its_margin() -> None:
    says = refused(order("engine-p20", "clutch-215-plain"))
    assert "holds 238 N·m" in says  # 2 x 0.3 x 4400 N x 90 mm
    assert "asks for 260" in says
    assert order("clutch-215-plain", year=2017, variant="q16").outcome == "complete"


def test_an_injector_that_is_large_enough_only_at_another_pressure_is_refused() -> None:
    says = refused(order("engine-p20", "injector-245"))
    assert "passes 0.219 L/min at 4 bar" in says
    assert "takes 0.233" in says


def test_a_missing_sensor_plug_is_named_and_the_lead_for_it_goes_on_the_order() -> None:
    found = order("engine-p20", "harness-p20-plain")
    assert found.outcome != "impossible"
    lead = next(line for line in found.lines if line.part == "lead-knock")
    assert "no plug for knock" in " ".join(link.text for link in lead.because)


def test_a_pump_that_draws_more_than_its_wire_carries_brings_its_relay() -> None:
    found = order("pump-lift-300")
    assert any(line.part == "relay-main" for line in found.lines)
    assert check(found, "pump-supply", "pump-lift-300", "relay-main").margin == pytest.approx(1.0)


def test_an_early_home_car_compares_wheel_speeds_and_a_late_one_has_sensors() -> None:
    early = check(order("wheel-corrie-15", year=2015), "sensors-required")
    late = check(order("wheel-corrie-15", year=2017, variant="q16"), "sensors-required")
    assert "needs no sensor" in early.says
    assert "each wheel needs a sensor, moved over or new" in late.says


def test_moving_the_sensors_over_is_set_beside_new_ones() -> None:
    found = check(order("wheel-corrie-15", year=2017, variant="q16"), "sensor-reuse")
    assert "saves 28.10 EUR a wheel" in found.says  # 33.00 new, 4.90 for the service part
    assert "taught" in found.says


def test_the_demo_car_knows_all_of_itself_that_corner_weights_need() -> None:
    parts = ["damper-grit-f", "damper-grit-r", "spring-f-40", "spring-r-32"]
    corners = {
        name: {"scale": scale, "room_down": 20, "room_up": 20} for name, scale in (
            ("left_front", 312), ("right_front", 298), ("left_rear", 225), ("right_rear", 229))
    }
    question = CornerQuestion.model_validate({**ESTATE, "parts": parts, "corners": corners})
    found = corner_weights(demo(), question)
    assert found.measure_first == ()
    assert found.outcome == "reached"
    connected = corner_weights(demo(), question.model_copy(update={"bars_connected": True}))
    assert max(abs(c.turns) for c in connected.corners) > max(abs(c.turns) for c in found.corners)


def test_no_sensor_of_the_stock_cars_is_without_its_plug() -> None:
    for variant, year in (("q12", 2014), ("q10t", 2018), ("q16", 2017), ("q15d", 2013)):
        fitted = find_baseline(demo(), "quernby", year, variant).fitted
        unit, loom = (
            demo().parts[fitted[place]].dimensions for place in ("control-unit", "engine-harness")
        )
        assert isinstance(unit, ControlUnit)
        assert isinstance(loom, Harness)
        assert (unit.sensors or {}).items() <= (loom.sensor_plugs or {}).items()
