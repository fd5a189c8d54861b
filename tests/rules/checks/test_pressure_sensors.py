"""Pressure sensors: must there be any, are they heard, do they fit, are they worth moving over?"""

from __future__ import annotations

from typing import Any

import pytest

from kb.catalogue import Catalogue
from rules.checking import Verdict
from tests.support.engine_bay import engine_bay, part, says, verdict

OLD = {"frequency": "433.92 MHz", "valve": "clamped", "valve_hole": "11.3 mm"}


def car(year: str = "2015", **receiver: Any) -> Catalogue:
    facts = [{"about": "receiver", **receiver}] if receiver else []
    return engine_bay({"w": part("wheel", valve_hole="11.3 mm")}, facts=facts, years=year)


def required(year: str, **receiver: Any) -> Verdict | None:
    return says(car(year, **receiver), "sensors-required", "w")


@pytest.mark.parametrize(("rule", "year", "expected"), [
    # US: all cars from 1 September 2007 (70 FR 18136; end of the phase-in from memory).
    ("us", "2004", "did not have to"), ("us", "2006", "may have to"), ("us", "2008", "has to"),
    # EU: new types from November 2012, all cars from November 2014 (Regulation (EC) 661/2009).
    ("eu", "2011", "did not have to"), ("eu", "2014", "may have to"), ("eu", "2015", "has to"),
])
def test_year_and_market_say_whether_a_car_must_warn(rule: str, year: str, expected: str) -> None:
    found = required(year, rule=rule, sensor_frequency="315 MHz")
    assert found is not None
    assert found.verdict == "fits"
    assert f"a car of {year} {expected}" in found.says


def test_how_a_car_warns_is_asked_where_it_must_and_nobody_noted_it() -> None:
    found = required("2016", rule="eu")
    assert found is not None
    assert found.measure == ("whether this car has sensors in its wheels",)
    by_speed = required("2016", rule="eu", by_wheel_speed="true")
    assert by_speed is not None
    assert by_speed.verdict == "fits"
    assert "needs no sensor" in by_speed.says


def test_where_no_rule_is_noted_there_is_nothing_to_say() -> None:
    assert required("2016") is None


def heard(sensor: str, receiver: str) -> str:
    catalogue = engine_bay({"s": part("pressure-sensor", frequency=sensor)},
                           facts=[{"about": "receiver", "sensor_frequency": receiver}])
    return verdict(catalogue, "sensor-frequency", "s").verdict


def test_a_car_hears_its_own_band_only() -> None:
    assert heard("433.92 MHz", "434 MHz") == "fits"
    assert heard("315 MHz", "433.92 MHz") == "does_not_fit"
    assert heard("0.43392 GHz", "433.92 MHz") == "fits"


def warning(rule: str, placard: str, tyre: str = "195/65 R15 91H") -> Verdict | None:
    facts = [{"about": "receiver", "rule": rule},
             {"about": "plate", "axle": "front", "tyre_pressure": placard}]
    parts = {"s": part("pressure-sensor"), "t": part("tyre", size=tyre)}
    return says(engine_bay(parts, facts=facts), "low-pressure-warning", "s", "t")


@pytest.mark.parametrize(("rule", "placard", "tyre", "at"), [
    ("us", "2.4 bar", "195/65 R15 91H", "1.80 bar"),     # 0.75 x 2.4 (70 FR 18136)
    ("us", "1.8 bar", "195/65 R15 91H", "1.40 bar"),     # the floor (from memory)
    ("us", "2.0 bar", "195/65 R15 95H XL", "1.60 bar"),  # the floor for extra load (from memory)
    ("eu", "2.5 bar", "195/65 R15 91H", "2.00 bar"),     # 0.8 x 2.5 (UN R141, from memory)
])
def test_the_pressure_at_which_the_car_warns(rule: str, placard: str, tyre: str, at: str) -> None:
    found = warning(rule, placard, tyre)
    assert found is not None
    assert found.says.endswith(f"it warns at {at}")


def reuse(*, stock: bool = True, **prices: str) -> Verdict | None:
    def priced(key: str, kind: str, **dimensions: Any) -> dict[str, Any]:
        price = {"price": prices[key]} if key in prices else {}
        return {**part(kind, **dimensions), "name": key, **price}

    catalogue = engine_bay({
        "w": part("wheel"), "old": part("pressure-sensor", **OLD),
        "new": priced("new", "pressure-sensor", **OLD),
        "other": priced("other", "pressure-sensor", **{**OLD, "frequency": "315 MHz"}),
        "seals": {**priced("seals", "sensor-service", valve="clamped"), "pack": "4"},
        "rubber": priced("rubber", "sensor-service", valve="rubber"),
    }, fitted={"pressure-sensor": "old"} if stock else {})
    return says(catalogue, "sensor-reuse", "w", "old", stock=["old"] if stock else [])


def test_moving_a_sensor_over_is_set_beside_a_new_one_with_what_it_means() -> None:
    """A sensor can be moved over or bought new: common practice, no source."""
    found = reuse(new="39.00 EUR", other="20.00 EUR", seals="18.00 EUR", rubber="1.00 EUR")
    assert found is not None
    assert "saves 34.50 EUR a wheel" in found.says  # 39.00 - 18.00 / 4
    assert "old battery" in found.says
    assert "taught" in found.says
    assert [v.value for v in found.values] == ["4.50 EUR", "39.00 EUR"]


def test_nothing_is_compared_without_both_prices_or_without_an_old_sensor() -> None:
    assert reuse(new="39.00 EUR") is None
    assert reuse(stock=False, new="39.00 EUR", seals="18.00 EUR") is None
