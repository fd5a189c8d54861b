"""Wire, fuse and charging for added loads: table values and laws."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering import electrics
from rules.engineering.electrics import Load

approx = pytest.approx

IEC_60228 = "IEC 60228 maximum resistances (verified secondary)"
FACTORS = "IEC 60228 temperature factors (verified secondary)"
ISO_8820 = "blade-fuse colour charts, ISO 8820-3 (verified secondary)"

SECTIONS = (0.5, 0.75, 1.0, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50)
RIGID = (36.0, 24.5, 18.1, 12.1, 7.41, 4.61, 3.08, 1.83, 1.15, 0.727, 0.524, 0.387)
FLEXIBLE = (39.0, 26.0, 19.5, 13.3, 7.98, 4.95, 3.30, 1.91, 1.21, 0.780, 0.554, 0.386)
COLOURS = {
    1: "black", 2: "grey", 3: "violet", 4: "pink", 5: "tan", 7.5: "brown", 10: "red", 15: "blue",
    20: "yellow", 25: "clear", 30: "green", 40: "orange",
}  # fmt: skip

# row, quantity, source and status, computed by us, expected
CHECKS = [
    *[
        ("11 table", f"class 2, {section:g} mm2", IEC_60228,
         lambda section=section: electrics.wire_resistance(section, flexible=False), ohms)
        for section, ohms in zip(SECTIONS, RIGID, strict=True)
    ],
    *[
        ("11 table", f"class 5, {section:g} mm2", IEC_60228,
         lambda section=section: electrics.wire_resistance(section), ohms)
        for section, ohms in zip(SECTIONS, FLEXIBLE, strict=True)
    ],
    *[
        ("11-22", f"back from {celsius} C", FACTORS,
         lambda celsius=celsius: electrics.wire_resistance(1)
         / electrics.wire_resistance(1, celsius),
         # The printed factors round the coefficient up to 0.004: 0.4 % apart at 80 and 100 °C.
         approx(factor, rel=5e-3))
        for celsius, factor in [(40, 0.926), (60, 0.862), (80, 0.806), (100, 0.758)]
    ],
    ("11-23", "coefficient", "IEC 60287 Table 1 (verified secondary)",
     lambda: electrics.COPPER_COEFFICIENT, 0.00393),
    ("11-24", "one way", "computed", lambda: electrics.voltage_drop(10, 2.5, 6000),
     approx(0.479, abs=1e-3)),
    ("11-24", "with return", "computed",
     lambda: electrics.voltage_drop(10, 2.5, 6000, wired_return=True), approx(0.958, abs=1e-3)),
    ("11-25", "battery cable", "computed", lambda: electrics.voltage_drop(200, 16, 4000),
     approx(0.968, abs=1e-3)),
    ("11-26", "thin wire", "computed", lambda: electrics.voltage_drop(5, 1.5, 8000),
     approx(0.532, abs=1e-3)),
    ("11-27", "hot wire", "computed", lambda: electrics.wire_resistance(2.5, 60),
     approx(9.234, rel=1e-3)),
    *[
        ("11-28", f"{rating:g} A", ISO_8820,
         lambda rating=rating: electrics.FUSE_COLOURS[rating], colour)
        for rating, colour in COLOURS.items()
    ],
    ("11-30", "fuse for a lasting 10 A", "at most 70 % of the rating (common practice, no source)",
     lambda: electrics.fuse_rating(10, wire_capacity=20), 15),
]  # fmt: skip


@pytest.mark.parametrize(
    ("source", "got", "expected"),
    [check[2:] for check in CHECKS],
    ids=[f"{row} {quantity}" for row, quantity, *_ in CHECKS],
)
def test_check_value(source, got, expected):
    assert got() == expected, source


def test_a_long_wire_is_sized_by_its_drop_and_a_short_one_by_its_heat():
    """By hand at 20 °C: 30 A over 8 m with 0.5 V to lose leaves 2.083 ohm/km, so 10 mm²."""
    assert electrics.least_section(30, 8000, 0.5, temperature=20) == 10
    assert electrics.least_section(30, 300, 0.5, temperature=20) == 6


def test_the_fuse_protects_the_wire_before_it_serves_the_load():
    with pytest.raises(ValueError, match="use a thicker wire"):
        electrics.fuse_rating(10, wire_capacity=11)


def test_charging_balance_with_added_fans():
    """By hand: 45 + 8 + 30·0.5 = 68 A against 60; 8 A short empties half of 60 Ah in 225 min."""
    loads = [Load(45), Load(8), Load(30, 0.5)]
    short = electrics.charging_balance(60, loads, battery_capacity=60)
    assert (short.drawn, short.spare, short.minutes) == (68, -8, 225)
    assert electrics.charging_balance(70, loads, 60).minutes is None


currents, lengths = st.floats(0.5, 60), st.floats(100, 8000)


@given(currents, lengths, st.floats(0.2, 2))
def test_the_chosen_section_is_enough_and_the_next_thinner_one_is_not(current, length, allowed):
    try:
        chosen = electrics.least_section(current, length, allowed)
    except ValueError:
        chosen = None

    def enough(section: float) -> bool:
        drop = electrics.voltage_drop(current, section, length, 60)
        return drop <= allowed and current <= 5 * section

    assert chosen == next((section for section in SECTIONS if enough(section)), None)


@given(st.floats(0.5, 28), st.floats(1, 60))
def test_a_chosen_fuse_never_outlasts_its_wire(load, capacity):
    try:
        rating = electrics.fuse_rating(load, capacity)
    except ValueError:
        return
    assert load <= 0.7 * rating <= 0.7 * capacity + 1e-9


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: electrics.wire_resistance(3.0), "3 mm² is not in the table; it has 0.5, 0.75"),
        (lambda: electrics.wire_resistance(2.5, 400), "temperature must be from -40 to 150"),
        (lambda: electrics.voltage_drop(-1, 2.5, 600), "current must be zero or more"),
        (lambda: electrics.least_section(400, 3000, 0.5), "No single wire in the table"),
        (lambda: electrics.fuse_rating(35, 100), "too much for one blade fuse"),
        (lambda: electrics.charging_balance(60, [Load(5, 2)], 60), "load duty must be from 0 to 1"),
    ],
)
def test_arguments_outside_the_range_are_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()
