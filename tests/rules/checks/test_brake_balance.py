"""Which axle locks first, and how much of the grip is used? Each value worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.checking import Verdict
from tests.support.chassis import Data, chassis, noted, part, verdict, verdicts

BRAKES = ("f-caliper", "f-disc", "f-pad", "r-caliper", "r-disc", "r-pad")
# Reference rows 5-14 and 5-16 (computed): 1200 kg, wheelbase 2.5 m, centre 0.5 m high and 1.15 m
# behind the front axle, so 648 kg front and 552 kg rear; both axles lock together at 0.80 g with
# a front share of 0.70.
LAYOUT = (
    {"about": "load", "axle": "front", "mass": "648 kg"},
    {"about": "load", "axle": "rear", "mass": "552 kg"},
    {"about": "layout", "wheelbase": "2500 mm", "centre_height": "500 mm"},
)
FULL_PRESSURE = {"about": "hydraulics", "rear_pressure_share": "1"}


def disc_brake(axle: str, piston: str, friction: str, diameter: str) -> dict[str, Data]:
    """A floating caliper with one piston; the pad is 40 mm tall and flush with the disc's edge."""
    return {
        f"{axle}-caliper": part("caliper", mounting="floating", pistons_per_side="1",
                                piston_diameter=piston),
        f"{axle}-disc": part("brake-disc", diameter=diameter),
        f"{axle}-pad": part("brake-pad", friction=friction, height="40 mm"),
    }


def car(
    front: str = "54 mm", rear: str = "36 mm", facts: tuple[Any, ...] = (*LAYOUT, FULL_PRESSURE),
    mu: str = "0.4", **more: Data,
) -> Any:
    brakes = disc_brake("f", front, mu, "280 mm") | disc_brake("r", rear, "0.4", "260 mm")
    return chassis(brakes | more, facts=facts)


def lock_order(catalogue: Any, *extra: str) -> Verdict:
    return verdicts(catalogue, "brake-balance", *BRAKES, *extra)["lock order, as driven"]


def test_the_share_follows_from_pistons_radii_and_friction() -> None:
    # Per bar 0.1 N/mm². Front 2·0.4·229.02·0.120 = 21.986 N·m, rear 2·0.4·101.79·0.110 = 8.957.
    # Share 21.986 / 30.943 = 0.7105; both lock at (0.7105 - 0.54) / 0.2 = 0.8526 g.
    found = lock_order(car())
    assert found.verdict == "fits"
    assert found.margin == pytest.approx(0.8526, abs=2e-4)
    assert found.required == 0.8
    assert noted(found)["front torque of a wheel per bar"] == "21.99 N·m"
    assert noted(found)["front share of the brake force"] == "0.711"
    assert "R13-H" in found.source


def test_too_much_rear_brake_is_refused_with_the_rate_where_the_rear_locks() -> None:
    # Rear piston 38 mm: 2·0.4·113.41·0.110 = 9.980; share 0.6878; (0.6878 - 0.54)/0.2 = 0.739 g.
    found = lock_order(car(rear="38 mm"))
    assert found.verdict == "does_not_fit"
    assert found.margin == pytest.approx(0.739, abs=5e-4)
    assert "locks first: 0.74 g" in found.says


def test_tolerances_decide_near_the_limit() -> None:
    # Piston 36.9 ± 0.3 mm: nominal 9.4105 -> share 0.70028 -> 0.8014 g; at 37.2 mm it is 0.7843 g.
    found = lock_order(car(rear="36.9 ± 0.3 mm"))
    assert found.verdict == "not_known"
    assert found.margin == pytest.approx(0.8014, abs=5e-4)
    assert found.worst_case == pytest.approx(0.7843, abs=5e-4)
    assert found.measure == ("brake force of each axle on a tester, as driven",)


def test_a_reducing_valve_in_the_car_counts() -> None:
    # 0.7 of 9.980 is 6.986: share 0.7589, so 1.094 g.
    valve = {"about": "hydraulics", "rear_pressure_share": "0.7"}
    assert lock_order(car(rear="38 mm", facts=(*LAYOUT, valve))).margin == pytest.approx(
        1.094, abs=2e-3
    )


def test_a_balance_valve_is_set_just_low_enough() -> None:
    # A share of 0.70 needs a rear of 21.986·0.3/0.7 = 9.423 N·m: 94 % of what the 38 mm piston
    # gives at full pressure.
    valve = {"v": part("balance-valve", least_share="0.5")}
    found = lock_order(car(rear="38 mm", **valve), "v")
    assert found.verdict == "fits"
    assert found.margin == pytest.approx(0.8, abs=1e-3)
    assert noted(found)["balance valve set so that the rear gets"] == "94% of the pressure"


def test_a_valve_that_cannot_go_low_enough_is_refused() -> None:
    valve = {"v": part("balance-valve", least_share="0.97")}
    assert lock_order(car(rear="38 mm", **valve), "v").verdict == "does_not_fit"


def test_the_grip_rule_is_judged_too() -> None:
    # Hardly any brake at the rear, a share of 0.98588: tightest at a grip of
    # (0.98588 - sqrt(0.54·0.98588/0.7))/0.2 = 0.569, where z = 0.569·0.54/(0.98588 - 0.1138) =
    # 0.3523 and the rule asks for 0.1 + 0.7·0.369 = 0.3583. Row 5-18 (from memory).
    found = verdicts(car(front="80 mm", rear="10 mm"), "brake-balance", *BRAKES)
    demand = found["grip used, as driven"]
    assert demand.verdict == "does_not_fit"
    assert demand.margin == pytest.approx(-0.0060, abs=3e-4)
    assert found["lock order, as driven"].verdict == "fits"


