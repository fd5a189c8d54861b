"""Bolt circle, centre bore and seats; the source of each block stands above it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering import hubs
from rules.engineering.hubs import Seat
from rules.engineering.tolerance import extremes, plus_minus

# Rows 3-07 to 3-09: computed chords of a circle.
CHORDS = [
    pytest.param(1.0, 3, 1, 0.866025, 1e-6, id="3-07 n=3"),
    pytest.param(1.0, 4, 1, 0.707107, 1e-6, id="3-07 n=4"),
    pytest.param(1.0, 5, 1, 0.587785, 1e-6, id="3-07 n=5"),
    pytest.param(1.0, 6, 1, 0.500000, 1e-6, id="3-07 n=6"),
    pytest.param(1.0, 8, 1, 0.382683, 1e-6, id="3-07 n=8"),
    pytest.param(100.0, 4, 1, 70.711, 1e-3, id="3-08 4x100"),
    pytest.param(108.0, 4, 1, 76.368, 1e-3, id="3-08 4x108"),
    pytest.param(100.0, 5, 1, 58.779, 1e-3, id="3-08 5x100"),
    pytest.param(112.0, 5, 1, 65.832, 1e-3, id="3-08 5x112"),
    pytest.param(114.3, 5, 1, 67.184, 1e-3, id="3-08 5x114.3"),
    pytest.param(120.0, 5, 1, 70.534, 1e-3, id="3-08 5x120"),
    pytest.param(139.7, 6, 1, 69.850, 1e-3, id="3-08 6x139.7"),
    pytest.param(100.0, 5, 2, 95.106, 1e-3, id="3-09 5x100"),
    pytest.param(112.0, 5, 2, 106.518, 1e-3, id="3-09 5x112"),
    pytest.param(114.3, 5, 2, 108.706, 1e-3, id="3-09 5x114.3"),
    pytest.param(108.0, 4, 2, 108.0, 1e-9, id="straight across 4x108"),
]


@pytest.mark.parametrize(("circle", "holes", "step", "spacing", "within"), CHORDS)
def test_hole_spacing(circle: float, holes: int, step: int, spacing: float, within: float) -> None:
    assert hubs.hole_spacing(circle, holes, step) == pytest.approx(spacing, abs=within)


@given(circle=st.floats(80, 260), holes=st.integers(3, 12), data=st.data())
def test_bolt_circle_and_spacing_are_inverses(
    circle: float, holes: int, data: st.DataObject
) -> None:
    step = data.draw(st.integers(1, holes // 2))
    spacing = hubs.hole_spacing(circle, holes, step)
    assert hubs.bolt_circle(spacing, holes, step) == pytest.approx(circle)


def test_a_ruler_cannot_tell_two_common_circles_apart() -> None:
    # Row 3-10: computed.
    gap = hubs.hole_spacing(114.3, 5) - hubs.hole_spacing(112, 5)
    assert gap == pytest.approx(1.352, abs=1e-3)
    read = plus_minus(66.5, 1.0)
    circle = extremes(lambda spacing: hubs.bolt_circle(spacing, 5), read)
    assert circle.low < 112 < 114.3 < circle.high


@pytest.mark.parametrize(
    ("holes", "step"), [(2, 1), (13, 1), (5.5, 1), (5, 0), (5, 3), (float("inf"), 1)]
)
def test_impossible_hole_counts_are_refused(holes: int, step: int) -> None:
    with pytest.raises(ValueError, match="holes"):
        hubs.bolt_circle(60, holes, step)


def test_bore_and_ring() -> None:
    # Row 3-20: common practice, no source; the differences are arithmetic.
    assert hubs.centring_ring(66.6, 66.5) is None
    ring = hubs.centring_ring(73.1, 66.6)
    assert ring == pytest.approx((73.1, 66.6, 3.25))
    with pytest.raises(ValueError, match="no ring helps"):
        hubs.centring_ring(64.1, 66.6)


def test_bore_play_in_the_worst_case() -> None:
    play = extremes(hubs.bore_play, plus_minus(66.6, 0.05), plus_minus(66.5, 0.03))
    assert (play.low, play.nominal, play.high) == pytest.approx((0.02, 0.10, 0.18))


@pytest.mark.parametrize(
    ("nut", "wheel", "match"),
    [
        # Rows 3-15 and 3-16: trade articles on wheel fasteners (secondary).
        pytest.param(Seat("conical", 60), Seat("conical", 60), True, id="3-15 cone on cone"),
        pytest.param(Seat("conical", 60), Seat("ball", 14), False, id="3-16 cone on ball"),
        pytest.param(Seat("ball", 13), Seat("conical", 60), False, id="3-16 ball on cone"),
        # Row 3-17: common practice, no source.
        pytest.param(Seat("ball", 12), Seat("ball", 13), False, id="3-17 R12 on R13"),
        pytest.param(Seat("flat", 0), Seat("flat", 0), True, id="3-15 flat"),
    ],
)
def test_seats_must_be_alike(nut: Seat, wheel: Seat, match: bool) -> None:
    assert hubs.seats_match(nut, wheel) is match


def test_only_a_flat_seat_does_not_centre() -> None:
    # Row 3-21: common practice, no source.
    assert hubs.seat_centres(Seat("conical", 60))
    assert hubs.seat_centres(Seat("ball", 14))
    assert not hubs.seat_centres(Seat("flat", 0))


@pytest.mark.parametrize("seat", [Seat("square", 1), Seat("ball", 60), Seat("flat", 1)])
def test_unknown_seats_are_refused(seat: Seat) -> None:
    with pytest.raises(ValueError, match="seat"):
        hubs.seat_centres(seat)
