"""Hydraulic brakes: published and computed check values, and the laws behind them."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering import brakes

approx = pytest.approx

LBF, INCH, PSI_IN_BAR = 4.4482216152605, 25.4, 0.0689475729
MINI_BORE, MINI_RATIO = 22.2, 4.5
JINDAL = "Jindal, Machine Design, Ex. 23-5 p. 621 (verified textbook)"
SHIGLEY = "Shigley, Mechanical Engineering Design, caliper-brake example (from memory)"


def jindal_energy() -> float:
    return brakes.stop_energy(1100, 65, rotating_factor=1.1)


# row, quantity, source and status, computed by us, expected
CHECKS = [
    ("5-09", "drum torque", "C*·F·r with the push of 22.2 mm at 10 bar, C* 2 (computed)",
     lambda: brakes.drum_torque(387.08, 2.0, 228.0), approx(88.25, abs=0.01)),
    ("5-09", "area", "pi/4·d² (computed)", lambda: brakes.bore_area(22.2),
     approx(387.08, abs=0.01)),
    ("5-10", "pressure", "F·i/A, 3.4877 MPa (computed)",
     lambda: brakes.line_pressure(300, MINI_RATIO, MINI_BORE), approx(34.877, rel=1e-3)),
    ("5-11", "clamp", "p·A (computed)",
     lambda: brakes.clamp_force(34.877, [44, 44]), approx(10606, rel=1e-3)),
    ("5-11", "torque", "2·mu·F·r (computed)",
     lambda: brakes.disc_torque(10606, 0.38, 113), approx(910.9, rel=1e-3)),
    ("5-12", "bedded", "computed", lambda: brakes.effective_radius_bedded(150, 90), approx(120.0)),
    ("5-12", "new", "computed", lambda: brakes.effective_radius_new(150, 90),
     approx(122.5, abs=0.01)),
    ("5-13", "bedded", "computed", lambda: brakes.effective_radius_bedded(140, 95), approx(117.5)),
    ("5-13", "new", "computed", lambda: brakes.effective_radius_new(140, 95),
     approx(118.94, abs=0.01)),
    ("5-08", "bedded radius", SHIGLEY,
     lambda: brakes.effective_radius_bedded(5.5 * INCH, 3.875 * INCH) / INCH, approx(4.6875)),
    ("5-08", "torque", SHIGLEY,
     lambda: brakes.disc_torque(3748 * LBF, 0.37, 4.6875 * INCH) * 1000 / INCH / LBF,
     approx(13000, rel=1e-3)),
    ("5-08", "clamp", SHIGLEY,
     lambda: brakes.clamp_force(2121 * PSI_IN_BAR, [1.5 * INCH]) / LBF, approx(3748, rel=1e-3)),
    ("5-07", "heat per brake", JINDAL, lambda: jindal_energy() / 4, approx(49308, rel=1e-3)),
    ("5-07", "temperature", JINDAL,
     lambda: brakes.disc_temperature_rise(jindal_energy(), 0.25, 12, 460), approx(8.93, rel=1e-3)),
    ("5-07", "distance", JINDAL,
     lambda: brakes.stopping_distance(65, 65 / 3.6 / 4 / brakes.STANDARD_GRAVITY),
     approx(36.11, rel=1e-3)),
    ("5-34", "temperature", "heat balance (computed)",
     lambda: brakes.disc_temperature_rise(brakes.stop_energy(1400, 100), 0.35, 9),
     approx(43.8, abs=0.1)),
    ("5-34", "with rotating factor", "heat balance (computed)",
     lambda: brakes.disc_temperature_rise(
         brakes.stop_energy(1400, 100, rotating_factor=1.05), 0.35, 9),
     approx(45.9, abs=0.1)),
    ("5-35", "volume", "sum(A)·s (computed)", lambda: brakes.fluid_volume([44] * 4, 0.25),
     approx(1520.5, rel=1e-3)),
    ("5-35", "stroke", "V/A (computed)",
     lambda: brakes.pedal_travel(1520.5, MINI_BORE, MINI_RATIO, 30).stroke, approx(3.93, rel=1e-3)),
    ("5-35", "pedal", "i·V/A (computed)",
     lambda: brakes.pedal_travel(1520.5, MINI_BORE, MINI_RATIO, 30).travel, approx(17.7, rel=2e-3)),
    ("5-23", "distance at the type-0 deceleration", "v²/(2a) (computed)",
     lambda: brakes.stopping_distance(100, 6.43 / brakes.STANDARD_GRAVITY) * (0.8**2 - 0.1**2),
     approx(37.80, abs=0.01)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("source", "got", "expected"),
    [check[2:] for check in CHECKS],
    ids=[f"{row} {quantity}" for row, quantity, *_ in CHECKS],
)
def test_check_value(source, got, expected):
    assert got() == expected, source


def test_booster_helps_until_it_runs_out_and_then_only_the_foot_counts():
    """Geometry of the assist curve, computed by hand for an area of 400 mm²."""
    bore = math.sqrt(4 * 400 / math.pi)
    below = brakes.line_pressure(100, 4, bore, booster_gain=5, most_assist=2000)
    beyond = brakes.line_pressure(200, 4, bore, booster_gain=5, most_assist=2000)
    assert below == approx((400 + 1600) / 400 * 10)
    assert beyond == approx((800 + 2000) / 400 * 10)


def test_more_piston_area_costs_reserve_until_the_master_bore_grows():
    stock = brakes.fluid_volume([57, 57], 0.5)
    big = brakes.fluid_volume([38, 36, 34] * 4, 0.35)
    with_stock = brakes.pedal_travel(stock, 20.6, 4, 8)
    with_big = brakes.pedal_travel(big, 20.6, 4, 8)
    assert with_big.reserve < with_stock.reserve
    bore = brakes.least_master_bore(big, 8, reserve_share=0.4)
    assert bore > 20.6
    assert brakes.pedal_travel(big, bore, 4, 8).reserve_share == approx(0.4)


def test_pad_ring_lies_inside_the_disc_edge():
    assert brakes.pad_radii(300, 50, edge_gap=1) == (149, 99)
    with pytest.raises(ValueError, match="pad height must be less than outer pad radius"):
        brakes.pad_radii(300, 150)


def test_four_quarter_pads_cover_one_face_of_the_swept_ring():
    assert 4 * brakes.pad_area(150, 100, 90) == approx(brakes.swept_area(150, 100) / 2)


@given(st.floats(50, 200), st.floats(0.1, 0.99))
def test_new_pads_work_at_a_larger_radius_than_bedded_ones(outer, ratio):
    inner = outer * ratio
    bedded = brakes.effective_radius_bedded(outer, inner)
    assert inner < bedded <= brakes.effective_radius_new(outer, inner) < outer


@given(st.floats(0, 500), st.floats(2, 7), st.floats(15, 30), st.floats(1, 1.4))
def test_a_larger_master_bore_gives_less_pressure_and_less_travel(force, ratio, bore, growth):
    assert brakes.line_pressure(force, ratio, bore * growth) <= brakes.line_pressure(
        force, ratio, bore
    )
    small, large = (brakes.pedal_travel(2000, size, ratio, 40) for size in (bore, bore * growth))
    assert large.travel <= small.travel
    assert large.reserve >= small.reserve


@given(st.floats(600, 3000), st.floats(10, 250), st.floats(0, 1))
def test_a_stop_in_two_parts_heats_as_much_as_in_one(mass, speed, part):
    middle = speed * part
    halves = brakes.stop_energy(mass, speed, middle) + brakes.stop_energy(mass, middle)
    assert halves == approx(brakes.stop_energy(mass, speed))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: brakes.bore_area(0), "bore must be greater than zero"),
        (lambda: brakes.bore_area(math.nan), "bore must be greater than zero"),
        (lambda: brakes.line_pressure(300, 45, 22), "pedal ratio must be from 1 to 10"),
        (lambda: brakes.line_pressure(300, 4, 22, 0.5), "booster gain must be from 1"),
        (lambda: brakes.clamp_force(80, []), "at least one piston"),
        (lambda: brakes.disc_torque(1000, 3.8, 110), "pad friction must be from 0.1 to 0.8"),
        (lambda: brakes.effective_radius_new(90, 150), "inner radius must be less than"),
        (lambda: brakes.stop_energy(1200, 50, 80), "end speed must be from 0 to 50"),
        (lambda: brakes.stopping_distance(100, 0), "braking rate must be greater than zero"),
        (lambda: brakes.pad_area(150, 100, 400), "pad angle must be from 0 to 360"),
        (lambda: brakes.least_master_bore(2000, 20, 1), "reserve share must be from 0 to 0.9"),
    ],
)
def test_arguments_outside_the_range_are_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()
