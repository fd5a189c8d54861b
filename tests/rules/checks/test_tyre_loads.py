"""Load, speed, pressure, rolling and gearing of tyres on a car."""

from __future__ import annotations

from typing import Any

import pytest

from kb.catalogue import Catalogue
from tests.support.combinations import small_car, verdict, verdicts


def car(
    size: str, *, plate: dict[str, Any] | None = None, driveline: dict[str, Any] | None = None,
    stock: str | None = None, limits: dict[str, Any] | None = None, **tyre: Any,
) -> Catalogue:
    parts: dict[str, Any] = {"t": {"kind": "tyre", "dimensions": {"size": size, **tyre}}}
    if stock:
        parts["stock"] = {"kind": "tyre", "dimensions": {"size": stock}}
    facts = [{"about": "plate", "axle": "front", **plate}] if plate else []
    facts += [{"about": "driveline", **driveline}] if driveline else []
    fitted = {"front-tyre": "stock"} if stock else {}
    return small_car(parts, facts=facts, fitted=fitted, limits=limits)


SLOW = {"top_speed": "180 km/h"}


@pytest.mark.parametrize(("axle", "says", "margin"), [
    # Load index 91 is 615 kg (UN R30 Annex 4, in secondary lists): two carry 1230 kg.
    ("1230 kg", "fits", 0.0), ("1231 kg", "does_not_fit", -1.0), ("1000 kg", "fits", 230.0),
])
def test_two_tyres_carry_the_axle(axle: str, says: str, margin: float) -> None:
    at = car("205/55 R16 91V", plate={"axle_load": axle}, driveline=SLOW)
    found = verdict(at, "tyre-load", "t")
    assert (found.verdict, found.margin) == (says, margin)


def test_a_v_tyre_carries_less_near_its_top_speed() -> None:
    # 91 per cent at 240 km/h, 95.5 at 225 (chassis textbook, secondary; interpolation computed).
    fast = car("205/55 R16 91V", plate={"axle_load": "1170 kg"},
               driveline={"top_speed": "225 km/h"})
    assert verdict(fast, "tyre-load", "t").margin == pytest.approx(2 * 615 * 0.955 - 1170)
    unknown = car("205/55 R16 91V", plate={"axle_load": "1170 kg"})
    # The top speed is not known: at the tyre's own, the most that may come.
    assert verdict(unknown, "tyre-load", "t").margin == pytest.approx(2 * 615 * 0.91 - 1170)


def test_a_passenger_tyre_on_a_truck_carries_less() -> None:
    # FMVSS 120 S5.1.2, quoted in NHTSA nht76-1.47: rated load over 1.10; 615 -> 559.1 kg.
    at = car("205/55 R16 91V", plate={"axle_load": "1100 kg", "truck": True}, driveline=SLOW)
    assert verdict(at, "tyre-load", "t").margin == pytest.approx(2 * 559.09 - 1100, abs=0.01)


def test_without_the_axle_load_the_stock_tyre_is_the_measure() -> None:
    stronger = verdict(car("195/65 R15 91H", stock="185/65 R15 88T"), "tyre-load", "t")
    assert stronger.verdict == "fits"
    weaker = verdict(car("195/65 R15 86H", stock="185/65 R15 88T"), "tyre-load", "t")
    assert weaker.measure == ("permitted axle load of the car's plate",)


def test_a_size_without_its_marks_is_to_be_read_off_the_sidewall() -> None:
    found = verdict(car("205/55 R16", plate={"axle_load": "1000 kg"}), "tyre-load", "t")
    assert found.measure == ("load index and speed symbol on the sidewall of tyre",)


@pytest.mark.parametrize(("size", "use", "says"), [
    # H is good for 210 km/h, T for 190, Q for 160 (UN R30, 2.29, in a secondary list).
    ("185/65 R15 88H", None, "fits"), ("185/65 R15 88T", None, "does_not_fit"),
    ("185/65 R15 88Q", "winter", "fits"), ("185/65 R15 88Q", "road", "does_not_fit"),
])
def test_the_symbol_covers_the_top_speed(size: str, use: str | None, says: str) -> None:
    tyre: dict[str, Any] = {"use": use} if use else {}
    at = car(size, driveline={"top_speed": "205 km/h"}, **tyre)
    found = verdict(at, "tyre-speed", "t")
    assert found.verdict == says
    assert ("used up to 160 km/h only" in found.says) is (use == "winter")


