"""Injectors and pump against the engine's power, worked out by hand beside each check."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.checking import Verdict
from tests.support.engine_bay import engine_bay, part, verdict

# Reference row 11-06 (computed): 150 kW, 300 g/kWh, four injectors, 0.745 kg/L, open for 0.85 of
# the time: 0.2961 L/min each.
ENGINE = {"power": "150 kW", "consumption": "300 g/kWh", "injectors": "4", "fuel_pressure": "3 bar"}


def injector(engine: Any = None, duty: str = "0.85", **dimensions: Any) -> Verdict:
    parts = {"e": part("engine", **(engine or ENGINE)), "i": part("injector", **dimensions)}
    return verdict(engine_bay(parts, limits={"injector_duty": duty}), "injector-flow", "e", "i")


def pump(reserve: str = "0.15", **dimensions: Any) -> Verdict:
    parts = {"e": part("engine", **ENGINE), "p": part("fuel-pump", **dimensions)}
    return verdict(engine_bay(parts, limits={"fuel_reserve": reserve}), "pump-flow", "e", "p")


def test_an_injector_has_to_pass_its_share_in_the_time_it_may_be_open() -> None:
    found = injector(flow="0.300 L/min", flow_pressure="3 bar")
    assert found.verdict == "fits"
    assert found.margin == pytest.approx(0.300 - 0.2961, abs=1e-4)
    assert injector(flow="0.290 L/min", flow_pressure="3 bar").verdict == "does_not_fit"
    shorter = injector(duty="0.80", flow="0.300 L/min", flow_pressure="3 bar")
    assert shorter.verdict == "does_not_fit"  # 0.3146 L/min


def test_a_figure_for_another_pressure_is_worked_out_for_the_engines() -> None:
    # Row 11-09 (computed): from 2.5 to 3.0 bar the flow grows by 1.0954.
    found = injector(flow="0.280 L/min", flow_pressure="2.5 bar")
    assert found.margin == pytest.approx(0.280 * 1.0954 - 0.2961, abs=2e-4)
    assert found.verdict == "fits"
    assert injector(flow="0.310 L/min", flow_pressure="4 bar").verdict == "does_not_fit"


def test_a_flow_without_its_pressure_says_nothing() -> None:
    found = injector(flow="0.400 L/min")
    assert (found.verdict, found.measure) == ("not_known", ("flow pressure of injector",))


def test_a_pressure_too_far_from_the_figures_is_measured() -> None:
    found = injector(flow="0.9 L/min", flow_pressure="20 bar")
    assert (found.verdict, found.measure) == ("not_known", ("flow of injector at 3 bar",))


def test_a_pump_has_to_give_what_is_burnt_with_the_reserve() -> None:
    # Row 11-08 (computed): 60.4 L/h, 69.5 with 15 per cent: 1.158 L/min.
    found = pump(flow="1.20 L/min", pressure="3 bar")
    assert found.margin == pytest.approx(1.20 - 69.46 / 60, abs=1e-3)
    assert found.verdict == "fits"
    assert pump(flow="1.10 L/min", pressure="3 bar").verdict == "does_not_fit"
    assert pump(reserve="0.05", flow="1.10 L/min", pressure="3 bar").verdict == "fits"


def test_a_pump_that_does_not_reach_the_pressure_is_refused_whatever_it_gives() -> None:
    found = pump(flow="9 L/min", pressure="2.5 bar")
    assert (found.verdict, found.margin, found.unit) == ("does_not_fit", -0.5, "bar")


@pytest.mark.parametrize("bsfc", ["0.45 lb/hp/h", "0.55 lb/hp/h"])
def test_consumption_may_be_entered_in_other_units(bsfc: str) -> None:
    """0.45 to 0.55 lb/(hp h) for engines without a blower: row 11-07 (verified, secondary)."""
    grams = float(bsfc.split()[0]) * 453.592 / 0.745700
    found = injector({**ENGINE, "consumption": bsfc}, flow="0.3 L/min", flow_pressure="3 bar")
    asked = 150 * grams / (1000 * 0.745 * 60 * 4 * 0.85)
    assert found.margin == pytest.approx(0.3 - asked, abs=1e-4)


@given(power=st.integers(20, 300), more=st.integers(1, 100), spread=st.integers(0, 20))
@settings(max_examples=20, deadline=None)
def test_more_power_never_leaves_more_and_the_worst_case_is_never_better(
    power: int, more: int, spread: int
) -> None:
    def margin(kilowatts: int) -> Verdict:
        engine = {**ENGINE, "power": f"{kilowatts} kW"}
        return injector(engine, flow=f"300 ± {spread} mL/min", flow_pressure="3 bar")

    less, greater = margin(power), margin(power + more)
    assert less.margin is not None
    assert greater.margin is not None
    assert less.worst_case is not None
    assert greater.margin < less.margin
    assert less.worst_case <= less.margin
