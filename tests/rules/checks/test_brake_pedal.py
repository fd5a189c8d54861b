"""Does the pedal stay high and light enough? Volumes and pressures worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.checking import Verdict
from tests.support.chassis import Data, chassis, noted, part, verdict, verdicts

LIMITS = {"piston_travel": "0.25 mm", "stroke_reserve": "12 mm"}
MASTER = {"bore": "22.2 mm", "stroke": "32 mm"}


def caliper(mounting: str, count: int, piston: str) -> Data:
    return part("caliper", mounting=mounting, pistons_per_side=str(count), piston_diameter=piston)


def reserve(
    front: Data, rear: Data, master: dict[str, str] | None = None, facts: tuple[Any, ...] = (),
    **limits: str,
) -> Verdict:
    parts = {
        "f-caliper": front, "r-caliper": rear, "m": part("master-cylinder", **(master or MASTER)),
    }
    catalogue = chassis(parts, limits=LIMITS | limits, facts=facts)
    return verdict(catalogue, "pedal-travel", "f-caliper", "r-caliper", "m")


def test_every_piston_takes_fluid() -> None:
    # Reference row 5-35 (computed): two wheels with two 44 mm pistons moved 0.25 mm take
    # 1520.5 mm³, here as fixed calipers with one piston a side; the same again at the rear.
    # Bore 22.2 mm is 387.08 mm² (row 5-09): 3041.1 / 387.08 = 7.856 mm, 24.144 of 32 left.
    found = reserve(caliper("fixed", 1, "44 mm"), caliper("fixed", 1, "44 mm"),
                    facts=({"about": "pedal", "ratio": "4.5"},))
    assert found.verdict == "fits"
    assert found.margin == pytest.approx(24.144, abs=2e-3)
    assert found.required == 12.0
    assert noted(found)["fluid that all pistons take"] == "3.04 cm³"
    assert noted(found)["pedal travel for it"] == "35 mm"


def test_a_floating_caliper_moves_its_piston_for_both_pads() -> None:
    # One 54 mm piston moved 2 x 0.25 mm takes as much as one on each side moved 0.25 mm.
    other = caliper("floating", 1, "34 mm")
    floating = reserve(caliper("floating", 1, "54 mm"), other)
    assert floating.margin == pytest.approx(reserve(caliper("fixed", 1, "54 mm"), other).margin)


def test_more_piston_area_asks_for_a_larger_master_bore() -> None:
    # Front 8 x 1320.25 x 0.5 = 5281.0, rear 2 x 907.92 x 1.0 = 1815.8: 7096.8 mm³. In a bore of
    # 20.64 mm (334.59 mm²) 21.211 mm of 34, so 12.789 left; 14 asked. Least bore:
    # sqrt(4/pi · 7096.8 / 20) = 21.26 mm.
    large, rear = caliper("fixed", 2, "41 mm"), caliper("floating", 1, "34 mm")
    limits = {"piston_travel": "0.5 mm", "stroke_reserve": "14 mm"}
    small = reserve(large, rear, {"bore": "20.64 mm", "stroke": "34 mm"}, **limits)
    assert small.verdict == "does_not_fit"
    assert small.margin == pytest.approx(12.789, abs=2e-3)
    assert noted(small)["least master bore for this stroke and reserve"] == "21.3 mm"
    assert reserve(large, rear, {"bore": "22.22 mm", "stroke": "34 mm"}, **limits).verdict == "fits"


def test_wheel_cylinders_have_two_pistons_each() -> None:
    # Rear 4 x 387.08 x 1.0 = 1548.3; front floating 54 mm 2 x 2290.2 x 0.5 = 2290.2 mm³.
    # 3838.5 / 387.08 = 9.917 of 32.
    parts = {
        "f-caliper": caliper("floating", 1, "54 mm"),
        "r-cylinder": part("wheel-cylinder", bore="22.2 mm"),
        "m": part("master-cylinder", **MASTER),
    }
    found = verdict(
        chassis(parts, limits=LIMITS), "pedal-travel-drums", "f-caliper", "r-cylinder", "m"
    )
    assert found.margin == pytest.approx(22.083, abs=3e-3)


def test_a_missing_stroke_is_asked_for() -> None:
    found = reserve(caliper("fixed", 1, "44 mm"), caliper("fixed", 1, "44 mm"), {"bore": "22.2 mm"})
    assert found.verdict == "not_known"
    assert found.measure == ("stroke of master cylinder",)


@settings(max_examples=20, deadline=None)
@given(piston=st.integers(28, 60), more=st.integers(1, 8), loose=st.integers(0, 5))
def test_the_reserve_shrinks_with_piston_size(piston: int, more: int, loose: int) -> None:
    rear = caliper("floating", 1, "34 mm")
    less = reserve(caliper("fixed", 2, f"{piston} ± 0.{loose} mm"), rear)
    greater = reserve(caliper("fixed", 2, f"{piston + more} ± 0.{loose} mm"), rear)
    assert less.margin is not None
    assert less.worst_case is not None
    assert greater.margin is not None
    assert greater.margin < less.margin
    assert less.worst_case <= less.margin


TYRE = {"size": "205/55 R16 91V"}  # radius 316 mm: ODd 632, reference size table


def effort(bore: str = "22.2 mm", **pedal: str) -> dict[str, Verdict]:
    parts: dict[str, Data] = {"m": part("master-cylinder", bore=bore, stroke="32 mm")}
    for axle in "fr":
        parts[f"{axle}-caliper"] = caliper("fixed", 2, "44 mm")
        parts[f"{axle}-disc"] = part("brake-disc", diameter="266 mm")
        parts[f"{axle}-pad"] = part("brake-pad", friction="0.38", height="40 mm")
        parts[f"{axle}-tyre"] = part("tyre", **TYRE)
    facts = (
        {"about": "pedal", **({"ratio": "4.5", "booster_gain": "1"} | pedal)},
        {"about": "hydraulics", "rear_pressure_share": "0.5"},
        {"about": "layout", "laden_front": "800 kg", "laden_rear": "700 kg"},
    )
    brakes = [f"{axle}-{name}" for axle in "fr" for name in ("caliper", "disc", "pad")]
    catalogue = chassis(parts, facts=facts, fitted=("f-tyre", "r-tyre"))
    return verdicts(catalogue, "pedal-effort", *brakes, "m")


def test_the_car_stops_with_500_newton_on_the_pedal() -> None:
    # Reference row 5-11 (computed): two 44 mm pistons a side, 0.38 and 113 mm give 910.9 N·m at
    # 34.877 bar, so 26.12 N·m per bar. 500 N x 4.5 / 387.08 mm² = 58.127 bar. Road force
    # 2 x 26.12 x (1 + 0.5) x 58.127 / 0.316 = 14,413 N on 1500 kg: 9.61 m/s².
    found = effort()["booster working"]
    assert found.verdict == "fits"
    assert found.margin == pytest.approx(9.61, abs=0.01)
    assert noted(found)["line pressure at 500 N"] == "58 bar"


def test_a_booster_adds_until_it_runs_out() -> None:
    # 2250 N at the rod, 4.5-fold would add 7875 N but the booster stops at 2700 N: 4950 N.
    found = effort(booster_gain="4.5", most_assist="2700 N")
    assert found["booster working"].margin == pytest.approx(9.61 * 4950 / 2250, abs=0.03)
    assert found["booster out"].margin == pytest.approx(9.61, abs=0.01)


def test_a_master_cylinder_too_large_is_too_heavy_a_pedal() -> None:
    # 28 mm: 615.75 mm², so 9.61 · 387.08 / 615.75 = 6.04 m/s², under the 6.43 of UN R13-H.
    found = effort(bore="28 mm")["booster working"]
    assert found.verdict == "does_not_fit"
    assert found.margin == pytest.approx(6.04, abs=0.01)
    assert effort(bore="28 mm")["booster out"].verdict == "fits"
