"""Parking brake, heat, rubbing areas, fluid, hoses and joints. Values worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest

from rules.checking import Verdict
from tests.support.chassis import Data, chassis, noted, part, verdict, verdicts

# The car of reference row 5-14: front share 0.54 at rest, h/L 0.2.
LADEN = {"about": "layout", "wheelbase": "2500 mm", "laden_front": "648 kg",
         "laden_rear": "552 kg", "laden_centre_height": "500 mm"}
LEVER = {"about": "parking-brake", "lever_ratio": "6", "efficiency": "0.7"}
TYRE = part("tyre", size="205/55 R16 91V")  # radius 316 mm


def holding(arm: str = "6", facts: tuple[Data, ...] = (LADEN, LEVER)) -> dict[str, Verdict]:
    parts = {
        "r-caliper": part("caliper", parking_brake="arm", arm_gain=arm),
        "r-disc": part("brake-disc", diameter="260 mm"),
        "r-pad": part("brake-pad", friction="0.4", height="40 mm"), "r-tyre": TYRE,
    }
    catalogue = chassis(parts, facts=facts, fitted=("r-tyre",))
    return verdicts(catalogue, "parking-brake-hold", "r-caliper", "r-disc", "r-pad")


def test_the_parking_brake_holds_the_laden_car() -> None:
    # 400 N x 6 x 6 x 0.7 / 2 = 5040 N; 2 x 0.4 x 5040 x 0.110 = 443.5 N·m. Needed, as in row
    # 5-29: 1200 x 9.80665 x 0.19612 x 0.316 / 2 = 364.7 N·m.
    found = holding()
    assert found["brake"].verdict == "fits"
    assert found["brake"].margin == pytest.approx(443.5 - 364.7, abs=0.2)
    # Row 5-30 (computed): grip needed 0.400 nose up, 0.476 nose down; a dry road has 0.8.
    assert found["nose up"].margin == pytest.approx(0.400, abs=1e-3)
    assert found["nose down"].margin == pytest.approx(0.324, abs=1e-3)


def test_a_shorter_arm_lets_the_car_go() -> None:
    found = holding(arm="4.5")["brake"]
    assert found.verdict == "does_not_fit"
    assert found.margin == pytest.approx(443.5 * 4.5 / 6 - 364.7, abs=0.2)


def test_holding_is_not_assumed() -> None:
    found = holding(facts=(LADEN,))[""]
    assert found.verdict == "not_known"
    assert "lever ratio of the car's rear parking brake" in found.measure


def test_a_caliper_without_an_arm_is_not_judged() -> None:
    parts = {"r-caliper": part("caliper", parking_brake="none"), "r-disc": part("brake-disc"),
             "r-pad": part("brake-pad")}
    assert not verdicts(chassis(parts), "parking-brake-hold", *parts)


def test_shoes_and_a_caliper_of_its_own_hold_too() -> None:
    parts = {
        "r-shoe": part("brake-shoe", brake_factor="2", arm_gain="4"),
        "r-drum": part("brake-drum", diameter="228 mm"),
        "r-spot": part("parking-caliper", arm_gain="6", friction="0.4", pad_height="40 mm"),
        "r-disc": part("brake-disc", diameter="260 mm"), "r-tyre": TYRE,
    }
    catalogue = chassis(parts, facts=(LADEN, LEVER), fitted=("r-tyre",))
    shoes = verdicts(catalogue, "parking-shoes-hold", "r-shoe", "r-drum")["brake"]
    # 400 x 6 x 4 x 0.7 / 2 = 3360 N; 2 x 3360 x 0.114 = 766.1 N·m.
    assert shoes.margin == pytest.approx(766.1 - 364.7, abs=0.2)
    spot = verdicts(catalogue, "parking-caliper-hold", "r-spot", "r-disc")["brake"]
    assert spot.margin == pytest.approx(443.5 - 364.7, abs=0.2)


def test_one_stop_warms_a_disc() -> None:
    # Ideal front share at 0.6557 g: 0.54 + 0.2·0.6557 = 0.6711. Energy 1.05·1200·27.778²/2 =
    # 486,111 J; half of the front share is 163,124 J into 5 kg: 67.97 K, so 167.97 °C of 160 °C.
    catalogue = chassis(
        {"f-disc": part("brake-disc", ring_mass="5 kg")}, facts=(LADEN,),
        limits={"disc_temperature": "160 °C"},
    )
    found = verdict(catalogue, "disc-heat", "f-disc")
    assert found.verdict == "does_not_fit"
    assert found.margin == pytest.approx(-7.97, abs=0.05)
    heavier = chassis({"f-disc": part("brake-disc", ring_mass="6 kg")}, facts=(LADEN,))
    assert verdict(heavier, "disc-heat", "f-disc").margin == pytest.approx(93.36, abs=0.05)


def test_areas_are_shown_beside_stock() -> None:
    # Row 5-12: rings of 150 and 90 mm, 120.0 mm bedded and 122.5 mm new. Both faces
    # 2·pi·(150² - 90²) = 904.8 cm²; stock 130 and 90 mm: 552.9 cm², so 64 % more.
    parts = {
        "f-disc": part("brake-disc", diameter="300 mm"),
        "f-pad": part("brake-pad", height="60 mm", angle="50 deg"),
        "f-old-disc": part("brake-disc", diameter="260 mm"),
        "f-old-pad": part("brake-pad", height="40 mm", area="4000 mm²"),
    }
    catalogue = chassis(parts, fitted=("f-old-disc", "f-old-pad"))
    values = noted(verdict(catalogue, "pad-and-swept-area", "f-disc", "f-pad"))
    assert values["swept area, both faces"] == "905 cm², +64% on stock"
    assert values["effective radius"] == "120.0 mm bedded, 122.5 mm new"
    # 50/360 · pi · (150² - 90²) = 6283 mm², on 4000.
    assert values["lining of one pad"] == "62.8 cm², +57% on stock"


@pytest.mark.parametrize(("fluid", "hottest", "expected", "margin"), [
    ({"grade": "DOT 4"}, "130 °C", "fits", 25.0),  # row 6-02: 155 °C wet
    ({"grade": "DOT 3"}, "150 °C", "does_not_fit", -10.0),  # row 6-01: 140 °C wet
    ({"grade": "DOT 4", "wet_boiling": "195 °C"}, "180 °C", "fits", 15.0),
])
def test_wet_fluid_must_not_boil(
    fluid: dict[str, str], hottest: str, expected: str, margin: float
) -> None:
    catalogue = chassis({"b": part("brake-fluid", **fluid)}, limits={"fluid_temperature": hottest})
    found = verdict(catalogue, "fluid-boiling", "b")
    assert (found.verdict, found.margin) == (expected, pytest.approx(margin))


def test_silicone_where_glycol_is_asked_for_is_said_in_words() -> None:
    # Rows 6-07 and 6-10: fluid families are never mixed.
    facts = ({"about": "hydraulics", "fluid_grades": ["DOT 4"]},)
    catalogue = chassis(
        {"b": part("brake-fluid", grade="DOT 5"), "c": part("brake-fluid", grade="DOT 4")},
        facts=facts,
    )
    found = verdict(catalogue, "fluid-grade", "b")
    assert found.verdict == "does_not_fit"
    assert "silicone where glycol is asked for" in found.says
    assert verdict(catalogue, "fluid-grade", "c").verdict == "fits"


# The body's end is 60 mm behind and 60 mm above the wheel's; 20 mm of droop and compression.
ROUTE = {"about": "hose-route", "axle": "front", "body_x": "-60 mm", "body_y": "0 mm",
         "body_z": "60 mm", "wheel_x": "0 mm", "wheel_y": "0 mm", "wheel_z": "0 mm",
         "compression": "20 mm", "droop": "20 mm", "lock": "0 deg"}


@pytest.mark.parametrize(("length", "expected"), [
    ("116 mm", "fits"), ("115 ± 1 mm", "not_known"), ("114 mm", "does_not_fit"),
])
def test_a_hose_reaches_at_full_droop(length: str, expected: str) -> None:
    # Longest span sqrt(60² + 80²) = 100 mm; the shop asks for 15 mm more.
    found = verdict(
        chassis({"f-hose": part("brake-hose", length=length)}, facts=(ROUTE,)),
        "hose-reach", "f-hose",
    )
    assert found.verdict == expected
    assert found.required == 15.0
    # Shortest at 20 mm up: sqrt(60² + 40²) = 72.1 mm.
    assert noted(found)["longest span"] == "100 mm, wheel 20 mm down"


def test_the_longest_span_is_found_over_travel_and_lock() -> None:
    # The wheel's end swings 100 mm ahead of the steering axis, the body's end is 60 mm behind it:
    # farthest apart straight ahead, 160 mm; with 120 mm of droop sqrt(160² + 120²) = 200 mm.
    route = ROUTE | {"wheel_x": "100 mm", "body_z": "0 mm", "steer_x": "0 mm", "steer_y": "0 mm",
                     "droop": "120 mm", "compression": "0 mm", "lock": "30 deg"}
    catalogue = chassis({"f-hose": part("brake-hose", length="220 mm")}, facts=(route,))
    assert verdict(catalogue, "hose-reach", "f-hose").margin == pytest.approx(20.0, abs=1e-6)


def test_a_hose_route_that_nobody_measured_is_asked_for() -> None:
    catalogue = chassis({"f-hose": part("brake-hose", length="300 mm")})
    found = verdict(catalogue, "hose-reach", "f-hose")
    assert found.verdict == "not_known"
    assert "droop of the car's front hose route" in found.measure


def test_a_hose_stands_more_than_the_pedal_gives() -> None:
    # Bore 3 mm: 7000 psi = 482.6 bar (row 6-15, from memory; 6-18 computed). 500 x 4.5 / 387.08
    # mm² = 58.1 bar. Swelling by row 6-16: 0.66 cc per ft · 58.13/68.95 · 0.4 m / 0.3048 = 0.73.
    facts = ({"about": "pedal", "ratio": "4.5", "booster_gain": "1"},)
    parts = {"f-hose": part("brake-hose", bore="3 mm", length="400 mm"),
             "m": part("master-cylinder", bore="22.2 mm")}
    found = verdict(chassis(parts, facts=facts), "hose-pressure", "f-hose", "m")
    assert found.verdict == "fits"
    assert found.margin == pytest.approx(482.63 - 58.13, abs=0.05)
    assert noted(found)["most fluid it may take up at 58 bar"] == "0.73 cm³"


@pytest.mark.parametrize(("end", "inlet", "expected", "word"), [
    (("M10 x 1.0", "bubble-flare"), ("M10 x 1.0", "bubble-flare"), "fits", "both ends"),
    # Rows 6-21 and 6-22: one thread carries either flare; the flares do not interchange.
    (("M10 x 1.0", "inverted-flare"), ("M10 x 1.0", "bubble-flare"), "does_not_fit", "bubble"),
    # Row 6-30: 37 and 45 degree seats differ although the thread engages.
    (("3/8-24", "cone"), ("3/8-24", "inverted-flare"), "does_not_fit", "37 degree"),
    (("3/8-24", "banjo"), ("M10 x 1.0", "banjo"), "does_not_fit", "threads differ"),
    (("M10 x 1.0", "banjo"), ("M10 x 1.0", "cone"), "does_not_fit", "does not seal"),
])
def test_thread_and_flare_are_judged_apart(
    end: Any, inlet: Any, expected: str, word: str
) -> None:
    parts = {"f-hose": part("brake-hose", caliper_end=end[0], caliper_seat=end[1]),
             "f-caliper": part("caliper", inlet=inlet[0], inlet_seat=inlet[1])}
    found = verdict(chassis(parts), "hose-to-caliper", "f-hose", "f-caliper")
    assert found.verdict == expected
    assert word in found.says


def test_the_dash_size_of_a_cone_end_is_named() -> None:
    # Rows 6-27b and 6-24: 3/8-24 is dash 3, for 3/16 in (4.76 mm) tube.
    parts = {"f-hose": part("brake-hose", caliper_end="3/8-24", caliper_seat="cone"),
             "f-caliper": part("caliper", inlet="3/8-24", inlet_seat="cone")}
    values = noted(verdict(chassis(parts), "hose-to-caliper", "f-hose", "f-caliper"))
    assert values["size of the 37 degree fitting"] == "dash 3, for 4.76 mm tube"


@pytest.mark.parametrize(("thread", "word"), [("M10 x 1.0", "is the usual"), ("M12 x 1.0", "not")])
def test_the_usual_nut_of_a_pipe_is_a_hint(thread: str, word: str) -> None:
    # Row 6-23: 4.75 mm tube with a bubble flare usually carries an M10 x 1 nut.
    pipe = part("brake-pipe", thread=thread, seat="bubble-flare", diameter="4.75 mm")
    found = verdict(chassis({"p": pipe}), "pipe-nut", "p")
    assert found.verdict == "fits"
    assert word in found.says
