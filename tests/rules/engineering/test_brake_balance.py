"""Brake balance: textbook stops and shares, the lock order and the adhesion rule."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering import brake_balance as balance
from rules.engineering.brakes import stopping_distance

approx = pytest.approx

FOOT, LB, KMH_PER_MPH = 304.8, 0.45359237, 1.609344
BEVAN = "Bevan, The Theory of Machines, Ch. 8 Ex. 6 p. 264 (verified textbook)"
MERIAM = "Meriam & Kraige, Dynamics, Sample Problem 6/1 p. 422 (equations verified; computed)"
ECE = "UN R13-H Annex 5 (from memory)"

CAR = balance.MassLayout(1200, 2500, 500, 1150)
BEVAN_CAR = balance.MassLayout(1000, 9.5 * FOOT, 2 * FOOT, 5.5 * FOOT)
MERIAM_CAR = balance.MassLayout(3220 * LB, 120 * 25.4, 24 * 25.4, 60 * 25.4)


def bevan_distance(front_share: float | None, grip: float) -> float:
    """Feet from 30 mph; None for the share means that all wheels are on the point of sliding."""
    rate = grip if front_share is None else balance.rate_before_lock(BEVAN_CAR, front_share, grip)
    metres = stopping_distance(30 * KMH_PER_MPH, rate)
    # The book takes g = 32.2 ft/s², 0.08 % more than the standard: well inside the tolerance.
    return metres * 1000 / FOOT


def bevan_force_ratio(grip: float) -> float:
    front, rear = balance.ideal_forces(BEVAN_CAR, grip)
    return front / rear


def meriam_loads() -> list[float]:
    loads = balance.axle_loads(MERIAM_CAR, braking_rate=-(44**2 / 400) / 32.2, grade=0.10)
    return [newton / 9.80665 / LB for newton in loads]


# row, quantity, source and status, computed by us, expected
CHECKS = [
    ("5-01", "rear only 0.1", BEVAN, lambda: bevan_distance(0, 0.1), approx(530, rel=2e-3)),
    ("5-02", "front only 0.1", BEVAN, lambda: bevan_distance(1, 0.1), approx(699, rel=2e-3)),
    ("5-03", "all wheels 0.1", BEVAN, lambda: bevan_distance(None, 0.1), approx(301, rel=2e-3)),
    ("5-04", "rear only 0.6", BEVAN, lambda: bevan_distance(0, 0.6), approx(97.5, rel=2e-3)),
    ("5-04", "front only 0.6", BEVAN, lambda: bevan_distance(1, 0.6), approx(104, rel=2e-3)),
    ("5-04", "all wheels 0.6", BEVAN, lambda: bevan_distance(None, 0.6), approx(50.1, rel=2e-3)),
    ("5-05", "ratio 0.1", BEVAN, lambda: bevan_force_ratio(0.1), approx(0.792, rel=2e-3)),
    ("5-05", "ratio 0.6", BEVAN, lambda: bevan_force_ratio(0.6), approx(1.21, rel=2e-3)),
    ("5-06", "axle loads", MERIAM, meriam_loads, approx([1441.1, 1762.9], rel=1e-3)),
    ("5-14", "front load", "moments (computed)", lambda: balance.axle_loads(CAR, 0.8).front,
     approx(8237.6, abs=0.1)),
    ("5-14", "rear load", "moments (computed)", lambda: balance.axle_loads(CAR, 0.8).rear,
     approx(3530.4, abs=0.1)),
    ("5-14", "front share", "moments (computed)", lambda: balance.ideal_front_share(CAR, 0.8),
     approx(0.700, abs=5e-4)),
    ("5-15", "forces at 0.6", "z·N (computed)", lambda: balance.ideal_forces(CAR, 0.6),
     approx((4660.1, 2400.7), abs=0.1)),
    ("5-15", "forces at 1.0", "z·N (computed)", lambda: balance.ideal_forces(CAR, 1.0),
     approx((8708.3, 3059.7), abs=0.1)),
    ("5-16", "critical 0.65", "computed", lambda: balance.critical_rate(CAR, 0.65),
     approx(0.55, abs=1e-3)),
    ("5-16", "critical 0.70", "computed", lambda: balance.critical_rate(CAR, 0.70),
     approx(0.80, abs=1e-3)),
    ("5-16", "critical 0.75", "computed", lambda: balance.critical_rate(CAR, 0.75),
     approx(1.05, abs=1e-3)),
    ("5-17", "grip used", "computed", lambda: balance.grip_used(CAR, 0.70, 0.5),
     approx((0.5469, 0.4167), abs=1e-4)),
    ("5-19", "least rate 0.2", ECE, lambda: balance.least_rate_required(0.2), approx(0.10)),
    ("5-19", "least rate 0.3", ECE, lambda: balance.least_rate_required(0.3), approx(0.17)),
    ("5-19", "least rate 0.5", ECE, lambda: balance.least_rate_required(0.5), approx(0.31)),
    ("5-19", "least rate 0.8", ECE, lambda: balance.least_rate_required(0.8), approx(0.52)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("source", "got", "expected"),
    [check[2:] for check in CHECKS],
    ids=[f"{row} {quantity}" for row, quantity, *_ in CHECKS],
)
def test_check_value(source, got, expected):
    assert got() == expected, source


def test_front_share_of_the_hardware_counts_the_tyre_radii():
    same = balance.installed_front_share(2000, 1000, 310, 310)
    taller_front = balance.installed_front_share(2000, 1000, 330, 310)
    assert same == approx(2 / 3)
    assert taller_front < same


def test_layout_from_axle_scales_matches_the_layout_by_distance():
    assert balance.MassLayout.from_axles(648, 552, 2500, 500) == CAR


def test_below_the_critical_rate_the_front_locks_first_and_above_it_the_rear():
    order = [balance.first_to_lock(CAR, 0.70, rate) for rate in (0.3, 0.79, 0.8, 0.81, 1.1)]
    assert order == ["front", "front", None, "rear", "rear"]


# Order rule over 0.15..0.80: computed from the critical rates of row 5-16.
@pytest.mark.parametrize(
    ("front_share", "order_holds"), [(0.65, False), (0.699, False), (0.701, True), (0.75, True)]
)
def test_adhesion_rule_asks_the_front_axle_to_lock_first(front_share, order_holds):
    rule = balance.check_adhesion_rule(CAR, front_share)
    assert rule.order_holds is order_holds
    assert rule.holds is order_holds, "the demand on the braking rate is met by all of these"


def test_front_brakes_alone_break_the_demand_on_a_nose_light_car():
    nose_light = balance.MassLayout(1000, 2500, 400, 1600)
    rule = balance.check_adhesion_rule(nose_light, 1.0)
    assert rule.order_holds
    assert not rule.demand_holds
    assert not rule.holds
    assert rule.axle == "front"
    assert rule.least_margin < 0


layouts = st.builds(
    balance.MassLayout,
    st.floats(500, 3500),
    st.floats(2000, 3500),
    st.floats(300, 750),
    st.floats(850, 1200),
)
shares = st.floats(0.05, 0.95)


@given(layouts, st.floats(0, 1), st.floats(0, 1))
def test_ideal_front_share_rises_with_the_braking_rate(layout, one, other):
    low, high = sorted((one, other))
    assert balance.ideal_front_share(layout, low) <= balance.ideal_front_share(layout, high)


@given(layouts, st.floats(0, 1))
def test_axle_loads_add_up_to_the_weight(layout, rate):
    assert sum(balance.axle_loads(layout, rate)) == approx(layout.weight)


@given(layouts, shares, st.floats(0.1, 1))
def test_an_axle_uses_exactly_the_grip_at_its_lock_rate(layout, share, grip):
    rate = balance.rate_before_lock(layout, share, grip)
    assert max(balance.grip_used(layout, share, rate)) == approx(grip)
    assert rate <= grip * (1 + 1e-9), "no fixed share stops better than both axles at the limit"


@given(layouts, shares)
def test_closed_form_of_the_rule_agrees_with_a_fine_sweep_of_the_curves(layout, share):
    rule = balance.check_adhesion_rule(layout, share)
    grips = [0.2 + 0.6 * step / 600 for step in range(601)]
    swept = min(
        rate - balance.least_rate_required(min(grip, 0.8))
        for grip in grips
        for rate in balance.lock_rates(layout, share, grip)
    )
    assert rule.least_margin <= swept + 1e-9
    assert rule.least_margin == approx(swept, abs=1e-4)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: balance.MassLayout(1200, 2500, 500, 2500), "less than wheelbase"),
        (lambda: balance.MassLayout(-1, 2500, 500, 1150), "mass must be greater than zero"),
        (lambda: balance.axle_loads(balance.MassLayout(900, 1200, 900, 500), 1.0), "rear axle"),
        (lambda: balance.axle_loads(CAR, math.nan), "braking rate must be from -2 to 2"),
        (lambda: balance.critical_rate(CAR, 65), "front share must be from 0 to 1"),
        (lambda: balance.least_rate_required(0.9), "grip must be from 0.2 to 0.8"),
        (lambda: balance.installed_front_share(0, 0, 300, 300), "sum of brake torques"),
    ],
)
def test_arguments_outside_the_range_are_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()
