"""A coilover at rest: hand calculations and laws of perch and preload."""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering import coilovers
from rules.engineering.coilovers import Coilover
from rules.engineering.ride import spring_load
from rules.engineering.springs import Spring, SpringStack

approx = pytest.approx

MAIN = Spring(200, 60, 80)
PLAIN = Coilover(SpringStack(MAIN), seat_gap=190, stroke=100, bump_stop=30)
HELPED = Coilover(SpringStack(MAIN, Spring(70, 2, 20)), seat_gap=260, stroke=100, bump_stop=30)


def test_row_7_15_preload_moves_the_position_and_not_the_rate():
    """Computed: 60 N/mm with 10 mm preload carries 2100 N after 25 mm of travel."""
    settled = coilovers.settle(PLAIN, 2100)
    assert settled.compression == approx(25)
    assert settled.rate == 60
    looser = coilovers.settle(dataclasses.replace(PLAIN, seat_gap=195), 2100)
    assert looser.compression == approx(30)
    assert looser.rate == 60


def test_static_position_in_the_stroke_and_travel_left():
    """By hand: 3000 N / 60 = 50 mm less 10 preload = 40 of 100 mm; 30 to the bump stop."""
    settled = coilovers.settle(PLAIN, 3000)
    assert settled.compression == approx(40)
    assert settled.stroke_share == approx(0.4)
    assert (settled.to_bump_stop, settled.to_metal) == (approx(30), approx(60))


def test_a_light_car_on_much_preload_stands_fully_extended():
    settled = coilovers.settle(PLAIN, 500)
    assert PLAIN.preload_force == approx(600)
    assert settled.compression == 0


def test_an_overloaded_corner_rests_on_its_bump_stop():
    assert coilovers.settle(PLAIN, 5400).to_bump_stop == approx(-10)


def test_a_short_main_spring_is_loose_at_droop_and_a_helper_takes_up_the_slack():
    loose = Coilover(SpringStack(MAIN), seat_gap=215, stroke=100)
    helped = Coilover(SpringStack(MAIN, Spring(60, 2, 15)), seat_gap=215 + 15, stroke=100)
    assert (loose.slack, loose.preload, loose.preload_force) == (15, 0, 0)
    assert helped.slack == 0
    assert helped.preload == 30
    # Once the helper is closed both stand alike: the seats are farther apart by its block length.
    for load in (2000, 3000):
        assert coilovers.settle(helped, load).compression == approx(
            coilovers.settle(loose, load).compression
        )


def test_the_helper_is_open_on_a_light_corner_and_closed_on_a_heavy_one():
    """By hand: the helper closes at 2 x 50 = 100 N; in series 60·2/62 = 1.935 N/mm before."""
    light, heavy = coilovers.settle(HELPED, 90), coilovers.settle(HELPED, 3000)
    assert not light.helper_closed
    assert light.rate == approx(120 / 62)
    assert heavy.helper_closed
    assert heavy.rate == 60


def test_coil_bind_margin_at_full_compression():
    """By hand: 190 - 100 leaves 90 mm between the seats, block length 80."""
    assert coilovers.bind_margin(PLAIN) == approx(10)
    assert coilovers.bind_margin(PLAIN, bump_stop_block=12) == approx(22)
    tall = Coilover(SpringStack(Spring(200, 60, 95)), seat_gap=190, stroke=100)
    assert coilovers.bind_margin(tall) == approx(-5)


def test_two_engines_want_two_spring_sets():
    """The heavy engine on the light engine's springs loses its travel; stiffer ones return it."""
    light_load, heavy_load = spring_load(240, 0.95), spring_load(330, 0.95)
    on_light = coilovers.settle(PLAIN, light_load)
    on_same = coilovers.settle(PLAIN, heavy_load)
    stiffer = Coilover(SpringStack(Spring(200, 80, 80)), 190, 100, 30)
    on_stiffer = coilovers.settle(stiffer, heavy_load)
    assert on_same.to_bump_stop < on_light.to_bump_stop - 10
    assert on_stiffer.to_bump_stop == approx(on_light.to_bump_stop, abs=3)


def test_ride_height_range_of_a_thread():
    """By hand: 40 mm of thread at a motion ratio of 0.8 moves the body 50 mm."""
    assert coilovers.ride_height_range(350, 60, 40, 80, 0.8) == (approx(325), approx(375))


heights = st.floats(170, 199)


@given(heights, st.floats(0, 8), st.floats(2500, 3500))
def test_raising_the_perch_extends_the_damper_by_as_much(gap, raised, load):
    before = Coilover(SpringStack(MAIN), gap, 80)
    after = dataclasses.replace(before, seat_gap=gap - raised)
    gained = coilovers.settle(before, load).compression - coilovers.settle(after, load).compression
    assert gained == approx(min(raised, coilovers.settle(before, load).compression), abs=1e-6)


@given(st.floats(150, 6000), st.floats(0, 600))
def test_more_load_never_leaves_more_travel(load, extra):
    one, other = coilovers.settle(HELPED, load), coilovers.settle(HELPED, load + extra)
    assert other.to_bump_stop <= one.to_bump_stop


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Coilover(SpringStack(MAIN), 75, 60), "do not go between seats 75 mm apart"),
        (lambda: Coilover(SpringStack(MAIN), 190, 190), "damper stroke must be less than gap"),
        (lambda: Coilover(SpringStack(MAIN), 190, 100, 100), "bump stop must be less than"),
        (lambda: coilovers.settle(PLAIN, 8000), "closes every coil"),
        (lambda: coilovers.settle(PLAIN, 0), "load must be greater than zero"),
        (lambda: coilovers.bind_margin(PLAIN, 120), "bump stop block must be from 0 to 100"),
        (lambda: coilovers.ride_height_change(10, 95), "motion ratio must be from 0.3 to 1.5"),
        (lambda: coilovers.ride_height_range(350, 30, 40, 80, 0.8), "perch must be from 40 to 80"),
    ],
)
def test_arguments_outside_the_range_are_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()
