"""Tyre dimensions against published sizes; the source of each block stands above it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering import tyres

# Overall diameter and design diameter: computed from the definition. Measuring rim, section
# width on it and approved rims: ISO 4000-1, from memory; the three design diameters of
# 205/55R16, 225/45R17 and 195/50R15 are recalled from ETRTO tables as well.
SIZES = [
    # width, aspect, rim, OD, design OD, measuring rim, section width, narrowest, widest
    (175, 65, 14, 583.10, 584, 5.0, 177, 5.0, 6.0),
    (185, 60, 14, 577.60, 578, 5.5, 189, 5.0, 6.5),
    (185, 65, 15, 621.50, 621, 5.5, 189, 5.0, 6.5),
    (195, 50, 15, 576.00, 577, 6.0, 201, 5.5, 7.0),
    (195, 65, 15, 634.50, 635, 6.0, 201, 5.5, 7.0),
    (205, 50, 16, 611.40, 612, 6.5, 214, 5.5, 7.5),
    (205, 55, 16, 631.90, 632, 6.5, 214, 5.5, 7.5),
    (215, 60, 16, 664.40, 664, 6.5, 221, 6.0, 7.5),
    (205, 45, 17, 616.30, 616, 7.0, 206, 6.5, 7.5),
    (215, 45, 17, 625.30, 626, 7.0, 213, 7.0, 8.0),
    (225, 45, 17, 634.30, 634, 7.5, 225, 7.0, 8.5),
    (235, 45, 17, 643.30, 644, 8.0, 236, 7.5, 9.0),
    (245, 40, 17, 627.80, 628, 8.5, 248, 8.0, 9.5),
    (225, 40, 18, 637.20, 637, 8.0, 230, 7.5, 9.0),
    (235, 40, 18, 645.20, 645, 8.5, 241, 8.0, 9.5),
    (245, 40, 18, 653.20, 653, 8.5, 248, 8.0, 9.5),
    (255, 35, 18, 635.70, 635, 9.0, 260, 8.5, 10.0),
]
SIZE_IDS = [f"size-table {w}/{a}R{r}" for w, a, r, *_ in SIZES]


@pytest.mark.parametrize("row", SIZES, ids=SIZE_IDS)
def test_dimensions_of_common_sizes(row: tuple[float, ...]) -> None:
    width, aspect, rim, diameter, design, measuring, section, narrowest, widest = row
    assert tyres.catalogue_diameter(width, aspect, rim) == pytest.approx(diameter, abs=0.01)
    assert tyres.design_diameter(width, aspect, rim) == design
    assert tyres.measuring_rim(width, aspect) == measuring
    assert tyres.design_section_width(width, aspect, measuring) == section
    assert tyres.approved_rims(width, aspect) == (narrowest, widest)


# Row 1-03: trade training note "Measuring Rim Width" (secondary, P-metric sizes).
@pytest.mark.parametrize(
    ("width", "aspect", "rim"),
    [
        pytest.param(175, 75, 5.0, id="1-03 175/75"),
        pytest.param(195, 75, 5.5, id="1-03 195/75"),
        pytest.param(215, 75, 6.0, id="1-03 215/75"),
        pytest.param(235, 75, 6.5, id="1-03 235/75"),
        pytest.param(225, 75, 6.0, id="1-03 225/75"),
        pytest.param(225, 70, 6.5, id="1-03 225/70"),
        pytest.param(225, 65, 6.5, id="1-03 225/65"),
        pytest.param(225, 60, 6.5, id="1-03 225/60"),
        pytest.param(225, 55, 7.0, id="1-03 225/55"),
        pytest.param(225, 50, 7.0, id="1-03 225/50"),
        pytest.param(225, 45, 7.5, id="1-03 225/45"),
        pytest.param(225, 40, 8.0, id="1-03 225/40"),
    ],
)
def test_measuring_rim_of_a_published_list(width: float, aspect: float, rim: float) -> None:
    assert tyres.measuring_rim(width, aspect) == rim


def test_one_rim_step_adds_five_millimetres() -> None:
    # Row 1-05: UN R30, 6.1.1.1 formula (seen), product computed: 0.4 x 12.7.
    gain = tyres.section_width(225, 45, 8.0) - tyres.section_width(225, 45, 7.5)
    assert gain == pytest.approx(5.08, abs=0.01)


@pytest.mark.parametrize(
    ("width", "height"),
    [pytest.param(195, 98, id="1-06 195/50"), pytest.param(205, 103, id="1-06 205/50")],
)
def test_half_a_millimetre_of_height_rounds_up(width: float, height: int) -> None:
    # Row 1-06: computed; rounding half up is from memory of the standard.
    assert tyres.design_diameter(width, 50, 16) == 406 + 2 * height


def test_growth_limits_of_a_radial_tyre() -> None:
    # Row 1-07: UN R30, 6.1.4 and 6.1.5, from memory; 406 + 2 x 113 x (0.97, 1.04), by hand.
    limits = tyres.diameter_limits(205, 55, 16)
    assert (limits.low, limits.nominal, limits.high) == pytest.approx((625.22, 632, 641.04))
    widths = tyres.width_limits(214)
    assert (widths.low, widths.nominal, widths.high) == pytest.approx((214, 214, 222.56))


def test_nine_inch_rim_is_within_the_range_of_a_245_40() -> None:
    # Common practice, no source: a 245/40R17 belongs on a 9 inch rim.
    narrowest, widest = tyres.approved_rims(245, 40)
    assert narrowest <= 9.0 <= widest
    assert narrowest > 7.5


@pytest.mark.parametrize("aspect", [82.5, 30, 33, float("nan"), float("inf")])
def test_rim_widths_are_refused_where_no_coefficient_is_known(aspect: float) -> None:
    with pytest.raises(ValueError, match="aspect ratios 35 to 80"):
        tyres.approved_rims(225, aspect)


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ((50, 45, 17), "nominal tyre width"),
        ((225, 5, 17), "aspect ratio"),
        ((225, 45, 432), "rim diameter code"),
    ],
)
def test_sizes_out_of_range_are_named(size: tuple[float, float, float], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        tyres.design_diameter(*size)


@given(
    width=st.sampled_from(range(145, 336, 10)),
    aspect=st.sampled_from(range(35, 85, 5)),
    rim=st.integers(13, 20),
)
def test_design_and_catalogue_diameter_differ_by_rounding_only(
    width: int, aspect: int, rim: int
) -> None:
    exact = tyres.catalogue_diameter(width, aspect, rim)
    assert abs(tyres.design_diameter(width, aspect, rim) - exact) <= 1.5


@given(
    width=st.sampled_from(range(145, 336, 10)),
    aspect=st.sampled_from(range(35, 85, 5)),
)
def test_the_measuring_rim_is_always_an_approved_one(width: int, aspect: int) -> None:
    narrowest, widest = tyres.approved_rims(width, aspect)
    assert narrowest <= tyres.measuring_rim(width, aspect) <= widest
