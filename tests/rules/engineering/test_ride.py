"""Wheel rate, ride frequency and damping: textbook values and laws."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering import ride
from rules.engineering.springs import series_rate

approx = pytest.approx

INCH, LBF, LB = 25.4, 4.4482216152605, 0.45359237
LBF_PER_INCH = LBF / INCH
MCLEAN = "McLean & Nelson, Engineering Mechanics (verified textbook)"


def mclean_damping_ratio() -> float:
    """10 lbf at 20 in/s, 20 lbf/in, 12 lb."""
    damping = 0.5 * LBF / (INCH / 1000)
    return ride.damping_ratio(damping, 1.0, 20 * LBF_PER_INCH, 12 * LB)


def mclean_damped_speed() -> float:
    ratio = mclean_damping_ratio()
    free = 2 * math.pi * ride.ride_frequency(20 * LBF_PER_INCH, 12 * LB)
    return free * math.sqrt(1 - ratio**2)


# row, quantity, source and status, computed by us, expected
CHECKS = [
    ("7-18", "motion ratio 0.70", "k·MR² (computed)", lambda: ride.wheel_rate(60, 0.70),
     approx(29.40, abs=0.01)),
    ("7-18", "motion ratio 0.95", "k·MR² (computed)", lambda: ride.wheel_rate(60, 0.95),
     approx(54.15, abs=0.01)),
    ("7-19", "constant per mm", "sqrt(g)/(2·pi) (computed)",
     lambda: ride.frequency_from_deflection(1), approx(15.761, rel=1e-4)),
    ("7-20", "constant per m", "Sarkar, Theory of Machines, Ch. 11 (verified textbook)",
     lambda: ride.frequency_from_deflection(1000), approx(0.4985, rel=3e-3)),
    ("7-20", "cycles per minute, inch", "Wentzell, Machine Design, Ex. 17.5 (verified textbook)",
     lambda: 60 * ride.frequency_from_deflection(INCH), approx(188, rel=3e-3)),
    *[
        ("7-21", f"{deflection} mm", "computed",
         lambda deflection=deflection: ride.frequency_from_deflection(deflection),
         approx(hertz, abs=1e-3))
        for deflection, hertz in [
            (25, 3.152), (50, 2.229), (100, 1.576), (150, 1.287), (250, 0.997),
        ]
    ],
    ("7-22", "frequency", "computed", lambda: ride.ride_frequency(29.4, 280),
     approx(1.631, rel=1e-3)),
    ("7-22", "from its deflection of 93.40 mm", "computed",
     lambda: ride.frequency_from_deflection(93.40), approx(1.631, rel=1e-3)),
    ("7-23", "with the tyre", "computed",
     lambda: ride.ride_frequency(series_rate(29.4, 220), 280), approx(1.532, rel=1e-3)),
    ("7-23", "ride rate", "computed", lambda: series_rate(29.4, 220), approx(25.934, rel=1e-3)),
    ("7-24", "period", f"{MCLEAN} Ex. 19-2 p. 465",
     lambda: 1 / ride.ride_frequency(18 * LBF_PER_INCH, 35 * LB), approx(0.45, rel=1e-2)),
    ("7-25", "damping ratio", f"{MCLEAN} Ex. 19-19 p. 478", mclean_damping_ratio,
     approx(0.317, rel=5e-3)),
    ("7-25", "damped frequency", f"{MCLEAN} Ex. 19-19 p. 478", mclean_damped_speed,
     approx(24.0, rel=5e-3)),
    ("7-27", "critical", "2·sqrt(K·m) (computed)", lambda: ride.critical_damping(29.4, 280),
     approx(5738, rel=1e-3)),
    ("7-27", "ratio of 1721 N·s/m", "computed", lambda: ride.damping_ratio(1721, 1, 29.4, 280),
     approx(0.3, rel=1e-3)),
    ("7-28", "usual bands", "common practice, no source",
     lambda: (ride.ROAD_DAMPING, ride.SPORT_DAMPING), ((0.2, 0.4), (0.4, 0.7))),
    ("7-30", "flat ride", "1.5/f_f = 1.5/f_r + L/v (computed)",
     lambda: ride.flat_ride_rear_frequency(1.30, 2500, 80), approx(1.440, rel=1e-3)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("source", "got", "expected"),
    [check[2:] for check in CHECKS],
    ids=[f"{row} {quantity}" for row, quantity, *_ in CHECKS],
)
def test_check_value(source, got, expected):
    assert got() == expected, source


def test_spring_rate_for_a_frequency_leads_back_to_it():
    rate = ride.spring_rate_for(1.8, 280, 0.7)
    assert ride.ride_frequency(ride.wheel_rate(rate, 0.7), 280) == approx(1.8)


def test_an_adjuster_is_judged_by_the_part_of_the_band_it_covers():
    """Critical damping of row 7-27 is 5738 N·s/m: 1147.6 to 2869 gives 0.2 to 0.5."""
    span = ride.damping_range(1147.6, 2869, 1.0, 29.4, 280)
    assert span == (approx(0.2, abs=1e-4), approx(0.5, abs=1e-4))
    assert span.overlap(ride.ROAD_DAMPING) == approx(1.0, abs=1e-3)
    assert span.overlap(ride.SPORT_DAMPING) == approx(1 / 3, abs=1e-3)
    assert span.overlap((0.8, 0.9)) == 0


masses, wheel_rates, ratios = st.floats(100, 800), st.floats(5, 200), st.floats(0.4, 1.2)


@given(wheel_rates, masses, st.floats(1.01, 2))
def test_a_heavier_corner_rides_slower_and_a_stiffer_one_faster(rate, mass, more):
    assert ride.ride_frequency(rate, mass * more) < ride.ride_frequency(rate, mass)
    assert ride.ride_frequency(rate * more, mass) > ride.ride_frequency(rate, mass)


@given(wheel_rates, masses, ratios)
def test_spring_and_wheel_store_the_same_energy(rate, mass, ratio):
    """Static load over rate: the deflection at the wheel is that at the spring over the ratio."""
    at_spring = ride.spring_load(mass, ratio) / rate
    at_wheel = mass * 9.80665 / ride.wheel_rate(rate, ratio)
    assert at_spring / ratio == approx(at_wheel)


@given(st.floats(0.8, 2), st.floats(2000, 3200), st.floats(40, 200))
def test_flat_ride_always_wants_the_rear_faster(front, wheelbase, speed):
    assert ride.flat_ride_rear_frequency(front, wheelbase, speed) > front


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: ride.wheel_rate(60, 70), "motion ratio must be from 0.3 to 1.5"),
        (lambda: ride.ride_frequency(0, 280), "rate must be greater than zero"),
        (lambda: ride.flat_ride_rear_frequency(2, 3000, 10), "no rear frequency"),
        (lambda: ride.damping_range(3000, 1000, 1, 29.4, 280), "softest damping must be from 0"),
        (lambda: ride.DampingRange(0.2, 0.5).overlap((0.4, 0.4)), "wanted band must rise"),
    ],
)
def test_arguments_outside_the_range_are_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_the_damping_for_a_ratio_gives_that_ratio_back() -> None:
    """By definition of the ratio (McLean & Nelson, Ex. 19-19, textbook)."""
    needed = ride.damping_for_ratio(0.4, 0.93, 34.596, 268.0)
    assert ride.damping_ratio(needed, 0.93, 34.596, 268.0) == pytest.approx(0.4)
    assert needed == pytest.approx(2816, abs=1)
