"""Corner weights as an answer: the worked example of the reference (section 8), and where each
value comes from. All check values are computed: statics of a rigid body on four springs.
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.catalogue import Catalogue, load_texts
from kb.errors import QuestionError
from rules.setup import CornerQuestion, CornerWeights, corner_weights

G = 9.80665
NAMES = ("left_front", "right_front", "left_rear", "right_rear")
SCALES = (3102.99 / G, 3016.36 / G, 2859.93 / G, 2788.70 / G)  # rows 8-01 and 8-02
RATES = (30.0, 30.0, 25.0, 25.0)
X = (1250.0, 1250.0, -1250.0, -1250.0)
Y = (750.0, -750.0, 740.0, -740.0)


def catalogue(**more: Any) -> Catalogue:
    """The worked example: wheel rates of 30 and 25 N/mm as springs at half the wheel's travel."""
    axles = ("front", "rear")
    kinds = ("spring", "damper")
    fitted = {f"{axle}-{kind}": f"{kind}-{axle[0]}" for axle in axles for kind in kinds}
    parts: dict[str, Any] = {}
    for axle, rate in (("front", 120), ("rear", 100)):
        for kind, dimensions in (
            ("spring", {"rate": f"{rate} N/mm"}), ("damper", {"perch_pitch": "2 mm"}),
        ):
            parts[f"{kind}-{axle[0]}"] = {"kind": kind, "name": f"{axle} {kind}",
                                          "takes": [f"{axle}-{kind}"], "dimensions": dimensions}
    parts["soft"] = {"kind": "spring", "name": "soft spring", "takes": ["front-spring"],
                     "dimensions": {"rate": "80 N/mm"}}
    facts = [
        {"about": "layout", "wheelbase": "2.5 m", "basis": "measured", "source": "tape"},
        {"about": "stance", "axle": "front", "track": "1500 mm", "bar_rate": "8 N/mm"},
        {"about": "stance", "axle": "rear", "track": "1480 mm", "bar_rate": "0 N/mm"},
        *({"about": "suspension", "axle": axle, "spring_motion_ratio": 0.5} for axle in axles),
    ]
    return load_texts({"all.yaml": json.dumps({
        "catalog": {"name": "small"}, "parts": parts, "vehicles": {"tern": {
            "name": "Tern", "years": "2015", "variants": {"t": {"name": "T", "engine": "e"}},
            "places": {place: {"count": 2, "axle": place.split("-")[0]} for place in fitted},
            "fitted": fitted, "facts": facts, **more,
        }},
    })})


KNOWN = catalogue()


def ask(
    scales: Any = SCALES, *, cross: float = 50.0, room: float = 50.0,
    corners: dict[str, Any] | None = None, known: Catalogue | None = None, **more: Any,
) -> CornerWeights:
    each = {
        name: {"scale": scale, "room_down": room, "room_up": room, **(corners or {}).get(name, {})}
        for name, scale in zip(NAMES, scales, strict=True)
    }
    return corner_weights(known or KNOWN, CornerQuestion.model_validate(
        {"vehicle": "tern", "corners": each, "cross": cross, **more}
    ))


def settled(perches: Any, bar: float = 0.0) -> tuple[Any, Any]:
    """Loads in N and body heights in mm after perch moves, solved anew with numpy.

    Seven unknowns: four loads, and heave, pitch and roll. Each load is its spring's squeeze, and
    the loads keep the weight's sum and moments (reference section 8, A and K).
    """
    attitude = np.column_stack([np.ones(4), X, Y])
    springs = np.diag(RATES)
    both = springs.copy()
    both[:2, :2] += bar * np.array([[1, -1], [-1, 1]])
    start = np.array(SCALES) * G
    at_wheel = np.array(perches) / 0.5
    system = np.block([[np.eye(4), both @ attitude], [attitude.T, np.zeros((3, 3))]])
    right = np.concatenate([start + springs @ at_wheel, attitude.T @ start])
    solved = np.linalg.solve(system, right)
    return solved[:4], attitude @ solved[4:]


def test_reading_the_scales() -> None:
    found = ask((312, 298, 287, 303))  # row 8-12
    assert found.total == 1200
    assert found.now.cross == pytest.approx(48.75, abs=0.005)
    assert found.now.left == pytest.approx(49.92, abs=0.005)
    assert found.now.front == pytest.approx(50.83, abs=0.005)


def test_the_turns_bring_the_cross_weight_by_an_independent_solution() -> None:
    found = ask(cross=50.5)
    assert found.outcome == "reached"
    loads, heights = settled([corner.move for corner in found.corners])
    assert (loads[1] + loads[2]) / loads.sum() == pytest.approx(0.505, abs=1e-5)
    assert [corner.scale_after * G for corner in found.corners] == pytest.approx(loads, abs=0.01)
    assert [corner.height_change for corner in found.corners] == pytest.approx(heights, abs=0.01)
    assert [c.turns for c in found.corners] == [pytest.approx(c.move / 2) for c in found.corners]


def test_the_worked_example_backwards() -> None:
    # Row 8-09 takes the cross from 49.935 to (3016.36 - 33.819 + 2859.93 - 34.276) / 11 767.98 =
    # 49.3568 per cent, which is a warp of 33.77 N (row 8-03: 1, -1, -1.0135, 1.0135). Where no
    # height may change, each spring makes its share alone: 33.77 / 30 = 1.126 mm in front and
    # 34.23 / 25 = 1.369 mm behind, at the wheel. At half the wheel's travel the perches move half
    # of that, at a pitch of 2 mm a quarter in turns: 0.281 and 0.342.
    level = {name: {"height": 300, "wanted_height": 300} for name in NAMES}
    found = ask(cross=49.3568, corners=level)
    assert found.outcome == "reached"
    assert [c.turns for c in found.corners] == pytest.approx(
        [0.2814, -0.2814, -0.3423, 0.3423], abs=0.0005
    )
    assert [c.scale_after - c.scale for c in found.corners] == pytest.approx(
        [33.819 / G, -33.819 / G, -34.276 / G, 34.276 / G], abs=0.02
    )
    assert max(abs(c.height_change) for c in found.corners) < 0.01


