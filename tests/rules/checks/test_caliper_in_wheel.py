"""A caliper inside a wheel, worked out by hand beside each check."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.catalogue import Catalogue
from tests.support.combinations import small_car, verdict, verdicts

BARREL = ["-110, 185 mm", "-40, 178 mm", "35, 178 mm"]
SPOKES = ["26, 60 mm", "20, 140 mm", "28, 178 mm"]


def box(outboard: float, height: float) -> list[str]:
    return ["-90, 100 mm", f"{outboard}, 100 mm", f"{outboard}, {height} mm", f"-90, {height} mm"]


def car(
    outboard: float = 12.0, height: float = 170.0, *, spacer: str | None = None,
    caliper: str | None = None, wheel: str | None = None, limits: dict[str, str] | None = None,
    barrel: list[str] | None = None,
) -> Catalogue:
    parts: dict[str, dict[str, Any]] = {
        "c": {"kind": "caliper", "dimensions": {"outline": box(outboard, height)}},
        "w": {"kind": "wheel", "dimensions": {
            "rim": "7.5 J x 17", "barrel": barrel or BARREL, "spokes": SPOKES}},
    }
    if caliper:
        parts["c"]["dimensions"]["outline_tolerance"] = caliper
    if wheel:
        parts["w"]["dimensions"]["profile_tolerance"] = wheel
    if spacer:
        parts["s"] = {"kind": "spacer", "dimensions": {"thickness": spacer}}
    return small_car(parts, limits=limits)


def test_radial_and_axial_room_by_hand() -> None:
    found = verdicts(car(), "caliper-in-wheel", "c", "w")
    # Radial: the barrel is lowest, 178 mm, from -40 mm outboard; 178 - 170 = 8.
    assert found["radial"].margin == pytest.approx(8.0)
    # Axial: the spokes come furthest in at 140 mm from the axis: 20 - 12 = 8.
    assert found["axial"].margin == pytest.approx(8.0)
    assert {v.verdict for v in found.values()} == {"fits"}


def test_the_tolerances_of_caliper_and_wheel_add_up_in_the_worst_case() -> None:
    found = verdicts(car(caliper="0.8 mm", wheel="0.7 mm"), "caliper-in-wheel", "c", "w")
    assert found["radial"].worst_case == pytest.approx(8.0 - 1.5)
    assert found["axial"].worst_case == pytest.approx(8.0 - 1.5)


def test_a_spacer_moves_the_spokes_away_but_not_the_barrel() -> None:
    found = verdicts(car(outboard=19, spacer="5 ± 0.1 mm"), "caliper-in-wheel", "c", "w", "s")
    assert found["axial"].margin == pytest.approx(20 - 19 + 5)
    assert found["axial"].worst_case == pytest.approx(20 - 19 + 4.9)
    assert found["radial"].margin == pytest.approx(8.0)
    bare = verdicts(car(outboard=19), "caliper-in-wheel", "c", "w")
    assert bare["axial"].verdict == "does_not_fit"  # 1 mm where 3 are required


@pytest.mark.parametrize(("height", "says"), [(174, "fits"), (174.5, "not_known"),
                                              (176, "does_not_fit")])
def test_a_hair_decides(height: float, says: str) -> None:
    # Required 3 mm, tolerance 1 mm: 178 - 174 - 1 = 3.0; 2.5 in the worst case; 2 nominal.
    found = verdicts(car(height=height, caliper="1 mm"), "caliper-in-wheel", "c", "w")
    assert found["radial"].verdict == says


def test_the_shop_sets_how_much_is_required() -> None:
    limits = {"caliper_radial": "9 mm", "caliper_axial": "0.3 in"}
    found = verdicts(car(limits=limits), "caliper-in-wheel", "c", "w")
    assert found["radial"].verdict == "does_not_fit"
    assert found["axial"].verdict == "fits"  # 0.3 in = 7.62 mm


def test_a_profile_that_stops_short_is_to_be_measured_further() -> None:
    found = verdict(car(barrel=["-60, 180 mm", "35, 178 mm"]), "caliper-in-wheel", "c", "w")
    assert found.verdict == "not_known"
    assert "barrel" in found.measure[0]
    assert "-90" in found.measure[0]


@pytest.mark.parametrize("height", [179.0, 190.0])
def test_a_caliper_larger_than_the_barrel_strikes_it_though_the_spokes_end_there(
    height: float,
) -> None:
    found = verdicts(car(height=height), "caliper-in-wheel", "c", "w")
    assert found["radial"].margin == pytest.approx(178 - height)
    assert found["radial"].verdict == "does_not_fit"


def test_missing_profiles_are_named() -> None:
    parts: dict[str, Any] = {"c": {"kind": "caliper", "dimensions": {"outline": box(12, 170)}},
                             "w": {"kind": "wheel"}}
    found = verdict(small_car(parts), "caliper-in-wheel", "c", "w")
    assert found.measure == ("barrel of wheel", "spokes of wheel")


def test_common_practice_a_six_piston_caliper_on_a_12_88_inch_disc_in_a_17_inch_wheel() -> None:
    # Common practice, no source: a disc of 12.88 in with a six-piston caliper clears inside a
    # 17 inch wheel. The disc is 327.2 mm; 25.4 x 17 - 102 = 329.8 mm is usual.
    parts = {"d": {"kind": "brake-disc", "dimensions": {"diameter": "12.88 in"}},
             "w": {"kind": "wheel", "dimensions": {"rim": "9 J x 17"}}}
    says = verdict(small_car(parts), "disc-in-wheel", "d", "w").says
    assert "is within what a 17 inch wheel usually admits (about 330 mm)" in says


@settings(max_examples=20, deadline=None)
@given(height=st.integers(150, 176), more=st.integers(0, 8))
def test_a_larger_caliper_never_has_more_room(height: int, more: int) -> None:
    small, large = (
        verdicts(car(height=h), "caliper-in-wheel", "c", "w")["radial"].margin
        for h in (height, height + more)
    )
    assert small is not None
    assert large is not None
    assert large <= small
