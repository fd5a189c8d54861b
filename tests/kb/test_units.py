"""Quantities are read with their unit and kept in the canonical one."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from kb.money import Money, parse_money
from kb.units import (
    CANONICAL,
    Amount,
    Quantity,
    format_number,
    parse_amount,
    parse_quantity,
)

# NIST Special Publication 811 (2008), appendix B.8, unless a row says otherwise. Figures in the
# appendix that are not exact are given there to seven digits.
FACTORS = [
    ("1 in", "length", 25.4),
    ("1 ft", "length", 304.8),
    ("1 cm", "length", 10.0),
    ("1 µm", "length", 0.001),
    ("1 lb", "mass", 0.45359237),
    ("1 oz", "mass", 0.02834952),
    ("1 lbf", "force", 4.4482216152605),
    ("1 kgf", "force", 9.80665),
    ("1 lbf/in", "stiffness", 0.1751268),
    ("1 kN/m", "stiffness", 1.0),
    ("1 ft·lbf", "torque", 1.355818),
    ("1 lbf-ft", "torque", 1.355818),
    ("1 in*lbf", "torque", 0.1129848),
    ("1 kgf·m", "torque", 9.80665),
    ("1 Nm", "torque", 1.0),
    ("1 psi", "pressure", 0.06894757),
    ("1 kPa", "pressure", 0.01),
    ("1 atm", "pressure", 1.01325),
    ("212 °F", "temperature", 100.0),
    ("32 degF", "temperature", 0.0),
    ("273.15 K", "temperature", 0.0),
    ("1 mph", "speed", 1.609344),
    ("1 m/s", "speed", 3.6),
    ("1 h", "time", 60.0),
    ("30 s", "time", 0.5),
    ("1 gal", "volume", 3.785412),
    ("1 ml", "volume", 0.001),
    ("1 cm^3", "volume", 0.001),
    ("1 in²", "area", 645.16),
    ("1 hp", "power", 0.7456999),  # 550 ft·lbf/s
    ("1 W", "power", 0.001),
    ("433920 kHz", "frequency", 433.92),
    ("1 rad", "angle", 57.29578),
    ("60 arcmin", "angle", 1.0),
    ("1 kN·s/m", "damping", 1000.0),
    ("60 L/h", "flow", 1.0),
]


@pytest.mark.parametrize(("text", "dimension", "expected"), FACTORS)
def test_published_factors(text: str, dimension: str, expected: float) -> None:
    assert parse_quantity(text, dimension).value == pytest.approx(expected, rel=5e-7, abs=1e-9)


def test_exact_factors_stay_exact() -> None:
    assert parse_quantity("1 in", "length").value == 25.4
    assert parse_quantity("5/8 in", "length").value == 15.875


@pytest.mark.parametrize("dimension", sorted(CANONICAL))
def test_every_canonical_unit_can_be_read(dimension: str) -> None:
    assert parse_quantity(f"2.5 {CANONICAL[dimension]}", dimension) == Quantity(2.5, dimension)


def test_a_tolerance_is_in_the_same_unit() -> None:
    for text in ("1.5 ± 0.2 mm", "1.5±0.2mm", "1.5 +- 0.2 mm", "1.5 +/- 0.2 mm"):
        quantity = parse_quantity(text, "length")
        assert (quantity.low, quantity.high) == (pytest.approx(1.3), pytest.approx(1.7))
    assert parse_quantity("1 ± 1/2 in", "length").tolerance == 12.7


def test_a_tolerance_of_temperature_is_a_span_and_has_no_zero_point() -> None:
    assert parse_quantity("212 ± 9 °F", "temperature").tolerance == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("text", "dimension", "said"),
    [
        ("296", "length", "'296' has no unit; expected a length with its unit, such as '10 mm'"),
        ("20 kg", "length", "'20 kg' is a mass; expected a length with its unit, such as '10 mm'"),
        ("2 mm", "angle", "'2 mm' is a length; expected an angle with its unit, such as '10 deg'"),
        ("mm", "length",
         "'mm' is not a quantity; expected a length with its unit, such as '10 mm'"),
        ("1/0 mm", "length",
         "'1/0 mm' divides by zero; expected a length with its unit, such as '10 mm'"),
        ("9999999999999 mm", "length", "'9999999999999 mm' is out of range"),
        ("3 cubits", "length", "'3 cubits' has a unit that is not known ('cubits'); "
         "expected a length with its unit, such as '10 mm'"),
    ],
)
def test_what_is_said_when_it_cannot_be_read(text: str, dimension: str, said: str) -> None:
    with pytest.raises(ValueError, match=r"^'") as caught:
        parse_quantity(text, dimension)
    assert str(caught.value) == said


@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("nan mm", "length"), ("inf mm", "length"), ("1e400 mm", "length"), ("1e3 mm", "length"),
        ("1,5 mm", "length"), ("1 ± -2 mm", "length"), ("٣ mm", "length"), ("1_0 mm", "length"),
        ("10 percent", "angle"), ("0.1 m/m", "angle"), ("900 rpm", "frequency"), ("", "length"),
        ("9" * 5000 + " mm", "length"), ("1 m*9**9**9**9", "length"), ("1 m**9", "length"),
        ("1 mm; 2 mm", "length"), ("5 lb", "force"),
    ],
)
def test_what_is_no_quantity_of_that_sort(text: str, dimension: str) -> None:
    with pytest.raises(ValueError, match="expected"):
        parse_quantity(text, dimension)


@given(
    st.decimals(min_value="0.001", max_value="5000", places=3),
    st.sampled_from([("mm", "1"), ("cm", "10"), ("m", "1000"), ("in", "25.4"), ("ft", "304.8")]),
)
def test_the_unit_of_entry_does_not_change_the_value(size: Decimal, unit: tuple[str, str]) -> None:
    name, millimetres = unit
    there = parse_quantity(f"{size} {name}", "length")
    here = parse_quantity(f"{size * Decimal(millimetres):f} mm", "length")
    assert there.value == pytest.approx(here.value, rel=1e-12)


@given(
    st.floats(-1e11, 1e11), st.floats(0, 1e6), st.sampled_from(sorted(CANONICAL)),
)
def test_a_printed_quantity_reads_back(value: float, tolerance: float, dimension: str) -> None:
    assume(value == 0 or abs(value) > 1e-9)
    assume(tolerance == 0 or tolerance > 1e-9)
    quantity = Quantity(value, dimension, tolerance)
    again = parse_quantity(str(quantity), dimension)
    assert again.value == pytest.approx(value, rel=1e-5)
    assert again.tolerance == pytest.approx(tolerance, rel=1e-5)


@given(st.text(max_size=40), st.sampled_from(sorted(CANONICAL)))
def test_any_other_text_is_refused_in_words(text: str, dimension: str) -> None:
    said = ""
    try:
        parse_quantity(text, dimension)
    except ValueError as error:
        said = str(error)
    assert said.isprintable()


def test_amounts_are_exact() -> None:
    assert parse_amount("4") == Amount(Fraction(4))
    assert parse_amount("0.5 L") == Amount(Fraction(1, 2), "L")
    assert parse_amount("250 ml") == Amount(Fraction(1, 4), "L")
    assert parse_amount("1.2 m") == parse_amount("120 cm") == Amount(Fraction(6, 5), "m")
    assert parse_amount("20 g") == Amount(Fraction(1, 50), "kg")
    assert parse_amount("1 lb").value == Fraction(45359237, 10**8)  # NIST SP 811, B.8, exact


@pytest.mark.parametrize("text", ["0", "-1", "1.5", "0 L", "two", "1 h", "1 V", "", "٣", "1e3"])
def test_what_is_no_amount(text: str) -> None:
    with pytest.raises(ValueError, match=r"amount|pieces|nothing"):
        parse_amount(text)


@given(st.integers(1, 10**6), st.sampled_from(["", "L", "m", "kg"]))
def test_a_printed_amount_reads_back(thousandths: int, unit: str) -> None:
    value = Fraction(thousandths) if not unit else Fraction(thousandths, 1000)
    assert parse_amount(str(Amount(value, unit))) == Amount(value, unit)


def test_a_tiny_amount_is_not_printed_as_nothing() -> None:
    assert format_number(Fraction(1, 2000)) == "0.0005"
    assert format_number(Fraction(1, 3)) == "0.333"
    assert format_number(Fraction(0)) == "0"


def test_money_is_exact_and_has_a_currency() -> None:
    assert parse_money("129.50 EUR") == Money(Decimal("129.50"), "EUR")
    assert parse_money("0.1 CHF").cents == 10
    assert str(parse_money("7 EUR")) == "7.00 EUR"


@pytest.mark.parametrize("text", ["129.50", "129.505 EUR", "EUR 129", "1e3 EUR", "-1 EUR", "٣ EUR"])
def test_what_is_no_sum_of_money(text: str) -> None:
    with pytest.raises(ValueError, match=r"129\.50 EUR"):
        parse_money(text)
