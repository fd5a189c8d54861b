"""What reads text from outside, each with the law that holds for any text whatever.

The text is read, or refused with the one error that is documented; what is said is printable.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from kb import errors, money, reading, shapes, sizes, statements, units
from kb.catalogue import load_texts

SIZES: tuple[tuple[Callable[[str], object], tuple[str, ...]], ...] = (
    (sizes.parse_tyre, ("205/45 R17 88W XL", "P195/50ZR15 (82Y)")),
    (sizes.parse_rim, ("7.5 J x 17", "6JX15")),
    (sizes.parse_thread, ("M12 x 1.5", "3/8-24 UNF")),
    (sizes.parse_circle, ("5 x 112", "5 x 4.5 in")),
    (statements.parse_years, ("2016", "2014-2018", "2016-", "-2015")),
)
OTHERS = (units.parse_amount, money.parse_money, shapes.parse_point, *(
    partial(units.parse_quantity, dimension=dimension) for dimension in units.CANONICAL
))
"""What is read beside them: amounts, sums, points of outlines, quantities of every dimension."""


def printable(*said: object) -> None:
    """Whatever is said about a text has to be fit for a terminal."""
    assert said
    assert all(str(each).isprintable() for each in said)


def read_sizes(text: str) -> None:
    """The sizes of the trade: what one of them prints, it reads back."""
    for parse, _ in SIZES:
        try:
            found = parse(text)
        except ValueError as error:
            printable(error)
        else:
            assert parse(str(found)) == found, (text, found)


def read_measures(text: str) -> None:
    """Amounts, money, points and quantities."""
    for parse in OTHERS:
        try:
            parse(text)
        except ValueError as error:
            printable(error)


def read_yaml(text: str) -> None:
    """YAML: maps and lists, or problems with their lines."""
    problems: list[errors.Problem] = []
    top = reading.read_yaml("x.yaml", text, problems)
    if top is None or problems:
        printable(*problems)


def read_catalogue(text: str) -> None:
    """A whole catalogue: understood, or refused in words."""
    try:
        load_texts({"x.yaml": text})
    except errors.CatalogueError as error:
        printable(*error.problems)
