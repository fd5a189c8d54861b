"""Coverage-guided fuzzing of what reads text from outside, with atheris.

    python -m tests.fuzz TARGET [--seconds N]

Each target takes any text: it is read, or refused with the one error that is documented for it.
Anything else, an endless loop among it, ends the run with a text that shows it.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["kb"], enable_loader_override=False):
    from kb import errors, money, reading, shapes, sizes, statements, units
    from kb.catalogue import load_texts

ROOT = Path(__file__).parents[2]
SLOWEST = 10
"""Seconds that one text may take. Instrumented code is many times slower than it is in use."""

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


def catalogue_seeds() -> Iterator[str]:
    """The demo, and every broken catalogue that is kept."""
    for folder in ("demo_catalog", "tests/kb/broken", "tests/kb/example"):
        for path in sorted((ROOT / folder).rglob("*.yaml")):
            yield path.read_bytes().decode("utf-8", "replace")


TARGETS: dict[str, tuple[Callable[[str], None], Callable[[], Iterator[str]]]] = {
    "sizes": (read_sizes, lambda: (text for _, texts in SIZES for text in texts)),
    "measures": (read_measures, lambda: iter(
        ("296 mm", "1.5 ± 0.2 N/mm", "-3/4 in", "90 °C", "0.5 L", "129.50 EUR", "12, -3 mm"))),
    "yaml": (read_yaml, catalogue_seeds),
    "catalogue": (read_catalogue, catalogue_seeds),
}


def main() -> None:
    """Fuzz one target for a while; leaves with another code than 0 when it finds something."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("target", choices=TARGETS)
    parser.add_argument("--seconds", type=int, default=60)
    asked = parser.parse_args()
    target, seeds = TARGETS[asked.target]
    with tempfile.TemporaryDirectory() as room:
        for number, text in enumerate(seeds()):
            (Path(room) / str(number)).write_bytes(text.encode())
        atheris.Setup(
            [sys.argv[0], f"-max_total_time={asked.seconds}", f"-timeout={SLOWEST}",
             "-rss_limit_mb=4096", "-max_len=20000", f"-artifact_prefix={room}/found-", room],
            lambda data: target(data.decode("utf-8", "replace")),
        )
        atheris.Fuzz()


if __name__ == "__main__":
    main()
