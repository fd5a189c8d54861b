"""Bolt circle, thread in the nuts, and what bolts bear."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.catalogue import Catalogue
from tests.support.combinations import small_car, verdict, verdicts


def on_hub(wheel: dict[str, Any], hub: dict[str, Any]) -> Catalogue:
    return small_car({"w": {"kind": "wheel", "dimensions": wheel}},
                     facts=[{"about": "hub", "axle": "front", **hub}])


@pytest.mark.parametrize(("spacing", "says"), [
    # Chord of a circle: 4 x 108 has its holes 108 sin(pi / 4) = 76.368 mm apart.
    ("76.37 ± 0.1 mm", "fits"), ("76.5 ± 0.2 mm", "not_known"), ("74.2 ± 0.2 mm", "does_not_fit"),
])
def test_a_circle_from_the_distance_of_neighbouring_holes(spacing: str, says: str) -> None:
    found = verdict(on_hub({"bolt_circle": "4 x 108"}, {"holes": 4, "hole_spacing": spacing}),
                    "wheel-bolt-circle", "w")
    assert found.verdict == says


def test_a_ruler_does_not_tell_112_from_114_3() -> None:
    # The spacings differ by 1.352 mm (computed): half a millimetre either way is too coarse.
    ruler = {"holes": 5, "hole_spacing": "66.5 ± 0.5 mm"}
    for circle in ("5 x 112", "5 x 114.3"):
        found = verdict(on_hub({"bolt_circle": circle}, ruler), "wheel-bolt-circle", "w")
        assert found.verdict == "not_known"
        assert found.measure


def test_an_inch_circle_is_its_metric_label() -> None:
    at = on_hub({"bolt_circle": "5 x 4.5 in"}, {"bolt_circle": "5 x 114.3"})
    assert verdict(at, "wheel-bolt-circle", "w").verdict == "fits"


def test_a_bore_that_may_be_too_small_is_to_be_measured() -> None:
    at = on_hub({"centre_bore": "59.02 mm"}, {"spigot": "59.0 ± 0.05 mm"})
    found = verdict(at, "wheel-centre-bore", "w")
    assert found.verdict == "not_known"
    assert found.worst_case == pytest.approx(-0.03)


def studs(
    length: str = "27 mm", *, seat: str = "12 mm", nut: dict[str, Any] | None = None,
    spacer: str | None = None, limits: dict[str, Any] | None = None, **stud: Any,
) -> Catalogue:
    parts: dict[str, Any] = {
        "n": {"kind": "wheel-nut", "dimensions": {
            "thread": "M12 x 1.5", "thread_length": "18 mm", "seat": "cone-60", **(nut or {})}},
        "w": {"kind": "wheel", "dimensions": {"nut_seat": "cone-60", "seat_thickness": seat}},
        "s": {"kind": "wheel-stud", "dimensions": {
            "thread": "M12 x 1.5", "length": length, **stud}},
    }
    if spacer:
        parts["p"] = {"kind": "spacer", "dimensions": {"thickness": spacer}}
    return small_car(parts, limits=limits)


@pytest.mark.parametrize(("length", "says", "engaged"), [
    # One diameter, 12 mm, is the least (attributed to SAE practice, secondary).
    ("24 mm", "fits", 12.0), ("24.3 ± 0.5 mm", "not_known", 12.3), ("23 mm", "does_not_fit", 11.0),
    ("60 mm", "fits", 18.0),  # all the thread the nut has
])
def test_thread_in_the_nut(length: str, says: str, engaged: float) -> None:
    found = verdict(studs(length), "nut-engagement", "n", "w", "s")
    assert found.verdict == says
    assert found.margin == pytest.approx(engaged)


def test_a_spacer_and_a_lead_in_take_thread_away() -> None:
    found = verdict(studs("27 mm", spacer="5 mm", lead_in="2 mm"),
                    "nut-engagement", "n", "w", "s", "p")
    assert found.margin == pytest.approx(27 - 12 - 5 - 2)
    assert found.verdict == "does_not_fit"
    noted = {value.name: value.value for value in found.values}
    assert noted["shortest stud that will do"] == "31.0 mm"  # 12 + 5 + 2 + 12


def test_a_closed_nut_bottoms_on_a_long_stud() -> None:
    nut = {"closed": True, "depth": "24 mm"}
    found = verdicts(studs("37 mm", nut=nut), "nut-engagement", "n", "w", "s")
    # The tip stands 25 mm in the nut, whose closed end is at 24 mm.
    assert found["tip"].margin == pytest.approx(-1.0)
    assert found["tip"].verdict == "does_not_fit"
    assert found[""].verdict == "fits"
    unknown = verdicts(studs("37 mm", nut={"closed": True}), "nut-engagement", "n", "w", "s")
    assert unknown["tip"].measure == ("depth of wheel-nut",)


def test_the_hub_s_own_studs_are_judged_where_none_are_in_the_catalogue() -> None:
    catalogue = small_car(
        {"n": {"kind": "wheel-nut", "dimensions": {
            "thread": "1/2-20", "thread_length": "20 mm", "seat": "flat"}},
         "w": {"kind": "wheel", "dimensions": {"nut_seat": "flat", "seat_thickness": "10 mm"}}},
        facts=[{"about": "hub", "axle": "front", "stud_thread": "1/2-20",
                "stud_length": "1.25 in"}])
    found = verdict(catalogue, "nut-engagement-hub", "n", "w")
    assert found.margin == pytest.approx(20.0)  # 31.75 - 10 mm of stud, 20 mm of nut
    assert found.required == pytest.approx(12.7)


def test_nuts_and_studs_of_other_threads_are_left_to_the_thread_check() -> None:
    assert verdicts(studs(nut={"thread": "M14 x 1.5"}), "nut-engagement", "n", "w", "s") == {}


def test_a_weak_nut_does_not_go_on_a_strong_stud() -> None:
    # ISO 898-2 combinations (secondary): class 8 up to 8.8, class 10 up to 10.9.
    for nut, says in (("10", "fits"), ("8", "does_not_fit")):
        at = studs(nut={"nut_class": nut}, property_class="10.9")
        assert verdict(at, "nut-class", "n", "s").verdict == says


def test_what_a_bolt_bears() -> None:
    # M10 class 8.8 coarse: 33 640 N (printed 33 700), 50.6 N m at K 0.20 (rows computed).
    catalogue = small_car({"b": {"kind": "bolt", "dimensions": {
        "thread": "M10 x 1.5", "property_class": "8.8", "surface": "zinc"}}})
    says = verdict(catalogue, "bolt-strength", "b").says
    assert "proof load 33.6 kN" in says
    assert "torque about 50 N·m" in says
    assert "the maker's torque wins" in says


def test_an_inch_bolt_and_its_grade() -> None:
    # 3/8-24: 0.0878 in2 (computed); grade 8: 120 ksi (SAE J429, from memory): 10 536 lbf, 46.9 kN.
    catalogue = small_car({"b": {"kind": "bolt", "dimensions": {
        "thread": "3/8-24", "grade": "8", "surface": "zinc"}}})
    assert "proof load 46.9 kN" in verdict(catalogue, "bolt-strength", "b").says


def test_friction_stated_by_the_maker_gives_the_nut_factor() -> None:
    # M10 x 1.5, friction 0.12, bearing 13.25 mm: K 0.1659 (computed, ISO 16047 form).
    catalogue = small_car({"b": {"kind": "bolt", "dimensions": {
        "thread": "M10 x 1.5", "property_class": "8.8", "friction": 0.12,
        "bearing_diameter": "13.25 mm"}}})
    found = verdict(catalogue, "bolt-strength", "b")
    assert {v.name: v.value for v in found.values}["nut factor"] == "0.17"
    assert "torque about 42 N·m" in found.says  # 0.1659 x 10 x 0.75 x 33.63


def test_a_bolt_without_class_says_nothing() -> None:
    plain = small_car({"b": {"kind": "bolt", "dimensions": {"thread": "M10 x 1.5"}}})
    assert verdicts(plain, "bolt-strength", "b") == {}


@settings(max_examples=25, deadline=None)
@given(length=st.integers(20, 60), tolerance=st.integers(0, 3), spacer=st.integers(1, 25))
def test_a_spacer_never_adds_thread_and_the_worst_case_is_never_better(
    length: int, tolerance: int, spacer: int
) -> None:
    at = studs(f"{length} ± {tolerance} mm", spacer=f"{spacer} mm")
    bare = verdict(at, "nut-engagement", "n", "w", "s")
    spaced = verdict(at, "nut-engagement", "n", "w", "s", "p")
    assert bare.margin is not None
    assert spaced.margin is not None
    assert spaced.worst_case is not None
    assert spaced.margin <= bare.margin
    assert spaced.worst_case <= spaced.margin
