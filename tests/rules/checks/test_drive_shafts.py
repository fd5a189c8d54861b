"""Torque and critical speed of drive shafts, worked out by hand beside each check."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.catalogue import Catalogue
from rules.checking import Verdict
from tests.support.engine_bay import engine_bay, part, says, verdict

FINAL = {"about": "driveline", "final_drive": "3.0"}


def bay(engine: str = "200 N·m", gearbox: Any = None, facts: Any = (), **shaft: Any) -> Catalogue:
    return engine_bay({
        "e": part("engine", torque=engine),
        "g": part("gearbox", **(gearbox or {"first_gear": "3.5", "final_drive": "4.0"})),
        "s": part("drive-shaft", **shaft),
    }, facts=facts, fitted={"gearbox": "g"} if facts else {})


def torque(**given: Any) -> Verdict:
    return verdict(bay(**given), "shaft-torque", "e", "g", "s")


def test_half_of_what_first_gear_makes_goes_down_each_shaft() -> None:
    # 200 x 3.5 x 4.0 / 2 = 1400 N·m, with the reserve of 1.25: 1750.
    found = torque(torque="2000 N·m")
    assert (found.verdict, found.margin) == ("fits", pytest.approx(250.0))
    assert torque(torque="1700 N·m").margin == pytest.approx(-50.0)
    assert torque(torque="1700 N·m").verdict == "does_not_fit"


def test_a_bar_carries_what_its_section_does() -> None:
    # Solid 25 mm at 600 N/mm²: 600 x pi x 25³ / 16 = 1 840 777 N·mm.
    found = torque(outer_diameter="25 mm", inner_diameter="0 mm", allowed_shear="600 MPa")
    assert found.margin == pytest.approx(600 * math.pi * 25**3 / 16 / 1000 - 1750)
    bored = torque(outer_diameter="25 mm", inner_diameter="15 mm", allowed_shear="600 MPa")
    assert bored.verdict == "does_not_fit"  # 1840.8 x (1 - 0.6⁴) = 1602 N·m


def test_a_stock_gearbox_has_the_final_drive_of_the_car() -> None:
    found = torque(torque="2000 N·m", facts=[FINAL])  # 200 x 3.5 x 3.0 / 2 x 1.25 = 1312.5
    assert found.margin == pytest.approx(687.5)


def test_what_the_gearbox_does_not_say_is_asked_for() -> None:
    found = torque(gearbox={"first_gear": "3.5"}, torque="2000 N·m")
    assert (found.verdict, found.measure) == ("not_known", ("final drive of gearbox",))


@given(torque_low=st.integers(50, 400), more=st.integers(1, 200), spread=st.integers(0, 100))
@settings(max_examples=20, deadline=None)
def test_a_stronger_engine_never_leaves_more(torque_low: int, more: int, spread: int) -> None:
    weak = torque(engine=f"{torque_low} N·m", torque=f"2000 ± {spread} N·m")
    strong = torque(engine=f"{torque_low + more} N·m", torque=f"2000 ± {spread} N·m")
    assert weak.margin is not None
    assert strong.margin is not None
    assert weak.worst_case is not None
    assert strong.margin < weak.margin
    assert weak.worst_case <= weak.margin


def speed(top: str | None, size: str = "195/65 R15", **shaft: Any) -> Verdict | None:
    facts = [{"about": "driveline", "top_speed": top}] if top else []
    parts = {"s": part("drive-shaft", **shaft), "t": part("tyre", size=size)}
    return says(engine_bay(parts, facts=facts), "shaft-speed", "s", "t")


TUBE = {"outer_diameter": "75 mm", "inner_diameter": "71.5 mm", "length": "1400 mm"}


def test_a_shaft_turns_with_its_wheel_and_stays_below_its_critical_speed() -> None:
    # Row 11-17 (computed): this tube bends at 6397 rpm, of which 0.7 is 4478. 195/65 R15: 127 mm
    # high, 381 + 254 = 635 mm, rolls 3.05 x 635 = 1937 mm; 180 km/h = 3 000 000 mm/min: 1549 rpm.
    found = speed("180 km/h", **TUBE)
    assert found is not None
    assert found.verdict == "fits"
    assert found.margin == pytest.approx(0.7 * 6397 - 3_000_000 / (3.05 * 635), abs=5)


def test_a_long_thin_bar_is_refused() -> None:
    # Solid 20 mm over 2 m: 30·pi/2000² · 5.135e6 · 5 = 605 rpm.
    found = speed("180 km/h", outer_diameter="20 mm", inner_diameter="0 mm", length="2000 mm")
    assert found is not None
    assert found.verdict == "does_not_fit"


def test_a_stub_shaft_is_judged_as_the_shortest_the_formula_covers() -> None:
    found = speed("180 km/h", outer_diameter="30 mm", inner_diameter="0 mm", length="150 mm")
    assert found is not None
    assert found.verdict == "fits"


def test_no_dimensions_nothing_to_judge_and_no_speed_nothing_known() -> None:
    assert speed("180 km/h", length="600 mm") is None
    found = speed(None, **TUBE)
    assert found is not None
    assert found.measure == ("top speed of the car's front driveline",)
    wide = speed("180 km/h", size="455/65 R15", **TUBE)  # beyond the standard's widths
    assert wide is not None
    assert wide.measure == ("overall diameter of tyre",)