def test_heights_and_cross_weight_together() -> None:
    wanted = {name: {"height": 300, "wanted_height": 290} for name in NAMES}
    found = ask(cross=50.0, corners=wanted)
    loads, heights = settled([corner.move for corner in found.corners])
    assert found.outcome == "reached"
    assert (loads[1] + loads[2]) / loads.sum() == pytest.approx(0.5, abs=1e-4)
    assert heights == pytest.approx([-10] * 4, abs=0.2)


def test_a_bar_that_is_still_connected_counts_with_its_rate() -> None:
    found = ask(cross=49.5, bars_connected=True)
    loads, _ = settled([corner.move for corner in found.corners], bar=8.0)
    assert (loads[1] + loads[2]) / loads.sum() == pytest.approx(0.495, abs=1e-5)
    assert any("disconnected" in note for note in ask().notes)
    assert not any("disconnected" in note for note in found.notes)


def test_a_thread_that_is_too_short_is_said_with_what_is_missing() -> None:
    found = ask(cross=55.0, room=2.0)
    assert found.outcome == "short"
    assert all(corner.at_limit for corner in found.corners)
    assert found.after is not None
    assert found.cross_from is not None
    assert found.cross_to == pytest.approx(found.after.cross, abs=1e-6)
    assert found.cross_from < found.now.cross < found.cross_to < 55
    assert any("the threads end" in note for note in found.notes)


def test_four_heights_that_no_rigid_body_has_are_named_as_such() -> None:
    odd = {name: {"height": 300, "wanted_height": 300} for name in NAMES[1:]}
    found = ask(corners={**odd, "left_front": {"height": 300, "wanted_height": 320}})
    assert found.outcome == "short"
    assert any("one plane" in note for note in found.notes)


def test_the_question_wins_over_the_catalogue_and_both_say_where_from() -> None:
    found = ask(corners={name: {"spring_rate": 50} for name in NAMES[:2]}, wheelbase=2400)
    basis = {value.name: (value.value, value.basis) for value in found.values}
    assert basis["spring rate, left front"] == ("50", "question")
    assert basis["spring rate, left rear"] == ("100 N/mm", "catalogue: rear spring")
    assert basis["wheelbase"] == ("2400", "question")
    assert {v.name: v.basis for v in ask().values}["wheelbase"] == "measured: tape"


def test_a_spring_fitted_in_place_of_the_stock_one_is_read() -> None:
    found = ask(parts=("soft",))
    basis = {value.name: value.basis for value in found.values}
    assert basis["spring rate, right front"] == "catalogue: soft spring"
    with pytest.raises(QuestionError, match="no part 'sofd'"):
        ask(parts=("sofd",))


def test_what_is_known_nowhere_is_asked_for_and_nothing_is_assumed() -> None:
    found = ask(corners={"left_rear": {"room_up": None, "wanted_height": 300}},
                known=catalogue(fitted={}, facts=[]))
    assert (found.outcome, found.corners) == ("not_known", ())
    asked = [measure.what for measure in found.measure_first]
    assert "thread left above the perch (left rear)" in asked
    assert "height of the body now (left rear)" in asked
    assert "spring rate (left front, right front, left rear, right rear)" in asked
    assert "wheelbase" in asked
    assert "front track" in asked


def test_a_value_of_the_catalogue_that_no_car_has_is_said() -> None:
    facts = [{"about": "suspension", "spring_motion_ratio": 7}]
    sizes = {"wheelbase": 2500, "front_track": 1500, "rear_track": 1480}
    found = ask(known=catalogue(facts=facts), **sizes)
    assert found.outcome == "not_known"
    assert any("motion ratio must be from 0.3 to 1.5" in note for note in found.notes)


def test_every_answer_carries_its_cautions_and_what_perches_cannot_do() -> None:
    """Ride height and corner weights are set last, on the ground: common practice, no source."""
    found = ask()
    assert any("set last" in caution for caution in found.cautions)
    assert any("stands" in caution for caution in found.cautions)
    assert any("52.0% on the front" in note and "only moving mass" in note for note in found.notes)


@given(st.lists(st.floats(200, 400), min_size=4, max_size=4), st.floats(47, 53))
@settings(max_examples=15, deadline=None)
def test_weight_and_its_moments_never_change(scales: list[float], cross: float) -> None:
    found = ask(scales, cross=cross, known=KNOWN)
    assert found.after is not None
    assert found.after.front == pytest.approx(found.now.front, abs=1e-6)
    after = [corner.scale_after for corner in found.corners]
    assert sum(after) == pytest.approx(found.total)
    assert np.dot(after, Y) == pytest.approx(np.dot(scales, Y), abs=1e-3)
    # Each axle keeps its load and the car its moment, so what the left front gains the left rear
    # loses in the ratio of the tracks: the left share moves by no more and no less than this.
    gained = after[0] - scales[0]
    moved = 100 * gained * (1 - Y[0] / Y[2]) / found.total
    assert found.after.left - found.now.left == pytest.approx(moved, abs=1e-6)
