"""The order as CSV (RFC 4180) for the order desk: what to order, in whole packs."""

from __future__ import annotations

import csv
import io

from api.text import clean, number
from rules import answers as a

COLUMNS = (
    "part", "name", "maker", "packs", "pack size", "unit", "needed", "on hand", "price", "currency",
    "status",
)
FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet takes for the start of a formula (OWASP, "CSV Injection")."""


def order_csv(answer: a.Package) -> str:
    """The lines of a package that have to be ordered; only the titles when there are none."""
    text = io.StringIO()
    rows = csv.writer(text)
    rows.writerow(COLUMNS)
    for line in answer.lines:
        if line.packs:
            rows.writerow([
                _harmless(line.part), _harmless(line.name), _harmless(line.maker), line.packs,
                number(line.pack), line.unit, number(line.qty), number(line.on_hand),
                line.price or "", answer.catalog.currency, line.status,
            ])
    return text.getvalue()


def _harmless(text: str) -> str:
    """A text that no spreadsheet takes for a formula."""
    text = clean(text)
    return f"'{text}" if text.startswith(FORMULA) else text
