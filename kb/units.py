"""Quantities with their unit, read from text such as "296 mm", "11.65 in" or "1.5 ± 0.2 mm".

Inside Kitwright every quantity is in the canonical unit of its dimension (mm, kg, N, N/mm, N·m,
bar, °C, km/h, min, L, ...). Conversion factors come from pint, asked once per unit and kept.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache, lru_cache
from typing import Annotated, Any

from kb.errors import a_or_an, shown
from kb.texts import text_type

CANONICAL = {
    "angle": "deg",
    "area": "mm²",
    "charge": "A·h",
    "consumption": "g/kWh",
    "current": "A",
    "damping": "N·s/m",
    "flow": "L/min",
    "force": "N",
    "frequency": "MHz",
    "length": "mm",
    "mass": "kg",
    "power": "kW",
    "pressure": "bar",
    "rotation": "rpm",
    "speed": "km/h",
    "stiffness": "N/mm",
    "temperature": "°C",
    "time": "min",
    "torque": "N·m",
    "voltage": "V",
    "volume": "L",
}
"""The canonical unit of each dimension, as it is printed."""

# Digits and unit factors are bounded, so that no text can make a conversion slow or overflow.
_NUMBER = r"(?:[0-9]{1,12}/[0-9]{1,12}|[0-9]{1,15}(?:\.[0-9]{1,15})?)"
_QUANTITY = re.compile(
    rf"([+-]?{_NUMBER})(?:\s*(?:±|\+-|\+/-)\s*({_NUMBER}))?\s*([^0-9\s.,±+-].{{0,19}})?"
)
_FACTOR = r"[A-Za-zµμ°]+(?:(?:\^|\*\*)[23]|[²³])?"
_UNIT = re.compile(rf"{_FACTOR}(?:(?:\s*[·*/-]\s*|\s+){_FACTOR})*")
_LARGEST = 1e12


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in the canonical unit of its dimension, with the tolerance either side of it."""

    value: float
    dimension: str
    tolerance: float = 0.0

    @property
    def low(self) -> float:
        """The least the quantity can be, in canonical units."""
        return self.value - self.tolerance

    @property
    def high(self) -> float:
        """The most the quantity can be, in canonical units."""
        return self.value + self.tolerance

    @property
    def unit(self) -> str:
        """The canonical unit as printed."""
        return CANONICAL[self.dimension]

    def __str__(self) -> str:
        spread = f" ± {_plain(self.tolerance)}" if self.tolerance else ""
        return f"{_plain(self.value)}{spread} {self.unit}"


def _plain(value: float) -> str:
    """Six significant digits, never in powers of ten: the text can be read back."""
    text = f"{value:.6g}"
    return format(Decimal(text), "f") if "e" in text else text


@cache
def _registry() -> Any:
    import pint  # imported on first use: it is slow, and many commands never convert

    return pint.UnitRegistry(cache_folder=None)


@lru_cache(maxsize=512)
def _scale(unit: str, dimension: str) -> tuple[float, float]:
    """Offset and factor that turn a number in `unit` into the canonical unit.

    Raises ValueError when the unit is unknown or belongs to another dimension.
    """
    if unit == CANONICAL[dimension]:
        return 0.0, 1.0
    if not _UNIT.fullmatch(unit):
        raise ValueError(unit)
    registry = _registry()
    try:
        source, target = (
            registry.parse_units(_pint_text(text)) for text in (unit, CANONICAL[dimension])
        )
        # To pint an angle, a percentage and a turn are all plain numbers: base units tell them
        # apart, so that "10 percent" is no angle and "900 rpm" no radio frequency.
        if registry.get_base_units(source)[1] != registry.get_base_units(target)[1]:
            raise ValueError(unit)
        zero = registry.Quantity(0.0, source).to(target).magnitude
        one = registry.Quantity(1.0, source).to(target).magnitude
    except Exception as error:  # pint raises many unrelated classes for unreadable units
        raise ValueError(unit) from error
    return float(zero), float(one - zero)


def _pint_text(unit: str) -> str:
    """A unit as pint spells it. "Nm" is the trade's way of writing N·m."""
    return re.sub(r"\bNm\b", "N*m", re.sub("[·-]", "*", unit))


def _number(text: str) -> float:
    """A decimal or a fraction such as 5/8. Raises ValueError on a zero divisor."""
    try:
        return float(Fraction(text))
    except ZeroDivisionError:
        raise ValueError(text) from None


@lru_cache(maxsize=65536)
def parse_quantity(text: str, dimension: str) -> Quantity:
    """The quantity written in `text`, in the canonical unit of `dimension`.

    Raises ValueError with a sentence that says what was expected.
    """
    match = _QUANTITY.fullmatch(text.strip())
    number, spread, unit = match.groups() if match else ("", None, None)
    try:
        offset, factor = _scale((unit or "").strip(), dimension)
        value = offset + factor * _number(number)
        tolerance = abs(factor) * _number(spread) if spread else 0.0
    except ValueError:
        due = f"{a_or_an(dimension)} with its unit, such as '10 {CANONICAL[dimension]}'"
        fault = _misspelt(text) or (_fault(unit, dimension) if match else "is not a quantity")
        raise ValueError(f"{shown(text)} {fault}; expected {due}") from None
    if abs(value) > _LARGEST or tolerance > _LARGEST:
        raise ValueError(f"{shown(text)} is out of range")
    return Quantity(value, dimension, tolerance)


