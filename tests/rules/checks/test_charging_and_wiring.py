"""Charging balance, and the wire and fuse of the fuel pump, worked out by hand."""

from __future__ import annotations

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from rules.checking import Verdict
from tests.support.engine_bay import engine_bay, part, says, verdict

CHARGING = {"about": "charging", "alternator": "50 ± 2 A", "load": "40 A", "battery": "60 A·h"}


def balance(pump: str = "8 A", fan: str = "12 A", **facts: Any) -> Verdict | None:
    catalogue = engine_bay({
        "stock-pump": part("fuel-pump", current="5 A"), "pump": part("fuel-pump", current=pump),
        "stock-radiator": part("radiator", fan_current="12 A"),
        "radiator": part("radiator", fan_current=fan),
    }, fitted={"fuel-pump": "stock-pump", "radiator": "stock-radiator"},
        facts=[{**CHARGING, **facts}] if facts != {"none": True} else [])
    return says(catalogue, "charging-balance", "pump", "radiator")


def test_what_is_added_to_the_stock_car_counts() -> None:
    found = balance(pump="8 A", fan="17 A")  # 40 + 3 + 5 = 48 of 50, at worst of 48
    assert found is not None
    assert (found.verdict, found.margin, found.worst_case) == ("fits", 2.0, 0.0)


def test_a_shortage_is_lived_with_while_the_battery_lasts_the_shops_idle_time() -> None:
    found = balance(pump="8 A", fan="23 A")  # 54 of 50: half of 60 A·h is gone in 7.5 h
    assert found is not None
    assert found.verdict == "fits"
    assert "450 min" in found.says
    short = balance(pump="15 A", fan="72 A")  # 110 of 50: 30 A·h in half an hour
    assert short is not None
    assert (short.verdict, short.margin) == ("fits", -60.0)
    worse = balance(pump="15 A", fan="73 A")
    assert worse is not None
    assert worse.verdict == "does_not_fit"


def test_a_car_whose_charging_nobody_measured_is_left_alone_but_not_one_half_measured() -> None:
    assert balance(none=True) is None
    catalogue = engine_bay(
        {"p": part("fuel-pump"), "r": part("radiator", fan_current="9 A")},
        facts=[{"about": "charging", "alternator": "50 A"}],
    )
    found = verdict(catalogue, "charging-balance", "p", "r")
    assert found.verdict == "not_known"
    assert "battery of the car's charging" in found.measure
    assert "current of the stock fuel pump" in found.measure


OWN = {"about": "pump-supply", "section": "1.5 mm²", "length": "4 m", "fuse": "7.5 A"}
FEED = {"section": "2.5 mm²", "length": "4 m", "fuse": "10 A"}


def wire(current: str, feed: Any = None, own: Any = OWN, **limits: str) -> Verdict:
    parts = {"stock": part("fuel-pump", current="5 A"), "pump": part("fuel-pump", current=current)}
    if feed:
        parts["feed"] = part("supply-wire", **feed)
    catalogue = engine_bay(parts, fitted={"fuel-pump": "stock"}, facts=[own] if own else [],
                           limits=limits)
    return verdict(catalogue, "pump-supply", "pump", *(["feed"] if feed else []))


def test_a_pump_that_draws_no_more_than_the_old_one_needs_no_wire() -> None:
    assert wire("5 A", own=None).verdict == "fits"
    assert wire("5.1 A", own=None).verdict == "not_known"


def test_a_fuse_carries_a_lasting_load_up_to_its_share() -> None:
    """70 to 80 per cent of the rating: common practice, no source (row 11-30)."""
    assert wire("5.2 A").verdict == "fits"  # 0.7 x 7.5 = 5.25
    assert wire("5.3 A").verdict == "does_not_fit"
    assert wire("5.3 A", fuse_load="0.8").verdict == "fits"


def test_a_relay_with_its_own_wire_takes_the_place_of_the_cars() -> None:
    # 2.5 mm² carries 12.5 A and its 10 A fuse 7.0.
    assert wire("6.9 A", FEED).verdict == "fits"
    found = wire("7.5 A", FEED)
    assert found.verdict == "does_not_fit"
    assert "a fuse of 10 A" in found.says
    assert "it takes 4 mm² and a 15 A fuse (blue)" in found.says  # 7.5 / 0.7 = 10.7: 15 A, 3 mm²


def test_a_fuse_larger_than_its_wire_does_not_protect_it() -> None:
    found = wire("6 A", {**FEED, "fuse": "20 A"})
    assert "a fuse of 20 A does not protect a wire that carries 12.5 A" in found.says


def test_a_long_wire_loses_too_much() -> None:
    # Row 11-27 (computed): 9.234 ohm/km at 60 °C; 6.9 A over 8 m lose 0.510 V, over 7 m 0.446.
    assert wire("6.9 A", {**FEED, "length": "7 m"}).verdict == "fits"
    found = wire("6.9 A", {**FEED, "length": "8 m"})
    assert found.verdict == "does_not_fit"
    assert "loses 0.51 V" in found.says


def test_a_section_that_no_wire_has_is_asked_about() -> None:
    assert wire("6 A", {**FEED, "section": "2.4 mm²"}).verdict == "not_known"


@given(tenths=st.integers(51, 279))  # 28 A and more are too much for the largest blade fuse
@settings(max_examples=25, deadline=None)
def test_what_is_recommended_would_be_accepted(tenths: int) -> None:
    current = f"{tenths / 10} A"
    refused = wire(current, {**FEED, "fuse": "7.5 A", "section": "1 mm²"})
    assert refused.verdict == "does_not_fit"
    words = refused.says.split("it takes ")[1].split()
    wanted = {**FEED, "section": f"{words[0]} mm²", "fuse": f"{words[4]} A"}
    assert wire(current, wanted).verdict == "fits"
