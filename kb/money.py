"""Money: an exact decimal and a currency code, read from text such as "129.50 EUR"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Annotated

from kb.errors import shown
from kb.texts import text_type

_MONEY = re.compile(r"([0-9]{1,7}(?:\.[0-9]{1,2})?) ([A-Z]{3})")


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
    if match:
        return Money(Decimal(match[1]), match[2])
    fault = "is below zero" if text.lstrip().startswith("-") else "is not a sum of money"
    if "," in text:
        fault = "has a comma"
    raise ValueError(f"{shown(text)} {fault}; expected a price such as '129.50 EUR'")


Price = Annotated[
    Money, text_type(Money, parse_money, "sum of money with its currency", "129.50 EUR")
]