def _misspelt(text: str) -> str:
    """What is wrong with how a number is written; empty when it is something else."""
    if re.match(r"\s*[+-]?[0-9.]*,", text):
        return "has a comma in its number"
    return "has an exponent" if re.match(r"\s*[+-]?[0-9.]+[eE][+-]?[0-9]", text) else ""


def _fault(unit: str | None, due: str) -> str:
    """What is wrong with a quantity in `unit` where the dimension `due` is expected."""
    if not unit:
        return "has no unit"
    for dimension in CANONICAL:
        try:
            _scale(unit.strip(), dimension)
        except ValueError:
            continue
        return "divides by zero" if dimension == due else f"is {a_or_an(dimension)}"
    return f"has a unit that is not known ({shown(unit.strip())})"


def _quantity_type(dimension: str, example: str, *, positive: bool = True) -> Any:
    def parse(text: str) -> Quantity:
        quantity = parse_quantity(text, dimension)
        if positive and quantity.low < 0:
            reach = "is" if quantity.value < 0 else "reaches"
            raise ValueError(f"{shown(text)} {reach} below zero")
        return quantity

    return text_type(Quantity, parse, f"{dimension} with its unit", example)


Angle = Annotated[Quantity, _quantity_type("angle", "2.5 deg", positive=False)]
Area = Annotated[Quantity, _quantity_type("area", "4000 mm²")]
Charge = Annotated[Quantity, _quantity_type("charge", "55 A·h")]
Consumption = Annotated[Quantity, _quantity_type("consumption", "300 g/kWh")]
Current = Annotated[Quantity, _quantity_type("current", "12 A")]
Damping = Annotated[Quantity, _quantity_type("damping", "1800 N·s/m")]
Flow = Annotated[Quantity, _quantity_type("flow", "2.1 L/min")]
Force = Annotated[Quantity, _quantity_type("force", "350 N")]
Frequency = Annotated[Quantity, _quantity_type("frequency", "433.92 MHz")]
Length = Annotated[Quantity, _quantity_type("length", "296 mm")]
Mass = Annotated[Quantity, _quantity_type("mass", "7.4 kg")]
Offset = Annotated[Quantity, _quantity_type("length", "-15 mm", positive=False)]
Power = Annotated[Quantity, _quantity_type("power", "120 kW")]
Pressure = Annotated[Quantity, _quantity_type("pressure", "2.4 bar")]
Rotation = Annotated[Quantity, _quantity_type("rotation", "6200 rpm")]
Speed = Annotated[Quantity, _quantity_type("speed", "190 km/h")]
Stiffness = Annotated[Quantity, _quantity_type("stiffness", "35 N/mm")]
Temperature = Annotated[Quantity, _quantity_type("temperature", "230 °C", positive=False)]
Time = Annotated[Quantity, _quantity_type("time", "45 min")]
Torque = Annotated[Quantity, _quantity_type("torque", "110 N·m")]
Voltage = Annotated[Quantity, _quantity_type("voltage", "12 V")]
Volume = Annotated[Quantity, _quantity_type("volume", "0.5 L")]


# How much of a part: pieces, or a measured good sold by volume, length or mass.

_MEASURES = {
    "volume": ("L", Fraction(1)), "length": ("m", Fraction(1, 1000)), "mass": ("kg", Fraction(1))
}
"""How goods are counted that are not sold by the piece, and how that is got from canonical."""
_NO_AMOUNT = "is not an amount, such as '4' or '0.5 L'"
_AMOUNT = re.compile(r"([0-9]{1,9}(?:\.[0-9]{1,6})?)\s*([A-Za-z]{0,3})")


@dataclass(frozen=True, slots=True)
class Amount:
    """How much of a part: an exact number of pieces, litres, metres or kilograms."""

    value: Fraction
    unit: str = ""

    def __str__(self) -> str:
        return f"{format_number(self.value)} {self.unit}".strip()


def format_number(value: Fraction) -> str:
    """A fraction as the shortest decimal text: three places, or three digits when it is tiny."""
    if 0 < abs(value) < Fraction(1, 100):
        return _plain(float(f"{float(value):.3g}"))
    return f"{float(value):.3f}".rstrip("0").rstrip(".")


@lru_cache(maxsize=4096)
def parse_amount(text: str) -> Amount:
    """Pieces ("4") or a measured amount ("0.5 L", "1.2 m", "20 g"), exact.

    Raises ValueError with a sentence that says what was expected.
    """
    match = _AMOUNT.fullmatch(text.strip())
    if not match:
        raise ValueError(f"{shown(text)} {_NO_AMOUNT}")
    value, unit = Fraction(match[1]), match[2]
    if value <= 0:
        raise ValueError(f"{shown(text)} is nothing; expected an amount, such as '4' or '0.5 L'")
    if unit:
        factor, counted = _measure(unit, text)
        return Amount(value * factor, counted)
    if value.denominator != 1:
        raise ValueError(f"{shown(text)} is not a whole number of pieces and has no unit")
    return Amount(value)


def _measure(unit: str, text: str) -> tuple[Fraction, str]:
    """The exact factor of a unit to the one its goods are counted in, and that unit."""
    for dimension, (counted, share) in _MEASURES.items():
        try:
            _, factor = _scale(unit, dimension)
        except ValueError:
            continue
        # Published factors have at most twelve digits; the rest of a float is its rounding.
        return Fraction(f"{factor:.12g}") * share, counted
    raise ValueError(f"{shown(text)} {_NO_AMOUNT}")


AmountText = Annotated[
    Amount,
    text_type(Amount, parse_amount, "amount: pieces, or L, m, kg", "4", schema="integer"),
]
