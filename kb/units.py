"""Quantities with their unit, read from text such as "296 mm", "11.65 in" or "1.5 ± 0.2 mm".

Inside Kitwright every quantity is in the canonical unit of its dimension (mm, kg, N, N/mm, N·m,
bar, °C, km/h, min, L, ...). Conversion factors come from pint, asked once per unit and kept.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from functools import cache, lru_cache
from typing import Annotated, Any

from pydantic import GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

CANONICAL = {
    "angle": "deg",
    "area": "mm²",
    "current": "A",
    "damping": "N·s/m",
    "flow": "L/min",
    "force": "N",
    "frequency": "MHz",
    "length": "mm",
    "mass": "kg",
    "power": "kW",
    "pressure": "bar",
    "speed": "km/h",
    "stiffness": "N/mm",
    "temperature": "°C",
    "time": "min",
    "torque": "N·m",
    "voltage": "V",
    "volume": "L",
}
"""The canonical unit of each dimension, as it is printed."""

_NUMBER = r"[+-]?(?:\d+/\d+|\d+(?:\.\d+)?)"
_QUANTITY = re.compile(rf"({_NUMBER})(?:\s*(?:±|\+-|\+/-)\s*({_NUMBER}))?\s*([^\d\s].{{0,19}})")
_UNIT = re.compile(r"[A-Za-zµ°·/*^²³0-9 ]+")
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
        spread = f" ± {self.tolerance:.6g}" if self.tolerance else ""
        return f"{self.value:.6g}{spread} {self.unit}"


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
    target = registry.parse_units(CANONICAL[dimension].replace("·", "*"))
    try:
        source = registry.parse_units(unit.replace("·", "*"))
        zero = registry.Quantity(0.0, source).to(target).magnitude
        one = registry.Quantity(1.0, source).to(target).magnitude
    except Exception as error:  # pint raises many unrelated classes for unreadable units
        raise ValueError(unit) from error
    return float(zero), float(one - zero)


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
    example = f"a {dimension} with its unit, such as '10 {CANONICAL[dimension]}'"
    match = _QUANTITY.fullmatch(text.strip())
    if not match:
        raise ValueError(f"'{_short(text)}' is not {example}")
    number, spread, unit = match.groups()
    try:
        offset, factor = _scale(unit.strip(), dimension)
        value = offset + factor * _number(number)
        tolerance = abs(factor) * _number(spread) if spread else 0.0
    except ValueError:
        raise ValueError(f"'{_short(text)}' is not {example}") from None
    if abs(value) > _LARGEST or not 0 <= tolerance <= _LARGEST:
        raise ValueError(f"'{_short(text)}' is out of range")
    return Quantity(value, dimension, tolerance)


def _short(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:57]}..."


def text_type(of: type, parse: Callable[[str], Any], what: str, example: str) -> Any:
    """Metadata that makes pydantic read a value `of` a type from text with `parse`.

    `what` and `example` describe the text in errors and in the JSON Schema.
    """

    class _FromText:
        @staticmethod
        def __get_pydantic_core_schema__(_source: Any, _handler: Any) -> CoreSchema:
            return core_schema.no_info_plain_validator_function(
                read, serialization=core_schema.to_string_ser_schema()
            )

        @staticmethod
        def __get_pydantic_json_schema__(
            _schema: CoreSchema, _handler: GetJsonSchemaHandler
        ) -> dict[str, Any]:
            return {"type": "string", "description": what, "examples": [example]}

    def read(value: Any) -> Any:
        if isinstance(value, of):
            return value
        if not isinstance(value, str):
            raise PydanticCustomError(
                "text_due", "expected {what} as text, such as '{example}'",
                {"what": what, "example": example},
            )
        try:
            return parse(value)
        except ValueError as error:
            raise PydanticCustomError("unreadable", "{why}", {"why": str(error)}) from None

    return _FromText


def _quantity_type(dimension: str, example: str, *, positive: bool = True) -> Any:
    def parse(text: str) -> Quantity:
        quantity = parse_quantity(text, dimension)
        if positive and quantity.low < 0:
            raise ValueError(f"'{_short(text)}' is below zero")
        return quantity

    return text_type(Quantity, parse, f"{dimension} with its unit", example)


Angle = Annotated[Quantity, _quantity_type("angle", "2.5 deg", positive=False)]
Area = Annotated[Quantity, _quantity_type("area", "4000 mm²")]
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
Speed = Annotated[Quantity, _quantity_type("speed", "190 km/h")]
Stiffness = Annotated[Quantity, _quantity_type("stiffness", "35 N/mm")]
Temperature = Annotated[Quantity, _quantity_type("temperature", "230 °C", positive=False)]
Time = Annotated[Quantity, _quantity_type("time", "45 min")]
Torque = Annotated[Quantity, _quantity_type("torque", "110 N·m")]
Voltage = Annotated[Quantity, _quantity_type("voltage", "12 V")]
Volume = Annotated[Quantity, _quantity_type("volume", "0.5 L")]


# How much of a part: pieces, or a measured good sold by volume, length or mass.

_MEASURES = {"volume": ("L", 1), "length": ("m", Fraction(1, 1000)), "mass": ("kg", 1)}
"""How goods are counted that are not sold by the piece, and how that is got from canonical."""
_AMOUNT = re.compile(r"(\d{1,9}(?:\.\d{1,6})?)\s*([A-Za-z]{0,3})")


@dataclass(frozen=True, slots=True)
class Amount:
    """How much of a part: an exact number of pieces, litres, metres or kilograms."""

    value: Fraction
    unit: str = ""

    def __str__(self) -> str:
        return f"{format_number(self.value)} {self.unit}".strip()


def format_number(value: Fraction) -> str:
    """A fraction as the shortest decimal text, at most three places."""
    return f"{float(value):.3f}".rstrip("0").rstrip(".")


@lru_cache(maxsize=4096)
def parse_amount(text: str) -> Amount:
    """Pieces ("4") or a measured amount ("0.5 L", "1.2 m", "20 g"), exact.

    Raises ValueError with a sentence that says what was expected.
    """
    match = _AMOUNT.fullmatch(text.strip())
    if not match:
        raise ValueError(f"'{_short(text)}' is not an amount, such as '4' or '0.5 L'")
    value, unit = Fraction(Decimal(match[1])), match[2]
    if value <= 0:
        raise ValueError(f"'{_short(text)}' must be more than nothing")
    if not unit:
        if value.denominator != 1:
            raise ValueError(f"'{_short(text)}' pieces: expected a whole number")
        return Amount(value)
    for dimension, (counted, share) in _MEASURES.items():
        try:
            _, factor = _scale(unit, dimension)
        except ValueError:
            continue
        return Amount(value * Fraction(factor).limit_denominator(10**6) * share, counted)
    raise ValueError(f"'{_short(text)}' is not an amount, such as '4' or '0.5 L'")


AmountText = Annotated[
    Amount, text_type(Amount, parse_amount, "amount: pieces or L, m, kg", "4")
]


# Money: an exact decimal and a currency code.

_MONEY = re.compile(r"(\d{1,7}(?:\.\d{1,2})?) ([A-Z]{3})")


@dataclass(frozen=True, slots=True)
class Money:
    """An exact sum in one currency."""

    value: Decimal
    currency: str

    @property
    def cents(self) -> int:
        """The sum in hundredths of the currency."""
        return int(self.value * 100)

    def __str__(self) -> str:
        return f"{self.value:.2f} {self.currency}"


@lru_cache(maxsize=65536)
def parse_money(text: str) -> Money:
    """A sum such as "129.50 EUR": up to 9,999,999.99, never negative.

    Raises ValueError with a sentence that says what was expected.
    """
    match = _MONEY.fullmatch(text.strip())
    try:
        if match:
            return Money(Decimal(match[1]), match[2])
    except InvalidOperation:
        pass
    raise ValueError(f"'{_short(text)}' is not a sum of money, such as '129.50 EUR'")


Price = Annotated[
    Money, text_type(Money, parse_money, "sum of money with its currency", "129.50 EUR")
]
