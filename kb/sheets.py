"""Spreadsheets as rows of texts: CSV and XLSX.

Every cell is a text, as in the rest of the catalogue; an empty cell is an empty text. A number of a
workbook is written as short as it can be without losing a digit.
"""

from __future__ import annotations

import csv
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from openpyxl import load_workbook  # type: ignore[import-untyped]
from openpyxl.utils.exceptions import (  # type: ignore[import-untyped]
    InvalidFileException,
)

from kb.errors import CatalogueError, Problem, shown
from kb.reading import read_text
from kb.units import format_number

MAX_ROWS = 100_000
MAX_UNPACKED = 100 * 2**20


@dataclass(frozen=True, slots=True)
class Row:
    """One row under the headers: its line in the sheet and its cells by header."""

    line: int
    cells: dict[str, str]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet with its headers in order."""

    name: str
    headers: tuple[str, ...]
    rows: tuple[Row, ...]


def read_sheet(path: Path) -> Sheet:
    """The first sheet of a file: its first row that is not empty holds the headers.

    Raises CatalogueError for what is no sheet, for headers that stand twice and for rows that are
    longer than the headers.
    """
    name = path.name
    kind = path.suffix.lower()
    if kind not in (".csv", ".xlsx"):
        raise CatalogueError([Problem(name, 0, "not a sheet", "a file ending in .csv or .xlsx")])
    lines = _csv(path) if kind == ".csv" else _xlsx(path)
    filled = [(line, cells) for line, cells in lines if any(cells)]
    if not filled:
        raise CatalogueError([Problem(name, 0, "the sheet is empty", "a row of headers")])
    return _sheet(name, filled)


def _sheet(name: str, filled: list[tuple[int, list[str]]]) -> Sheet:
    (top, headers), *rest = filled
    while headers and not headers[-1]:
        headers.pop()
    problems = [
        Problem(name, top, f"the header {shown(header)} stands twice" if header
                else f"column {i + 1} has no header")
        for i, header in enumerate(headers) if not header or header in headers[:i]
    ]
    problems += [
        Problem(name, line, "the row is longer than the headers", f"{len(headers)} cells")
        for line, cells in rest if any(cells[len(headers):])
    ]
    if problems:
        raise CatalogueError(problems)
    rows = (
        Row(line, dict(zip(headers, [*cells, *[""] * len(headers)], strict=False)))
        for line, cells in rest
    )
    return Sheet(name, tuple(headers), tuple(rows))


def _csv(path: Path) -> Iterator[tuple[int, list[str]]]:
    text = read_text(path.name, path)
    if isinstance(text, Problem):
        raise CatalogueError([text])
    lines = text.splitlines()
    delimiter = max(",;\t", key=(lines[0] if lines else "").count)
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    try:
        for cells in reader:
            yield reader.line_num, [cell.strip() for cell in cells]
    except csv.Error as error:
        raise CatalogueError([Problem(path.name, reader.line_num, f"not CSV: {error}")]) from None


def _xlsx(path: Path) -> Iterator[tuple[int, list[str]]]:
    try:
        _refuse_bomb(path)
        book = load_workbook(path, read_only=True, data_only=True)
    except (InvalidFileException, zipfile.BadZipFile, KeyError, ValueError, OSError) as error:
        raise CatalogueError([Problem(path.name, 0, f"not a workbook: {error}")]) from None
    try:
        rows: Iterable[tuple[Any, ...]] = book.worksheets[0].iter_rows(values_only=True)
        for line, cells in enumerate(rows, 1):
            if line > MAX_ROWS:
                message = "the sheet is too long"
                raise CatalogueError([Problem(path.name, line, message, f"{MAX_ROWS} rows")])
            yield line, [_text(cell) for cell in cells]
    finally:
        book.close()


def _refuse_bomb(path: Path) -> None:
    """A workbook is packed: what it unpacks to is looked at before it is unpacked."""
    with zipfile.ZipFile(path) as packed:
        if sum(member.file_size for member in packed.infolist()) > MAX_UNPACKED:
            raise ValueError(f"it unpacks to more than {MAX_UNPACKED} bytes")


def _text(cell: Any) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, int | float):
        return format_number(Fraction(str(cell)))
    return str(cell).strip()
