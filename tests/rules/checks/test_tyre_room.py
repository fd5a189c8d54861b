"""A wheel with its tyre in the room the car leaves it, worked out by hand beside each check."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.catalogue import Catalogue
from tests.support.combinations import small_car, verdict, verdicts

# By hand: 205/45 R16 on a 7 J rim. Theoretical rim 0.85 x 205 = 174.25 mm (ISO 4000-1, from
# memory), 7 in = 177.8 mm, section 205 + 0.4 x 3.55 = 206.42 mm (UN R30, 6.1.1.1), at most
# 4 per cent wider = 214.68 mm. Height 92.25 -> 92, diameter 406 + 184 = 590 mm, at most
# 406 + 1.04 x 184 = 597.36 mm. At 40 mm offset: inboard 103.21 + 40 = 143.21, worst 147.34.
TYRE = {"kind": "tyre", "dimensions": {"size": "205/45 R16 83W"}}
WALL = ["-200, 200 mm", "-160, 200 mm", "-160, 320 mm", "-200, 320 mm"]


def wheel(offset: str = "40 mm", rim: str = "7 J x 16") -> dict[str, Any]:
    return {"kind": "wheel", "dimensions": {"rim": rim, "offset": offset}}


def car(
    obstacle: dict[str, Any] | None = None, *, offset: str = "40 mm", tyre: Any = None,
    spacer: str | None = None, limit: str = "5 mm", relief: str | None = None, **more: Any,
) -> Catalogue:
    room = {"about": "room", "axle": "front", "obstacles": {
        "strut": {"name": "strut", **(obstacle or {"outline": WALL})}}, **more.pop("room", {})}
    parts = {"t": dict(tyre or TYRE), "w": wheel(offset)}
    if spacer:
        parts["s"] = {"kind": "spacer", "dimensions": {"thickness": spacer}}
    work = {"bend": {"name": "Bend it", "effect": "room", "minutes": "5 min", "reversible": True,
                     "relieves": [{"obstacle": "strut", "by": relief, "direction": "inboard"}]}} \
        if relief else {}
    return small_car(parts, facts=[room], limits={"tyre_room": limit}, work=work, **more)


def test_the_gap_to_a_wall_inboard_is_what_the_hand_gets() -> None:
    found = verdict(car(), "tyre-room", "t", "w")
    assert found.margin == pytest.approx(160 - 143.21, abs=0.01)
    assert found.worst_case == pytest.approx(160 - 147.338, abs=0.01)
    assert found.verdict == "fits"


def test_a_spacer_moves_the_wheel_away_from_what_is_inboard() -> None:
    found = verdict(car(spacer="12 ± 0.2 mm"), "tyre-room", "t", "w", "s")
    assert found.margin == pytest.approx(160 - 143.21 + 12, abs=0.01)
    assert found.worst_case == pytest.approx(160 - 147.338 + 11.8, abs=0.01)


def test_a_tolerance_of_the_obstacle_counts_in_the_worst_case_only() -> None:
    found = verdict(car({"outline": WALL, "tolerance": "2 mm"}), "tyre-room", "t", "w")
    assert found.margin == pytest.approx(16.79, abs=0.01)
    assert found.worst_case == pytest.approx(10.66, abs=0.01)


@pytest.mark.parametrize(("limit", "says"), [
    ("12 mm", "fits"),          # worst 12.66
    ("13 mm", "not_known"),     # worst 12.66, nominal 16.79: the tolerances decide
    ("17 mm", "does_not_fit"),
])
def test_between_worst_and_nominal_only_measuring_tells(limit: str, says: str) -> None:
    found = verdict(car(limit=limit), "tyre-room", "t", "w")
    assert found.verdict == says
    assert bool(found.measure) is (says == "not_known")


def test_work_that_gives_enough_room_makes_it_fit() -> None:
    found = verdict(car(limit="17 mm", relief="5 mm"), "tyre-room", "t", "w")
    assert (found.verdict, found.work) == ("fits_with_work", ("bend",))
    short = verdict(car(limit="17 mm", relief="4 mm"), "tyre-room", "t", "w")
    assert short.verdict == "does_not_fit"  # 12.66 + 4 is less than 17


def test_each_obstacle_gets_its_own_verdict() -> None:
    near = ["-148, 310 mm", "-120, 310 mm", "-120, 330 mm", "-148, 330 mm"]
    room = {"about": "room", "axle": "front", "obstacles": {
        "strut": {"name": "strut", "outline": WALL}, "lip": {"name": "lip", "outline": near}}}
    catalogue = small_car({"t": dict(TYRE), "w": wheel()}, facts=[room])
    found = verdicts(catalogue, "tyre-room", "t", "w")
    assert found["strut"].verdict == "fits"
    # Straight above the tread: 310 - 295 = 15, worst 310 - 298.68 = 11.32.
    assert found["lip"].margin == pytest.approx(15.0, abs=0.01)
    assert found["lip"].worst_case == pytest.approx(11.32, abs=0.01)


def test_a_rising_wheel_comes_nearer_to_the_body() -> None:
    above = ["-100, 400 mm", "50, 400 mm", "50, 430 mm", "-100, 430 mm"]
    states = [{"state": "full-compression", "rise": "80 ± 3 mm", "camber": "0 deg"}]
    found = verdict(car({"outline": above, "states": states}), "tyre-room", "t", "w")
    assert found.margin == pytest.approx(400 - 80 - 295, abs=0.01)
    assert found.worst_case == pytest.approx(400 - 83 - 298.68, abs=0.01)
    assert "full compression" in found.says


def test_the_state_with_the_least_room_decides() -> None:
    far, near = (
        [f"-{x + 10}, 230 mm", f"-{x}, 230 mm", f"-{x}, 260 mm", f"-{x + 10}, 260 mm"]
        for x in (180, 155)
    )
    states = [{"state": "ride-height"}, {"state": "full-lock", "outline": near}]
    found = verdict(car({"outline": far, "states": states}), "tyre-room", "t", "w")
    assert found.margin == pytest.approx(155 - 143.21, abs=0.01)
    assert "full lock" in found.says


def test_camber_in_compression_is_asked_for_unless_the_swing_arm_gives_it() -> None:
    above = ["-100, 400 mm", "50, 400 mm", "50, 430 mm", "-100, 430 mm"]
    obstacle = {"outline": above, "states": [{"state": "full-compression", "rise": "80 mm"}]}
    asked = verdict(car(obstacle), "tyre-room", "t", "w")
    assert asked.verdict == "not_known"
    assert "camber" in asked.measure[0]
    known = verdict(car(obstacle, room={"swing_arm": "1500 mm"}), "tyre-room", "t", "w")
    # atan(80 / 1500) = 3.053 deg in. The hub sees the edge (x, 320) at height
    # 320 cos 3.053 - x sin 3.053: over the tyre's outboard corner x' = 63.2 that is lowest, at
    # the obstacle's corner (50, 320): 319.55 - 2.66 = 316.88, x' = 66.97, beyond the tread: so the
    # least gap is to the line that falls by tan 3.053 = 0.0533 from there.
    height = 316.88 + 0.05333 * (66.97 - 63.21)
    assert known.margin == pytest.approx((height - 295) * 0.99858, abs=0.02)


def test_what_is_not_measured_is_to_be_measured() -> None:
    found = verdict(car({"tolerance": "1 mm"}), "tyre-room", "t", "w")
    assert found.verdict == "not_known"
    assert found.measure == ("outline of the strut at ride height (front axle)",)
    bare = verdict(small_car({"t": dict(TYRE), "w": wheel()}), "tyre-room", "t", "w")
    assert bare.measure == ("room around the front wheel",)


def test_a_tyre_that_reaches_no_further_than_stock_needs_no_room_measured() -> None:
    parts = {"t": dict(TYRE), "w": wheel(), "stock-t": dict(TYRE), "stock-w": wheel()}
    fitted = {"front-tyre": "stock-t", "front-wheel": "stock-w"}
    assert verdict(small_car(parts, fitted=fitted), "tyre-room", "t", "w").verdict == "fits"
    wider = {**parts, "w": wheel("39 mm")}
    assert verdict(small_car(wider, fitted=fitted), "tyre-room", "t", "w").verdict == "not_known"


def test_what_the_maker_states_wins_over_the_standard() -> None:
    stated = {"kind": "tyre", "dimensions": {
        "size": "205/45 R16 83W", "overall_diameter": "588 ± 2 mm", "section_width": "203 ± 1 mm",
        "measured_on": "6.5 J x 16"}}
    found = verdict(car(tyre=stated), "tyre-room", "t", "w")
    # Half an inch of rim more: 203 + 0.4 x 12.7 = 208.08 mm, half of it and 40 mm inboard.
    assert found.margin == pytest.approx(160 - 144.04, abs=0.01)
    assert found.worst_case == pytest.approx(160 - 144.54, abs=0.01)


def test_a_tyre_of_another_diameter_is_left_to_the_check_that_says_so() -> None:
    catalogue = small_car({"t": dict(TYRE), "w": wheel(rim="7 J x 17")})
    assert verdicts(catalogue, "tyre-room", "t", "w") == {}


def test_common_practice_hose_at_full_compression_is_moved_for_a_big_package() -> None:
    # Common practice, no source: a big wheel-and-tyre package can strike the front brake hose at
    # full compression, so the hose is moved.
    hose = {"name": "brake hose", "outline": WALL, "states": [{
        "state": "full-compression",
        "outline": ["-158, 210 mm", "-150, 210 mm", "-150, 240 mm", "-158, 240 mm"]}]}
    found = verdict(car(hose, tyre={"kind": "tyre", "dimensions": {"size": "225/45 R16 89W"}},
                        relief="15 mm"), "tyre-room", "t", "w")
    assert (found.verdict, found.work) == ("fits_with_work", ("bend",))


def test_the_edges_are_told_beside_stock() -> None:
    parts = {"t": dict(TYRE), "w": wheel("35 mm"), "stock-t": dict(TYRE), "stock-w": wheel("40 mm")}
    fitted = {"front-tyre": "stock-t", "front-wheel": "stock-w"}
    says = verdict(small_car(parts, fitted=fitted), "tyre-edges", "t", "w").says
    # 103.21 + 35 inboard, 103.21 - 35 outboard; 5 mm less offset moves both by 5 mm.
    assert "138.2 mm inboard, 68.2 mm outboard" in says
    assert "-5.0 and +5.0 mm against stock" in says


@settings(max_examples=25, deadline=None)
@given(offset=st.integers(20, 55), more=st.integers(1, 10))
def test_more_offset_never_gives_more_room_inboard(offset: int, more: int) -> None:
    less, greater = (
        verdict(car(offset=f"{o} mm"), "tyre-room", "t", "w") for o in (offset, offset + more)
    )
    assert less.margin is not None
    assert greater.margin is not None
    assert greater.margin < less.margin


@settings(max_examples=25, deadline=None)
@given(offset=st.integers(0, 60), tolerance=st.integers(0, 5), limit=st.integers(0, 20))
def test_the_worst_case_is_never_better_and_units_never_decide(
    offset: int, tolerance: int, limit: int
) -> None:
    wall = {"outline": WALL, "tolerance": f"{tolerance} mm"}
    metric = verdict(car(wall, offset=f"{offset} mm", limit=f"{limit} mm"), "tyre-room", "t", "w")
    inch = verdict(
        car({"outline": WALL, "tolerance": f"{tolerance / 10} cm"}, offset=f"{offset / 10} cm",
            limit=f"{limit / 10} cm"), "tyre-room", "t", "w",
    )
    assert metric.worst_case is not None
    assert metric.margin is not None
    assert metric.worst_case <= metric.margin
    assert inch.verdict == metric.verdict
    assert inch.margin == pytest.approx(metric.margin, abs=1e-6)
