"""Work that moves what is in the way: it counts for what it truly gains, in its direction."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.asking import demo_folder
from kb.baseline import find_baseline
from kb.catalogue import Catalogue, folder_texts, load_texts
from rules import answers as a
from rules.audit import audit
from rules.checking import Verdict, checks
from rules.checks.moves import STILL
from rules.engineering.sections import Points
from rules.engineering.tolerance import plus_minus
from rules.engineering.wheel_room import WheelAndTyre, largest_envelope, room_clearance
from rules.possible import impossible_parts
from rules.resolve import package
from rules.situation import Member, situation_of
from rules.verify import verify
from tests.support.combinations import small_car, verdict

# By hand, as in test_tyre_room.py: at 40 mm offset the tyre reaches 143.21 mm inboard, at worst
# 147.34, and 295 mm from the axis, at worst 298.68. Outboard it reaches 63.21, at worst 67.34.
TYRE = {"kind": "tyre", "dimensions": {"size": "205/45 R16 83W"}}
WHEEL = {"kind": "wheel", "dimensions": {"rim": "7 J x 16", "offset": "40 mm"}}
Obstacle = dict[str, Any]


def block(left: float, bottom: float, right: float, top: float) -> list[str]:
    return [f"{x:g}, {y:g} mm" for x, y in
            ((left, bottom), (right, bottom), (right, top), (left, top))]


WALL: Obstacle = {"outline": block(-200, 200, -160, 320)}
"""Inboard, flat and upright: 16.79 mm away, at worst 12.66."""
LIP: Obstacle = {"outline": block(-148, 310, -120, 330)}
"""Straight above the tread: 15 mm away, at worst 11.32."""
CORNER: Obstacle = {"outline": block(-170, 310, -160, 330)}
"""Off the shoulder: 16.79 and 15 mm away, at worst 12.66 and 11.32."""
EDGE: Obstacle = {"outline": block(80, 200, 100, 320)}
"""Outboard, flat and upright: 16.79 mm away, at worst 12.66."""


def step(name: str, *reliefs: tuple[str, str | None]) -> dict[str, Any]:
    return {
        "name": name, "effect": "room", "minutes": "5 min", "reversible": True,
        "relieves": [
            {"obstacle": "thing", "by": by} | ({"direction": way} if way else {})
            for by, way in reliefs
        ],
    }


def car(thing: Obstacle, limit: str, more: dict[str, Any] | None = None,
        **steps: dict[str, Any]) -> Catalogue:
    room = {"about": "room", "axle": "front", "obstacles": {"thing": {"name": "thing", **thing}}}
    parts = {"t": dict(TYRE), "w": dict(WHEEL), **(more or {})}
    return small_car(parts, facts=[room], limits={"tyre_room": limit}, work=steps)


def judged(thing: Obstacle, limit: str, *reliefs: tuple[str, str | None]) -> Verdict:
    return verdict(car(thing, limit, bend=step("Bend it", *reliefs)), "tyre-room", "t", "w")


@pytest.mark.parametrize(("thing", "limit", "way", "says"), [
    # A gap that lies across: 12.66 + 5 leaves 17.66.
    pytest.param(WALL, "17 mm", "inboard", "fits_with_work", id="wall inboard, moved inboard"),
    pytest.param(WALL, "17 mm", "away-from-axis", "does_not_fit", id="wall inboard, moved up"),
    pytest.param(WALL, "17 mm", "towards-axis", "does_not_fit", id="wall inboard, moved down"),
    pytest.param(WALL, "17 mm", "outboard", "does_not_fit", id="wall inboard, moved nearer"),
    # A gap that stands upright: 11.32 + 5 leaves 16.32.
    pytest.param(LIP, "16 mm", "away-from-axis", "fits_with_work", id="lip above, moved up"),
    pytest.param(LIP, "16 mm", "inboard", "does_not_fit", id="lip above, moved inboard"),
    pytest.param(LIP, "16 mm", "outboard", "does_not_fit", id="lip above, moved outboard"),
    pytest.param(EDGE, "17 mm", "outboard", "fits_with_work", id="edge outboard, moved outboard"),
    pytest.param(EDGE, "17 mm", "inboard", "does_not_fit", id="edge outboard, moved nearer"),
])
def test_five_millimetres_count_only_where_they_give_room(
    thing: Obstacle, limit: str, way: str, says: str
) -> None:
    found = judged(thing, limit, ("5 mm", way))
    assert found.verdict == says
    assert found.work == (("bend",) if says == "fits_with_work" else ())


def test_what_is_left_after_the_work_is_said() -> None:
    found = judged(WALL, "17 mm", ("5 mm", "inboard"))
    assert found.says.endswith("; after 'Bend it' 21.8 mm, worst case 17.7")
    useless = judged(WALL, "17 mm", ("5 mm", "away-from-axis"))
    assert useless.says.endswith("; after 'Bend it' only 16.8 mm, worst case 12.7")
    assert "21.8 mm, worst 17.7 mm" in {used.value for used in found.values}


def test_off_a_corner_a_move_gains_less_than_its_length() -> None:
    # At worst hypot(12.66, 11.32) = 16.98. Inboard by 4: hypot(16.66, 11.32) = 20.14.
    found = judged(CORNER, "20 mm", ("4 mm", "inboard"))
    assert found.verdict == "fits_with_work"
    assert "worst case 20.1" in found.says
    assert judged(CORNER, "20.5 mm", ("4 mm", "inboard")).verdict == "not_known"


def test_what_one_step_states_of_an_obstacle_happens_together() -> None:
    # Inboard alone leaves 20.14, upwards alone hypot(12.66, 14.32) = 19.11, both 21.97.
    inboard, up = ("4 mm", "inboard"), ("3 mm", "away-from-axis")
    assert judged(CORNER, "21 mm", inboard).work == ()
    assert judged(CORNER, "21 mm", up).work == ()
    assert judged(CORNER, "21 mm", inboard, up).work == ("bend",)


def test_steps_are_judged_one_by_one_and_any_that_is_enough_will_do() -> None:
    steps = {
        "little": step("Bend it a little", ("2 mm", "inboard")),
        "much": step("Bend it much", ("5 mm", "inboard")),
        "off": step("Take it off", ("80 mm", "inboard")),
        "up": step("Lift it", ("5 mm", "away-from-axis")),
    }
    found = verdict(car(WALL, "17 mm", **steps), "tyre-room", "t", "w")
    assert found.work == ("much", "off")


def test_without_a_direction_no_room_is_counted_and_it_is_said_why() -> None:
    for reliefs in ((("50 mm", None),), (("50 mm", "inboard"), ("1 mm", None))):
        found = judged(WALL, "17 mm", *reliefs)
        assert (found.verdict, found.work) == ("does_not_fit", ())
        assert "'Bend it' does not count: it is not stated in which direction" in found.says
    # Where the tolerances decide, measuring still settles it.
    assert judged(WALL, "13 mm", ("50 mm", None)).verdict == "not_known"


def test_the_tolerance_of_a_move_counts_in_the_worst_case() -> None:
    # 12.66 + 5 - 1 = 16.66
    assert judged(WALL, "16.6 mm", ("5 ± 1 mm", "inboard")).verdict == "fits_with_work"
    assert judged(WALL, "16.7 mm", ("5 ± 1 mm", "inboard")).verdict == "not_known"


def test_a_move_counts_in_every_state() -> None:
    states = [{"state": "ride-height"}, {"state": "full-lock", "outline": EDGE["outline"]}]
    # Inboard of the tyre at ride height, outboard of it at full lock: what helps one spoils the
    # other.
    found = judged({**WALL, "states": states}, "17 mm", ("5 mm", "inboard"))
    assert (found.verdict, found.work) == ("does_not_fit", ())
    assert "only 11.8 mm, worst case 7.7" in found.says


def test_a_part_of_the_body_is_moved_before_the_wheel_rises() -> None:
    states = [{"state": "full-compression", "rise": "80 mm", "camber": "0 deg"}]
    above = {"outline": block(-100, 385, 50, 430), "states": states}
    # 385 - 80 - 295 = 10, at worst 6.32.
    assert judged(above, "11 mm", ("5 mm", "away-from-axis")).says.endswith(
        "after 'Bend it' 15.0 mm, worst case 11.3")
    assert judged(above, "11 mm", ("5 mm", "inboard")).verdict == "does_not_fit"


# -- work that takes room -------------------------------------------------------------------------


def question(*picks: str) -> a.Question:
    return a.Question(
        vehicle="tern", picks=tuple(a.Item(part=part) for part in picks), alternatives=False,
    )


def shop(way: str) -> Catalogue:
    """The edge outboard clears by 12.66 mm, 8 are required; a part on sale takes the work."""
    lamp = {"kind": "item", "name": "Lamp", "price": "5.00 EUR", "work": [{"step": "bend"}]}
    return car(EDGE, "8 mm", {"lamp": lamp}, bend=step("Bend it", ("5 mm", way)))


def test_work_that_takes_the_room_goes_with_nothing_that_needs_it() -> None:
    found = verdict(shop("inboard"), "tyre-room", "t", "w")
    assert (found.verdict, found.spoilt_by) == ("fits", (("bend",),))
    assert "after 'Bend it' only 11.8 mm, worst case 7.7" in found.says
    answer = package(shop("inboard"), question("t", "w", "lamp"))
    assert answer.outcome == "impossible"
    texts = [member.text for clash in answer.clashes for member in clash.members]
    assert any("after 'Bend it' only 11.8 mm" in text for text in texts)
    assert package(shop("inboard"), question("t", "w")).outcome != "impossible"
    assert package(shop("outboard"), question("t", "w", "lamp")).outcome != "impossible"


def test_two_steps_that_take_the_room_together_are_not_done_together() -> None:
    # Each alone leaves 9.66 mm, both 6.66; 8 are required.
    parts = {
        name: {"kind": "item", "name": name, "price": "5.00 EUR", "work": [{"step": work}]}
        for name, work in (("lamp", "bend"), ("horn", "fold"))
    }
    steps = {name: step(name.title(), ("3 mm", "inboard")) for name in ("bend", "fold")}
    known = car(EDGE, "8 mm", parts, **steps)
    found = verdict(known, "tyre-room", "t", "w")
    assert (found.verdict, found.spoilt_by) == ("fits", (("bend", "fold"),))
    assert "after 'Bend' and 'Fold' only 10.8 mm, worst case 6.7" in found.says
    for picks, possible in ((("lamp",), True), (("horn",), True), (("lamp", "horn"), False)):
        answer = package(known, question("t", "w", *picks))
        assert (answer.outcome != "impossible") is possible


def test_the_audit_finds_the_part_whose_work_takes_the_room_of_what_it_needs() -> None:
    lamp = {"kind": "item", "name": "Lamp", "price": "5.00 EUR", "work": [{"step": "bend"}],
            "requires": [{"part": "t"}, {"part": "w"}]}

    for way, dead in (("inboard", {"lamp"}), ("outboard", set())):
        known = car(EDGE, "8 mm", {"lamp": lamp}, bend=step("Bend it", ("5 mm", way)))
        assert impossible_parts(known, find_baseline(known, "tern")) == dead
        found = {each.entry for each in audit(known).findings if each.code == "dead-part"}
        assert found == {f"parts/{part}" for part in dead}


def test_the_re_check_finds_work_that_takes_the_room() -> None:
    harmless, harmful = shop("outboard"), shop("inboard")
    answer = package(harmless, question("t", "w", "lamp"))
    assert verify(harmless, answer, question("t", "w", "lamp")) == []
    passed_off = answer.model_copy(update={
        "catalog": answer.catalog.model_copy(update={"digest": harmful.digest})})
    faults = verify(harmful, passed_off, question("t", "w", "lamp"))
    assert faults == ["'t' with 'w' does not pass 'tyre-room' after work in the package"]


def test_the_re_check_refuses_work_that_gives_no_room_there() -> None:
    up, inboard = (
        car(WALL, "17 mm", bend=step("Bend it", ("5 mm", way)))
        for way in ("away-from-axis", "inboard")
    )
    answer = package(inboard, question("t", "w"))
    assert [work.step for work in answer.work] == ["bend"]
    passed_off = answer.model_copy(update={
        "catalog": answer.catalog.model_copy(update={"digest": up.digest})})
    assert "'t' with 'w' does not pass 'tyre-room'" in verify(up, passed_off, question("t", "w"))


def test_a_trial_fit_outranks_what_work_would_do_to_the_gap() -> None:
    room = {"about": "room", "axle": "front", "obstacles": {"thing": {"name": "thing", **EDGE}}}
    tried = small_car(
        {"t": dict(TYRE), "w": dict(WHEEL)}, facts=[room], limits={"tyre_room": "8 mm"},
        work={"bend": step("Bend it", ("5 mm", "inboard"))},
        trials={"drove": {"parts": ["t", "w"], "verdict": "fits", "basis": "trial_fitted"}},
    )
    assert verdict(tried, "tyre-room", "t", "w").spoilt_by == ()


# -- laws -----------------------------------------------------------------------------------------

SECTION = WheelAndTyre(
    section_width=plus_minus(206.4, 4.0), overall_diameter=plus_minus(590.0, 5.0),
    rim_diameter=405.0, rim_width=177.8, offset=plus_minus(40.0, 0.5), shoulder_radius=12.0,
)
LEFT, BOTTOM, RIGHT, TOP = largest_envelope(SECTION).bounds
far = st.floats(0.0, 60.0)
size = st.floats(2.0, 80.0)


@st.composite
def outlines(draw: st.DrawFn, left: float, bottom: float, right: float, top: float) -> Points:
    """A triangle or a box slanted at will, wholly within bounds."""
    spots = draw(st.lists(
        st.tuples(st.floats(left, right), st.floats(bottom, top)), min_size=3, max_size=3))
    (x1, y1), (x2, y2), (x3, y3) = spots
    if abs((x2 - x1) * (y3 - y1) - (x3 - x1) * (y2 - y1)) < 1.0:
        return [(left, bottom), (right, bottom), (right, top), (left, top)]
    return spots


SIDES = {
    "inboard": outlines(LEFT - 90, BOTTOM - 60, LEFT, TOP + 60),
    "outboard": outlines(RIGHT, BOTTOM - 60, RIGHT + 90, TOP + 60),
    "away-from-axis": outlines(LEFT - 60, TOP, RIGHT + 60, TOP + 90),
    "towards-axis": outlines(LEFT - 60, BOTTOM - 90, RIGHT + 60, BOTTOM),
}
WAYS = {"inboard": (-1, 0), "outboard": (1, 0), "away-from-axis": (0, 1), "towards-axis": (0, -1)}


@settings(max_examples=150, deadline=None)
@given(data=st.data(), way=st.sampled_from(sorted(SIDES)), by=far)
def test_away_from_the_side_it_stands_on_nothing_ever_comes_nearer(
    data: st.DataObject, way: str, by: float
) -> None:
    corners, (x, y) = data.draw(SIDES[way]), WAYS[way]
    moved = STILL._replace(outboard=x * by, from_axis=y * by).of(corners)
    before, after = room_clearance(SECTION, corners, 1.0), room_clearance(SECTION, moved, 1.0)
    assert after.nominal >= before.nominal - 1e-6
    assert after.worst >= before.worst - 1e-6


@settings(max_examples=100, deadline=None)
@given(gap=st.floats(0.0, 30.0), by=st.floats(-20.0, 20.0), thick=size)
def test_along_a_flat_gap_a_move_gains_nothing(gap: float, by: float, thick: float) -> None:
    # A wall that reaches 20 mm and more beyond the tyre at both ends, and a roof that does.
    wall = [(LEFT - gap - thick, BOTTOM - 25), (LEFT - gap, BOTTOM - 25),
            (LEFT - gap, TOP + 25), (LEFT - gap - thick, TOP + 25)]
    roof = [(LEFT - 25, TOP + gap), (RIGHT + 25, TOP + gap),
            (RIGHT + 25, TOP + gap + thick), (LEFT - 25, TOP + gap + thick)]
    for corners, along in ((wall, STILL._replace(from_axis=by)),
                           (roof, STILL._replace(outboard=by))):
        before = room_clearance(SECTION, corners)
        assert room_clearance(SECTION, along.of(corners)) == pytest.approx(before, abs=1e-6)


@settings(max_examples=150, deadline=None)
@given(
    corners=outlines(LEFT - 80, BOTTOM - 80, RIGHT + 80, TOP + 80),
    x=st.floats(-40, 40), y=st.floats(-40, 40), tolerance=st.floats(0, 5),
)
def test_no_gap_changes_by_more_than_a_move_reaches(
    corners: Points, x: float, y: float, tolerance: float
) -> None:
    move = STILL._replace(outboard=x, from_axis=y, tolerance=tolerance)
    before = room_clearance(SECTION, corners, 1.0)
    after = room_clearance(SECTION, move.of(corners), 1.0 + tolerance)
    assert abs(after.nominal - before.nominal) <= move.reach + 1e-6
    assert abs(after.worst - before.worst) <= move.reach + 1e-6


@settings(max_examples=40, deadline=None)
@given(
    left=st.integers(-230, 70), bottom=st.integers(190, 330), limit=st.integers(0, 25),
    by=st.integers(0, 30), way=st.sampled_from(sorted(WAYS)), up=st.integers(0, 30),
)
def test_the_verdict_after_work_is_that_of_a_car_measured_after_it(
    left: int, bottom: int, limit: int, by: int, way: str, up: int
) -> None:
    # The same obstacle measured again after the work is the truth that the check foretells.
    x, y = WAYS[way]
    reliefs = [(f"{by} mm", way)]
    if x:
        reliefs.append((f"{up} mm", "away-from-axis"))
    dx, dy = x * by, y * by + (up if x else 0)
    thing = {"outline": block(left, bottom, left + 30, bottom + 40)}
    again = {"outline": block(left + dx, bottom + dy, left + 30 + dx, bottom + 40 + dy)}
    before = verdict(car(thing, f"{limit} mm"), "tyre-room", "t", "w")
    told = judged(thing, f"{limit} mm", *reliefs)
    true = verdict(car(again, f"{limit} mm"), "tyre-room", "t", "w")
    if before.verdict == "fits":
        assert told.verdict == "fits"
        assert (true.verdict != "fits") == (told.spoilt_by == (("bend",),))
    else:
        assert (told.verdict == "fits_with_work") == (true.verdict == "fits")


@settings(max_examples=40, deadline=None)
@given(
    left=st.integers(-230, 70), bottom=st.integers(190, 330), limit=st.integers(0, 25),
    moves=st.lists(
        st.tuples(st.integers(0, 25), st.sampled_from(sorted(WAYS))), min_size=2, max_size=2),
)
def test_what_two_steps_do_together_never_passes_unseen(
    left: int, bottom: int, limit: int, moves: list[tuple[int, str]]
) -> None:
    thing = {"outline": block(left, bottom, left + 30, bottom + 40)}
    steps = {name: step(name, (f"{by} mm", way))
             for name, (by, way) in zip(("bend", "fold"), moves, strict=True)}
    told = verdict(car(thing, f"{limit} mm", **steps), "tyre-room", "t", "w")
    dx = sum(WAYS[way][0] * by for by, way in moves)
    dy = sum(WAYS[way][1] * by for by, way in moves)
    again = {"outline": block(left + dx, bottom + dy, left + 30 + dx, bottom + 40 + dy)}
    true = verdict(car(again, f"{limit} mm"), "tyre-room", "t", "w")
    if told.verdict in ("fits", "fits_with_work") and true.verdict != "fits":
        assert told.spoilt_by


# -- the demo -------------------------------------------------------------------------------------


def demo(way: str, by: str = "9 mm") -> Catalogue:
    texts = dict(folder_texts(demo_folder())[0])
    stated = '{obstacle: front-hose, by: "9 mm", direction: inboard}'
    (name,) = (name for name, text in texts.items() if stated in text)
    moved = f'{{obstacle: front-hose, by: "{by}", direction: {way}}}'
    return load_texts({**texts, name: texts[name].replace(stated, moved)})


def hose(catalogue: Catalogue) -> Verdict:
    at = situation_of(catalogue, find_baseline(catalogue, "quernby", 2017, "q16"))
    parts = (Member("tyre-hover-16"), Member("wheel-scarp-16"))
    found = at.verdicts(checks()["tyre-room"], parts, "front")
    return next(verdict for verdict in found if verdict.aspect == "front-hose")


def test_the_hose_below_the_rim_gains_less_than_it_moves() -> None:
    # At full lock the hose stands under the inner edge of the rim and overlaps its section by
    # 0.2 mm upwards. The edge is (177.8 + 25) / 2 + 42 = 143.4 mm inboard. Moved 9 mm inboard the
    # hose stands at 142.4 + 9 = 151.4: 8.0 mm beside it, not 9 - 0.2; 7.0 with its own 1 mm.
    found = hose(demo("inboard"))
    assert found.margin == pytest.approx(-0.2, abs=0.05)
    assert found.verdict == "fits_with_work"
    assert found.says.endswith("after 'Move the front hose bracket' 8.0 mm, worst case 7.0")


@pytest.mark.parametrize(("way", "by", "left"), [
    ("inboard", "6.9 mm", "5.9 mm, worst case 4.9"),
    ("outboard", "9 mm", "-0.2 mm, worst case -1.2"),
    ("away-from-axis", "9 mm", "-1.0 mm, worst case -2.0"),
    ("towards-axis", "6 mm", "5.8 mm, worst case 4.8"),
])
def test_the_same_hose_moved_otherwise_is_still_in_the_way(way: str, by: str, left: str) -> None:
    found = hose(demo(way, by))
    assert found.verdict == "does_not_fit"
    assert f"after 'Move the front hose bracket' only {left}" in found.says