def test_without_the_top_speed_the_stock_symbol_is_the_measure() -> None:
    faster = verdict(car("185/65 R15 88H", stock="185/65 R15 88T"), "tyre-speed", "t")
    assert faster.verdict == "fits"
    slower = verdict(car("185/65 R15 88S", stock="185/65 R15 88T"), "tyre-speed", "t")
    assert slower.measure == ("top speed of the car",)


def test_the_least_pressure_for_the_load() -> None:
    # 500 kg on a tyre of 615 kg at 2.5 bar: 2.5 x (500 / 615)^1.25 = 1.930 bar (computed from the
    # ETRTO relation, secondary); at 2.2 bar it carries 615 x (2.2 / 2.5)^0.8 = 555.2 kg.
    at = car("205/55 R16 91V", plate={"axle_load": "1000 kg", "tyre_pressure": "2.2 bar"})
    says = verdict(at, "tyre-pressure", "t").says
    assert "at least 1.93 bar" in says
    assert "carries 555 kg" in says


def test_treadwear_200_is_a_street_and_track_tyre() -> None:
    # Common practice, no source.
    assert "street and track" in verdict(car("205/55 R16 91V", treadwear=200),
                                         "tyre-treadwear", "t").says
    assert verdicts(car("205/55 R16 91V"), "tyre-treadwear", "t") == {}


def test_the_speedometer_against_stock() -> None:
    # 205/55R16 -> 225/45R17: 632 -> 634 mm, +0.316 per cent (computed).
    at = car("225/45 R17 91V", stock="205/55 R16 91V")
    found = verdict(at, "tyre-circumference", "t")
    assert "+0.32 %" in found.says
    assert found.margin == pytest.approx(3.0 - 0.3165, abs=0.001)


@pytest.mark.parametrize(("limit", "says"), [(3, "fits"), (2, "does_not_fit")])
def test_the_shop_says_how_far_a_tyre_may_roll_off(limit: int, says: str) -> None:
    # 195/65R15 635 mm on a car with 185/65R15 621 mm: +2.25 per cent.
    at = car("195/65 R15 91H", stock="185/65 R15 88T", limits={"circumference_change": limit})
    assert verdict(at, "tyre-circumference", "t").verdict == says


def test_road_speed_per_thousand_turns() -> None:
    # 205/55R16: 3.05 x 632 = 1927.6 mm. 1000 x 60 x 1.9276 / (3.9 x 0.8) / 1000 = 37.07 km/h;
    # 100 km/h at 1000 x 100 / 37.07 = 2698 /min.
    ratios = {"driven": "front", "final_drive": 3.9, "top_gear": 0.8}
    says = verdict(car("205/55 R16 91V", driveline=ratios), "tyre-gearing", "t").says
    assert "37.1 km/h per 1000" in says
    assert "2698 /min" in says
    rear = car("205/55 R16 91V", driveline={**ratios, "driven": "rear"})
    assert verdicts(rear, "tyre-gearing", "t") == {}


def test_the_size_on_its_rim() -> None:
    # 205/55R16 on 6.5 in: 632 mm high, 214 mm wide (from memory of the ETRTO table).
    catalogue = small_car({
        "t": {"kind": "tyre", "dimensions": {"size": "205/55 R16 91V"}},
        "w": {"kind": "wheel", "dimensions": {"rim": "6.5 J x 16"}}})
    found = verdict(catalogue, "tyre-dimensions", "t", "w")
    noted = {value.name: value.value for value in found.values}
    assert noted["design diameter"] == "632 mm"
    assert noted["design section width on this rim"] == "214 mm"
    assert noted["measuring rim"] == "6.5 in"


def test_common_practice_a_245_40_belongs_on_a_9_inch_rim() -> None:
    # Common practice, no source.
    catalogue = small_car({
        "t": {"kind": "tyre", "dimensions": {"size": "245/40 R17 91W"}},
        "w": {"kind": "wheel", "dimensions": {"rim": "9 J x 17"}},
        "n": {"kind": "wheel", "dimensions": {"rim": "7.5 J x 17"}}})
    assert verdict(catalogue, "tyre-rim-width", "t", "w").verdict == "fits"
    assert verdict(catalogue, "tyre-rim-width", "t", "n").verdict == "does_not_fit"


@pytest.mark.parametrize(("rating", "says"), [("500 kg", "fits"), ("1090 lb", "does_not_fit")])
def test_two_wheels_carry_the_axle(rating: str, says: str) -> None:
    # 1090 lb = 494.4 kg: two carry 988.8 kg.
    catalogue = small_car(
        {"w": {"kind": "wheel", "dimensions": {"load_rating": rating}}},
        facts=[{"about": "plate", "axle": "front", "axle_load": "1000 kg"}])
    assert verdict(catalogue, "wheel-load", "w").verdict == says
