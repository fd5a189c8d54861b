"""Edges, rim diameters and the disc note; the source of each block stands above it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering import wheels
from rules.engineering.tyres import section_width


@pytest.mark.parametrize(
    ("width", "offset", "inboard", "outboard"),
    [
        # Row 3-12: computed, nominal widths; the sign of the offset from row 3-06 (secondary).
        pytest.param(7, 45, 133.9, 43.9, id="3-12 7Jx16 ET45"),
        pytest.param(8, 35, 136.6, 66.6, id="3-12 8Jx17 ET35"),
        # By hand: 9 x 12.7 = 114.3.
        pytest.param(9, 45, 159.3, 69.3, id="by hand 9Jx17 ET45"),
        pytest.param(9, -12, 102.3, 126.3, id="by hand outset wheel"),
    ],
)
def test_edges(width: float, offset: float, inboard: float, outboard: float) -> None:
    assert wheels.wheel_edges(width, offset) == pytest.approx((inboard, outboard), abs=0.05)


def test_change_against_stock() -> None:
    # Row 3-13: computed, 7J ET45 to 8J ET35.
    change = wheels.edge_change(wheels.wheel_edges(7, 45), wheels.wheel_edges(8, 35))
    assert change == pytest.approx((2.7, 22.7), abs=0.05)


def test_flanges_stand_outside_the_nominal_width() -> None:
    # Row 3-14: about 25 mm in total, common practice, no source.
    edges = wheels.wheel_edges(8, 35, flanges=wheels.BOTH_FLANGES)
    assert edges == pytest.approx((149.1, 79.1))


def test_tyre_edges_of_a_stretched_tyre() -> None:
    # By hand: 225/45 on 8 in: 225 + 0.4 (203.2 - 191.25) = 229.78.
    edges = wheels.tyre_edges(section_width(225, 45, 8), 35)
    assert edges == pytest.approx((149.89, 79.89))


# ISO 4000-2 Table 4, from memory.
@pytest.mark.parametrize(
    ("code", "diameter"),
    [
        pytest.param(code, mm, id=f"3-rim {code}")
        for code, mm in zip(
            range(13, 21), (329.4, 354.8, 380.2, 405.6, 436.6, 462.0, 487.4, 512.8), strict=True
        )
    ],
)
def test_specified_rim_diameter(code: int, diameter: float) -> None:
    assert wheels.specified_rim_diameter(code) == pytest.approx(diameter, abs=0.05)


def test_a_usual_six_piston_disc_goes_into_a_seventeen_inch_wheel() -> None:
    # Common practice, no source: 12.88 in with six pistons clears in 17 in, hardly in 16.
    assert wheels.largest_usual_disc(16) < 12.88 * 25.4 < wheels.largest_usual_disc(17)


@pytest.mark.parametrize("code", [9, 25, 16.5, float("nan")])
def test_rims_out_of_range_are_refused(code: float) -> None:
    with pytest.raises(ValueError, match="rim diameter code"):
        wheels.specified_rim_diameter(code)


def test_a_negative_spacer_is_refused() -> None:
    with pytest.raises(ValueError, match="spacer thickness must be zero or more"):
        wheels.wheel_edges(8, 35, spacer=-1)


@given(width=st.floats(4, 14), offset=st.floats(-60, 80), spacer=st.floats(0, 40))
def test_a_spacer_acts_as_a_smaller_offset(width: float, offset: float, spacer: float) -> None:
    spaced = wheels.wheel_edges(width, offset, spacer)
    assert spaced == pytest.approx(wheels.wheel_edges(width, offset - spacer))
    assert spaced.inboard + spaced.outboard == pytest.approx(25.4 * width)
