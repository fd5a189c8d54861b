"""Springs on their dampers, rated loads, ride frequencies and damping. Worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.checking import Verdict
from tests.support.chassis import Data, chassis, noted, part, verdict, verdicts

# 540 kg on the axle, 60 kg of it unsprung: 240 kg a corner, 2353.6 N at a motion ratio of 1.
FACTS = (
    {"about": "load", "axle": "front", "mass": "540 kg"},
    {"about": "suspension", "axle": "front", "spring_motion_ratio": "1",
     "damper_motion_ratio": "1", "unsprung_mass": "60 kg"},
)
MAIN = {"rate": "50 N/mm", "free_length": "200 mm", "block_length": "80 mm"}
STRUT = {"travel": "120 mm", "bump_stop": "30 mm", "shortest_seat_gap": "190 mm",
         "longest_seat_gap": "240 mm"}
FIXED = {"shortest_seat_gap": "195 mm", "longest_seat_gap": "195 mm"}
HELPER = {"rate": "5 N/mm", "free_length": "60 mm", "block_length": "20 mm"}
LIMITS = {"bump_reserve": "40 mm", "droop_reserve": "20 mm", "coil_gap": "5 mm"}


def on_damper(
    main: Data, strut: Data, helper: Data | None = None, facts: tuple[Any, ...] = FACTS
) -> dict[str, Verdict]:
    parts = {"f-spring": part("spring", **main), "f-damper": part("damper", **strut)}
    if helper:
        parts["f-helper"] = part("helper-spring", **helper)
    return verdicts(chassis(parts, facts=facts, limits=LIMITS), "spring-on-damper", *parts)


def test_a_spring_on_a_fixed_seat() -> None:
    # Squeeze 2353.6 / 50 = 47.07 mm, 5 mm of it preload: 42.07 mm of 120 compressed, 35 %.
    found = on_damper(MAIN, STRUT | FIXED)
    assert found["droop travel"].margin == pytest.approx(42.07, abs=0.01)
    assert found["bump travel"].margin == pytest.approx(120 - 30 - 42.07, abs=0.01)
    # At full compression the seats are 195 - 120 = 75 mm apart: 5 mm less than the spring at block.
    assert found["coil bind"].margin == pytest.approx(-5.0)
    assert found["coil bind"].verdict == "does_not_fit"
    assert found["seated"].margin == pytest.approx(5.0)
    values = noted(found["seated"])
    assert values["preload"] == "5.0 mm, 250 N"
    assert values["static position in the stroke"] == "35%"
    # Row 7-21's formula: 15.761/sqrt(47.07) = 2.297 Hz.
    assert values["ride frequency there"] == "2.30 Hz"


def test_the_perch_is_set_for_the_bump_travel_and_gives_the_coils_room() -> None:
    # Wanted compression 120 - 30 - 40 = 50 mm: gap 50 + 200 - 47.07 = 202.93 mm, in the thread.
    found = on_damper(MAIN, STRUT)
    assert found["bump travel"].margin == pytest.approx(40.0)
    assert found["bump travel"].verdict == "fits"
    assert found["coil bind"].margin == pytest.approx(202.93 - 120 - 80, abs=0.01)
    # The spring is 2.93 mm short of that gap: loose at full droop.
    assert found["seated"].verdict == "does_not_fit"
    assert found["seated"].margin == pytest.approx(-2.93, abs=0.01)


def test_a_helper_spring_only_takes_up_the_slack() -> None:
    # Fact of the trade (common practice, no source). The helper closes at 5 · 40 = 200 N, after
    # 200/(5·50/55) = 44 mm; then (2353.6 - 200)/50 = 43.07 mm more, 87.07 in all. Free 260 mm:
    # gap 50 + 260 - 87.07 = 222.93; coils 222.93 - 120 - 80 - 20 = 2.93 mm apart, as without it.
    found = on_damper(MAIN, STRUT, HELPER)
    assert found["seated"].verdict == "fits"
    assert found["seated"].margin == pytest.approx(37.07, abs=0.01)
    assert found["coil bind"].margin == pytest.approx(2.93, abs=0.01)
    values = noted(found["seated"])
    assert values["helper spring at ride height"] == "closed"
    assert values["spring rate there"] == "50.0 N/mm"


def test_ten_and_twelve_inch_springs_take_their_helpers() -> None:
    # Fact of the trade: 10 in front and 12 in rear main springs use helper springs that only take
    # up the slack (common practice, no source). 254 mm in a gap of 280 is loose, with 60 mm of
    # helper it is not; so is 304.8 mm in a gap of 330.
    for length, gap in (("10 in", "280 mm"), ("12 in", "330 mm")):
        main = MAIN | {"free_length": length}
        strut = STRUT | {"shortest_seat_gap": gap, "longest_seat_gap": gap}
        assert on_damper(main, strut)["seated"].verdict == "does_not_fit"
        with_helper = on_damper(main, strut, HELPER)["seated"]
        assert with_helper.verdict == "fits"
        assert noted(with_helper)["helper spring at ride height"] == "closed"


def test_a_crushed_bump_stop_keeps_the_coils_apart() -> None:
    found = on_damper(MAIN, STRUT | FIXED | {"bump_stop_crushed": "12 mm"})
    assert found["coil bind"].margin == pytest.approx(7.0)
    assert found["coil bind"].verdict == "fits"


def test_a_spring_apart_from_its_damper_moves_by_its_own_ratio() -> None:
    # Spring 0.8, damper 1.0: load 2353.6/0.8 = 2942 N, squeeze 58.84; stroke at the spring 96 mm.
    # Gap 195: compressed 53.84 at the spring, 67.30 mm at the damper, 22.70 to the stop.
    facts = (FACTS[0], FACTS[1] | {"spring_motion_ratio": "0.8"})
    found = on_damper(MAIN, STRUT | FIXED, facts=facts)
    assert found["bump travel"].margin == pytest.approx(22.70, abs=0.01)
    assert found["coil bind"].margin == pytest.approx(195 - 96 - 80)


def test_the_wire_gives_what_is_not_stated() -> None:
    # Row 7-12 (computed): wire 12.5, mean diameter 110, 6 coils: 30.30 N/mm. Block 7.5 · 12.5 =
    # 93.75 mm. Least gaps by the formula of row 7-03: 1.5·6·(0.0015·110²/12.5 + 1.25) = 24.3 mm.
    wire = {"free_length": "300 mm", "wire": "12.5 mm", "mean_diameter": "110 mm",
            "active_coils": "6", "total_coils": "7.5"}
    strut = STRUT | {"shortest_seat_gap": "270 mm", "longest_seat_gap": "270 mm"}
    found = on_damper(wire, strut)["coil bind"]
    assert found.margin == pytest.approx(270 - 120 - 93.75)
    assert found.required == pytest.approx(24.318, abs=1e-3)
    assert noted(found)["rate from its wire"] == "30.3 N/mm"


def test_a_load_that_closes_every_coil_is_refused() -> None:
    found = on_damper(MAIN | {"rate": "15 N/mm"}, STRUT)[""]
    assert found.verdict == "does_not_fit"
    assert "closes every coil" in found.says


def test_a_wide_spring_does_not_sit_on_a_narrow_seat() -> None:
    found = on_damper(MAIN | {"inner_diameter": "128 mm"}, STRUT | {"spring_diameter": "60 mm"})
    assert found["seat"].verdict == "does_not_fit"


def test_what_was_not_measured_is_asked_for() -> None:
    strut = {name: value for name, value in STRUT.items() if name != "bump_stop"}
    found = on_damper(MAIN, strut, facts=FACTS[:1])[""]
    assert found.verdict == "not_known"
    assert found.measure == (
        "bump stop of damper", "spring motion ratio of the car's front suspension",
        "damper motion ratio of the car's front suspension",
        "unsprung mass of the car's front suspension",
    )


masses = st.integers(380, 700)


@settings(max_examples=25, deadline=None)
@given(mass=masses, more=st.integers(5, 60), spread=st.integers(0, 12))
def test_a_heavier_axle_never_gains_room(mass: int, more: int, spread: int) -> None:
    def room(kg: int) -> Verdict:
        facts = ({"about": "load", "axle": "front", "mass": f"{kg} ± {spread} kg"}, FACTS[1])
        return on_damper(MAIN | {"free_length": "230 mm"}, STRUT, facts=facts)["coil bind"]

    light, heavy = room(mass), room(mass + more)
    assert light.margin is not None
    assert heavy.margin is not None
    assert light.worst_case is not None
    assert heavy.margin <= light.margin + 1e-9
    assert light.worst_case <= light.margin


def rating(mass: str, engine: bool = False) -> Verdict:
    parts = {"f-spring": part("spring", axle_mass_from="550 kg", axle_mass_to="640 kg"),
             "old": part("engine") | {"mass": "90 kg", "orderable": "false"}}
    if engine:
        parts["new"] = part("engine") | {"mass": "130 kg", "price": "900.00 EUR"}
    facts = ({"about": "load", "axle": "front", "mass": mass},
             {"about": "suspension", "axle": "front", "engine_share": "1"})
    catalogue = chassis(parts, facts=facts, fitted=("old",))
    if engine:
        return verdict(catalogue, "spring-rating-engine", "f-spring", "new")
    return verdict(catalogue, "spring-rating", "f-spring")


@pytest.mark.parametrize(("mass", "expected", "margin"), [
    ("612 ± 6 kg", "fits", 28.0), ("636 ± 6 kg", "not_known", 4.0),
    ("701 ± 6 kg", "does_not_fit", -61.0), ("540 kg", "does_not_fit", -10.0),
])
def test_a_spring_is_for_a_range_of_axle_masses(mass: str, expected: str, margin: float) -> None:
    found = rating(mass)
    assert (found.verdict, found.margin) == (expected, pytest.approx(margin))


def test_another_engine_changes_the_mass_on_the_axle() -> None:
    found = rating("612 ± 6 kg", engine=True)
    assert found.verdict == "does_not_fit"
    assert found.margin == pytest.approx(640 - (612 + 40))


def ride(front: str, rear: str, **limits: str) -> Verdict:
    parts = {"f-spring": part("spring", **MAIN | {"rate": front}),
             "r-spring": part("spring", **MAIN | {"rate": rear})}
    facts = [
        {"about": about, "axle": axle, **known} for axle in ("front", "rear")
        for about, known in (
            ("load", {"mass": "620 kg"}),
            ("suspension", {"unsprung_mass": "60 kg", "spring_motion_ratio": "0.7"}),
        )
    ]
    return verdict(chassis(parts, facts=facts, limits=limits), "ride-frequency", *parts)


def test_front_and_rear_frequencies_are_compared() -> None:
    # Rows 7-18 and 7-22: 60 N/mm at 0.70 is 29.4 N/mm at the wheel, 1.631 Hz with 280 kg; the
    # rear with 80 N/mm sqrt(80/60) = 1.1547 times that.
    found = ride("60 N/mm", "80 N/mm", pitch_least="1", pitch_most="1.25")
    assert found.verdict == "fits"
    assert found.margin == pytest.approx(1.25 - 1.1547, abs=1e-4)
    assert noted(found)["front ride frequency"] == "1.63 Hz"
    assert noted(found)["front wheel rate"] == "29.4 N/mm"


def test_a_rear_too_soft_is_refused_with_the_rate_that_would_do() -> None:
    # sqrt(40/60) = 0.8165 of the front; 0.9 wants 60 · 0.81 = 48.6 N/mm.
    found = ride("60 N/mm", "40 N/mm")
    assert found.verdict == "does_not_fit"
    assert found.margin == pytest.approx(0.8165 - 0.9, abs=1e-4)
    assert noted(found)["nearest rear spring rate that goes with the front"] == "48.6 N/mm"


def damping(soft: str, firm: str) -> Verdict:
    parts = {"f-damper": part("damper", softest=soft, firmest=firm),
             "f-spring": part("spring", **MAIN)}
    return verdict(chassis(parts, facts=FACTS), "damping-range", *parts)


def test_the_adjuster_covers_a_range_of_damping_ratios() -> None:
    # Critical 2·sqrt(50,000 · 240) = 6928.2 N·s/m: 1732 is a ratio of 0.25, 3464 of 0.50.
    found = damping("1732 N·s/m", "3464 N·s/m")
    assert found.verdict == "fits"
    assert found.margin == pytest.approx(0.30, abs=1e-3)
    assert "0.25 to 0.50" in found.says
    assert noted(found)["of the sport band (0.4 to 0.7) it covers"] == "33%"


def test_a_damper_too_weak_for_its_spring_is_refused() -> None:
    assert damping("300 N·s/m", "1200 N·s/m").verdict == "does_not_fit"