def test_a_laden_car_is_judged_as_well() -> None:
    laden = {"about": "layout", "laden_front": "700 kg", "laden_rear": "900 kg",
             "laden_centre_height": "600 mm"}
    found = verdicts(car(facts=(*LAYOUT, FULL_PRESSURE, laden)), "brake-balance", *BRAKES)
    # Front share at rest 0.4375, h/L 0.24: (0.7105 - 0.4375)/0.24 = 1.1376.
    assert found["lock order, fully laden"].margin == pytest.approx(1.1376, abs=1e-3)
    assert len(found) == 4


@pytest.mark.parametrize(("facts", "missing"), [
    (LAYOUT, "rear pressure share of the car's hydraulics"),
    ((*LAYOUT[:2], FULL_PRESSURE), "wheelbase of the car's layout"),
    ((*LAYOUT[1:], FULL_PRESSURE), "mass of the car's front load"),
])
def test_nothing_is_assumed_where_a_fact_is_missing(facts: tuple[Any, ...], missing: str) -> None:
    found = verdict(car(facts=facts), "brake-balance", *BRAKES)
    assert found.verdict == "not_known"
    assert missing in found.measure


def test_drums_at_the_rear_need_their_brake_factor() -> None:
    parts = disc_brake("f", "54 mm", "0.4", "280 mm") | {
        "r-drum": part("brake-drum", diameter="228 mm"), "r-shoe": part("brake-shoe"),
        "r-cylinder": part("wheel-cylinder", bore="22.2 mm"),
    }
    asked = ("brake-balance-drums", *BRAKES[:3], "r-drum", "r-shoe", "r-cylinder")
    facts = (*LAYOUT, FULL_PRESSURE)
    unknown = verdict(chassis(parts, facts=facts), *asked)
    assert unknown.measure == ("brake factor of brake shoe",)
    # C* 2: 2 · 38.708 · 0.114 = 8.8254 N·m; share 0.7136, so 0.868 g. Area: reference row 5-09.
    parts["r-shoe"] = part("brake-shoe", brake_factor="2")
    known = verdicts(chassis(parts, facts=facts), *asked)["lock order, as driven"]
    assert known.margin == pytest.approx(0.868, abs=1e-3)


def test_rear_brakes_outside_the_catalogue_are_known_from_a_tester() -> None:
    parts = disc_brake("f", "54 mm", "0.4", "280 mm") | {
        f"{axle}-tyre": part("tyre", size="205/55 R16 91V") for axle in "fr"
    }
    facts = (*LAYOUT, FULL_PRESSURE)
    asked = ("brake-balance-stated", *BRAKES[:3])
    fitted = ("f-tyre", "r-tyre")
    unknown = verdict(chassis(parts, facts=facts, fitted=fitted), *asked)
    assert unknown.measure == ("force per bar of the car's rear brake",)
    # 60 N per bar for the axle; front 2·21.986/0.316 = 139.15 N: share 0.6987, so 0.7936 g.
    tester = {"about": "rear-brake", "force_per_bar": "60 N"}
    found = verdicts(chassis(parts, facts=(*facts, tester), fitted=fitted), *asked)
    assert found["lock order, as driven"].margin == pytest.approx(0.7936, abs=1e-3)


def test_tyres_of_two_sizes_change_the_share() -> None:
    parts = {
        "f-tyre": part("tyre", size="205/45 R17 84W"), "r-tyre": part("tyre", size="245/40 R17"),
    }
    found = verdicts(car(**parts), "brake-balance-tyres", *BRAKES, "f-tyre", "r-tyre")
    # Radii 308 and 314 mm (616 and 628, reference size table): 71.38/(71.38 + 28.53) = 0.7145.
    assert found["lock order, as driven"].margin == pytest.approx(0.8725, abs=1e-3)
    assert not verdicts(
        car(**{key: part("tyre", size="205/45 R17 84W") for key in parts}),
        "brake-balance-tyres", *BRAKES, "f-tyre", "r-tyre",
    )


def test_pistons_of_several_sizes_add_up() -> None:
    # 30, 34 and 38 mm on one side: 706.86 + 907.92 + 1134.11 = 2748.9 mm², as one of 59.16 mm.
    several = car(**{"f-caliper": part(
        "caliper", mounting="fixed", piston_diameters=["30 mm", "34 mm", "38 mm"])})
    one = car(front="59.161 mm")
    assert lock_order(several).margin == pytest.approx(lock_order(one).margin, abs=1e-4)


diameters = st.integers(26, 44)


@settings(max_examples=25, deadline=None)
@given(rear=diameters, more=st.integers(1, 4), spread=st.integers(0, 9))
def test_more_rear_piston_never_helps_the_lock_order(rear: int, more: int, spread: int) -> None:
    less = lock_order(car(rear=f"{rear} ± 0.{spread} mm"))
    greater = lock_order(car(rear=f"{rear + more} ± 0.{spread} mm"))
    assert less.margin is not None
    assert greater.margin is not None
    assert less.worst_case is not None
    assert greater.margin < less.margin
    assert less.worst_case <= less.margin


@settings(max_examples=10, deadline=None)
@given(rear=diameters)
def test_the_unit_of_entry_never_changes_a_verdict(rear: int) -> None:
    in_mm, in_cm = lock_order(car(rear=f"{rear} mm")), lock_order(car(rear=f"{rear / 10:.1f} cm"))
    assert in_mm.verdict == in_cm.verdict
    assert in_mm.margin == pytest.approx(in_cm.margin, rel=1e-9)
