"""Spreadsheets as rows of texts: CSV and XLSX.

Every cell is a text, as in the rest of the catalogue; an empty cell is an empty text. A number of a
workbook is written as short as it can be without losing a digit; a formula counts as the value that
was saved with it. What a person sees in a workbook and a program would miss is refused: merged
cells, dates, formulas that were never worked out, and cells that show an error.
"""

from __future__ import annotations

import csv
import warnings
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any, NoReturn

from openpyxl import load_workbook  # type: ignore[import-untyped]
from openpyxl.cell.cell import ERROR_CODES  # type: ignore[import-untyped]

from kb.errors import CatalogueError, Problem, shown
from kb.reading import read_text

MAX_BYTES = 20 * 2**20
"""The largest file that is read."""
MAX_UNPACKED = 100 * 2**20
"""The most that a workbook, which is packed, may unpack to."""
MAX_ROWS, MAX_COLUMNS, MAX_CHARACTERS = 50_000, 200, 2000

ENDINGS = (".csv", ".xlsx")
DELIMITERS = ",;\t"

Line = tuple[int, list[str]]


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

    Raises CatalogueError, with every problem found, for what is no sheet or too large, for headers
    that stand twice or are missing above what is filled in, and for cells that hold no plain value.
    """
    kind = path.suffix.lower()
    if kind not in ENDINGS:
        _refuse(path, 0, "not a sheet", f"a file ending in {' or '.join(ENDINGS)}")
    _check_size(path)
    problems: list[Problem] = []
    lines = _csv(path) if kind == ".csv" else _xlsx(path, problems)
    filled = [(line, cells) for line, cells in lines if any(cells)]
    if not filled and not problems:
        _refuse(path, 0, "the sheet is empty", "a row of headers")
    (top, headers), *rest = filled or [(0, [])]
    problems += _wrong_headers(path.name, top, headers, rest)
    problems += [
        Problem(path.name, line, f"{shown(cell)} is too long", f"{MAX_CHARACTERS} letters at most")
        for line, cells in filled for cell in cells if len(cell) > MAX_CHARACTERS
    ]
    if problems:
        raise CatalogueError(problems)
    rows = (
        Row(line, {h: c for h, c in zip(headers, _padded(cells, len(headers)), strict=False) if h})
        for line, cells in rest
    )
    return Sheet(path.name, tuple(header for header in headers if header), tuple(rows))


def _refuse(path: Path, line: int, message: str, expected: str = "") -> NoReturn:
    raise CatalogueError([Problem(path.name, line, message, expected)])


def _check_size(path: Path) -> None:
    try:
        size = path.stat().st_size
    except OSError as error:
        _refuse(path, 0, f"the file cannot be read ({error.strerror})")
    if size > MAX_BYTES:
        _refuse(path, 0, "the file is too large", f"at most {MAX_BYTES // 2**20} MiB")


def _wrong_headers(
    name: str, top: int, headers: Sequence[str], rest: Sequence[Line]
) -> Iterator[Problem]:
    """Headers that stand twice, and columns that are filled in below none."""
    for i, header in enumerate(headers):
        if header and header in headers[:i]:
            yield Problem(name, top, f"the header {shown(header)} stands twice")
    unnamed: dict[int, int] = {}
    for line, cells in rest:
        for i, cell in enumerate(cells):
            if cell and (i >= len(headers) or not headers[i]):
                unnamed.setdefault(i, line)
    for i, line in sorted(unnamed.items()):
        yield Problem(name, line, f"cell {i + 1} of the row stands under no header")


def _padded(cells: list[str], length: int) -> list[str]:
    return [*cells, *[""] * (length - len(cells))]


# -- CSV --------------------------------------------------------------------------------------


def _csv(path: Path) -> Iterator[Line]:
    text = read_text(path.name, path)
    if isinstance(text, Problem):
        raise CatalogueError([text])
    first = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = max(DELIMITERS, key=first.count)
    reader = csv.reader(text.splitlines(keepends=True), delimiter=delimiter, strict=True)
    try:
        for cells in reader:
            _check_extent(path, reader.line_num, cells)
            yield reader.line_num, [" ".join(cell.split()) for cell in cells]
    except csv.Error as error:
        _refuse(path, reader.line_num, f"not CSV: {error}")


def _check_extent(path: Path, line: int, cells: Sequence[object]) -> None:
    if line > MAX_ROWS:
        _refuse(path, line, "the sheet is too long", f"at most {MAX_ROWS} rows")
    if len(cells) > MAX_COLUMNS:
        _refuse(path, line, "the row is too long", f"at most {MAX_COLUMNS} cells")


# -- XLSX -------------------------------------------------------------------------------------


def _xlsx(path: Path, problems: list[Problem]) -> Iterator[Line]:
    try:
        _refuse_bomb(path)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about styles and the like, which are not read
            saved = load_workbook(path, data_only=True).worksheets[0]
            stated = load_workbook(path, read_only=True).worksheets[0]
            rows = list(zip(saved.iter_rows(values_only=True),
                            stated.iter_rows(values_only=True), strict=False))
    except Exception as error:  # openpyxl lets through whatever a broken file makes it meet
        _refuse(path, 0, f"not a workbook: {error}")
    for merged in saved.merged_cells.ranges:
        problems.append(Problem(
            path.name, merged.min_row, f"the cells {merged.coord} are merged",
            "a value in each cell",
        ))
    for line, (values, formulas) in enumerate(rows, 1):
        _check_extent(path, line, values)
        formulas = (*formulas, *[None] * (len(values) - len(formulas)))
        yield line, [
            _text(value, formula, path.name, line, problems)
            for value, formula in zip(values, formulas, strict=False)
        ]


def _refuse_bomb(path: Path) -> None:
    """A workbook is packed: what it unpacks to is looked at before it is unpacked."""
    with zipfile.ZipFile(path) as packed:
        if sum(member.file_size for member in packed.infolist()) > MAX_UNPACKED:
            raise ValueError(f"it unpacks to more than {MAX_UNPACKED // 2**20} MiB")


def _text(value: Any, stated: Any, name: str, line: int, problems: list[Problem]) -> str:
    """A cell as a text; what is no plain value is added to `problems`."""
    if value is None and stated is not None:
        message = f"the formula {shown(str(stated))} has no saved value"
        problems.append(Problem(name, line, message, "the file, worked out and saved again"))
    elif isinstance(value, date | time | timedelta):
        problems.append(Problem(name, line, f"a date or a time ({value})", "a text or a number"))
    elif isinstance(value, str) and value in ERROR_CODES:
        problems.append(Problem(name, line, f"a cell shows the error {value}", "a value"))
    elif isinstance(value, bool):
        return "true" if value else "false"
    elif isinstance(value, int | float):
        return _number(value)
    elif value is not None:
        return " ".join(str(value).split())
    return ""


def _number(value: float) -> str:
    """A number with all its digits and no exponent; a whole one without a point."""
    text = format(Decimal(repr(value)), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
