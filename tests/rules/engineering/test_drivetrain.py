"""Clutch, shaft and fuel supply of an engine swap: textbook values and laws."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering import drivetrain

approx = pytest.approx

HP, LB = 0.745699872, 0.45359237
KHURMI = "Khurmi & Gupta, Theory of Machines (verified textbook)"


def wear_clamp(pressure: float, outer: float, inner: float) -> float:
    """Clamp in N from the highest lining pressure in N/mm², uniform wear (Khurmi & Gupta)."""
    return 2 * math.pi * pressure * inner * (outer - inner)


def pounds_per_hour(power_hp: float, pounds_per_hp_h: float, injectors: int) -> float:
    grams_per_kwh = pounds_per_hp_h * LB * 1000 / HP
    flow = drivetrain.injector_flow(power_hp * HP, grams_per_kwh, injectors, 0.80, density=0.72)
    return flow * 0.72 * 60 / LB


def khurmi_10_23() -> float:
    return drivetrain.clutch_capacity(wear_clamp(0.1, 150, 100), 0.3, 2, 150, 100).bedded


def khurmi_10_28_power() -> float:
    torque = drivetrain.clutch_capacity(wear_clamp(0.127, 125, 75), 0.3, 4, 125, 75).bedded
    return torque * 2 * math.pi * 500 / 60 / 1000


def injected_volume() -> float:
    """cc for each injection: six cylinders, four-stroke, 3000 rev/min."""
    return drivetrain.fuel_flow(125, 200, 0.85) * 1000 / (6 * 1500)


# row, quantity, source and status, computed by us, expected
CHECKS = [
    ("11-01", "injected volume", "Rajput, Internal Combustion Engines, Ex. 12.1 (textbook)",
     injected_volume, approx(0.05447, rel=5e-3)),
    ("11-02", "injector, 4 cylinders", "published formula sheet (verified secondary)",
     lambda: pounds_per_hour(200, 0.50, 4), approx(31.25)),
    ("11-03", "injector, 8 cylinders", "injector-sizing note (verified secondary)",
     lambda: pounds_per_hour(500, 0.60, 8), approx(46.9, abs=0.1)),
    ("11-06", "injector, SI", "P·BSFC/(n·duty·rho) (computed)",
     lambda: 1000 * drivetrain.injector_flow(150, 300, 4, 0.85), approx(296.1, rel=1e-3)),
    ("11-08", "fuel burnt, L/h", "computed", lambda: 60 * drivetrain.fuel_flow(150, 300),
     approx(60.4, abs=0.1)),
    ("11-08", "pump, L/h", "computed", lambda: 60 * drivetrain.pump_flow(150, 300),
     approx(69.5, abs=0.1)),
    ("11-09", "rail pressure", "root of the pressure (computed)",
     lambda: drivetrain.flow_at_pressure(1, 2.5, 3.0), approx(1.0954, abs=1e-4)),
    ("11-11", "torque", f"{KHURMI} Ex. 10.23 p. 303", khurmi_10_23, approx(235.6, rel=1e-3)),
    ("11-11", "torque from its power", f"{KHURMI} Ex. 10.23 p. 303",
     lambda: drivetrain.torque_from_power(61.685, 2500), approx(235.6, rel=1e-3)),
    ("11-12", "power", f"{KHURMI} Ex. 10.28 p. 308", khurmi_10_28_power, approx(18.8, rel=3e-3)),
    ("11-13", "torque, uniform pressure", "Jindal, Machine Design, Ex. 22-5 (verified textbook)",
     lambda: drivetrain.clutch_capacity(1031.1, 0.25, 6, 80, 50).new, approx(102.314, rel=1e-3)),
    ("11-13", "torque from its power", "Jindal, Machine Design, Ex. 22-5 (verified textbook)",
     lambda: drivetrain.torque_from_power(15, 1400), approx(102.314, rel=1e-3)),
    ("11-14", "bedded", "computed",
     lambda: drivetrain.clutch_capacity(8000, 0.3, 2, 115, 75).bedded, approx(456.0, rel=1e-3)),
    ("11-14", "new", "computed",
     lambda: drivetrain.clutch_capacity(8000, 0.3, 2, 115, 75).new, approx(462.7, rel=1e-3)),
    ("11-17", "critical 75 x 1.75, 1.40 m", "computed",
     lambda: drivetrain.critical_speed(75, 71.5, 1400), approx(6397, rel=1e-3)),
    ("11-18", "critical 63.5, 1.20 m", "computed",
     lambda: drivetrain.critical_speed(63.5, 59.4, 1200), approx(7306, rel=1e-3)),
    ("11-18", "critical 76.2, 1.50 m", "computed",
     lambda: drivetrain.critical_speed(76.2, 72.1, 1500), approx(5641, rel=1e-3)),
    ("11-20", "shaft at 88.98 km/h", "computed",
     lambda: drivetrain.propshaft_speed(88.98, 1928, 3.9), approx(3000, rel=2e-4)),
    ("11-21", "shaft at 134.85 km/h", "computed",
     lambda: drivetrain.propshaft_speed(134.85, 1928, 4.1), approx(6500 / 1.36, rel=2e-4)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("source", "got", "expected"),
    [check[2:] for check in CHECKS],
    ids=[f"{row} {quantity}" for row, quantity, *_ in CHECKS],
)
def test_check_value(source, got, expected):
    assert got() == expected, source


def test_half_shafts_share_the_torque_of_both_reductions():
    """By hand: 300 N·m, first gear 3.5, final drive 4.0, two shafts."""
    assert drivetrain.shaft_torque(300, 3.5 * 4.0, shafts=2) == approx(2100)


def test_a_solid_shaft_carries_the_torsion_formula():
    """By hand: 100 N/mm² at the surface of a 30 mm bar is 100·pi·27000/16 N·mm."""
    assert drivetrain.tube_torque(30, 0, 100) == approx(530.14, abs=0.01)


def test_power_target_that_outgrows_injectors_and_clutch():
    stock_injector, target = 0.250, 180
    needed = drivetrain.injector_flow(target, 320, 4, 0.85)
    assert needed > stock_injector
    assert drivetrain.flow_at_pressure(stock_injector, 3.0, 4.0) < needed


radii = st.tuples(st.floats(20, 150), st.floats(1.05, 2)).map(lambda r: (r[0] * r[1], r[0]))


@given(radii, st.floats(500, 20000), st.floats(0.15, 0.5), st.integers(2, 10))
def test_a_bedded_clutch_never_carries_more_than_a_new_one(ring, clamp, friction, faces):
    capacity = drivetrain.clutch_capacity(clamp, friction, faces, *ring)
    assert capacity.bedded <= capacity.new


@given(st.floats(50, 100), st.floats(0, 0.97), st.floats(1000, 1500), st.floats(1.1, 2))
def test_critical_speed_falls_with_the_square_of_the_length(outer, bore, length, longer):
    inner = outer * bore
    ratio = drivetrain.critical_speed(outer, inner, length) / drivetrain.critical_speed(
        outer, inner, length * longer
    )
    assert ratio == approx(longer**2)


@given(st.floats(20, 100), st.floats(0, 0.9), st.floats(0, 0.09))
def test_a_thinner_wall_carries_less_torque(outer, bore, thinner):
    thick = drivetrain.tube_torque(outer, outer * bore, 100)
    assert drivetrain.tube_torque(outer, outer * (bore + thinner), 100) <= thick


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: drivetrain.clutch_capacity(8000, 3, 2, 115, 75), "friction must be from 0.1"),
        (lambda: drivetrain.clutch_capacity(8000, 0.3, 2, 75, 115), "inner radius must be less"),
        (lambda: drivetrain.critical_speed(75, 71.5, 700), "length over diameter must be from 10"),
        (lambda: drivetrain.critical_speed(75, 75, 1400), "inner diameter must be less"),
        (lambda: drivetrain.fuel_flow(150, 0.3), "specific consumption must be from 150 to 600"),
        (lambda: drivetrain.injector_flow(150, 300, 4, 85), "duty must be from 0.1 to 1"),
        (lambda: drivetrain.flow_at_pressure(0.3, 3, 43.5), "pressure over rated pressure"),
        (lambda: drivetrain.propshaft_speed(200, 1928, 0.5), "final drive must be from 1 to 8"),
    ],
)
def test_arguments_outside_the_range_are_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()
