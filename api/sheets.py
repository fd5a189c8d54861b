"""Reads a table from a CSV or XLSX file: the first row names the columns, every cell is text."""

from __future__ import annotations

import csv
import warnings
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from openpyxl import load_workbook  # type: ignore[import-untyped]

from kb.errors import Problem, QuestionError
from kb.reading import read_text

MOST_BYTES = 5 * 2**20
"""The largest file that is read."""
MOST_UNPACKED = 50 * 2**20
"""The most that an XLSX file, which is packed, may unpack to."""
MOST_ROWS, MOST_COLUMNS, MOST_CHARACTERS = 5000, 100, 2000
DELIMITERS = ",;\t"


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its number in the file, and its cells by the name of their column, in small letters.

    Empty cells are left out.
    """

    number: int
    cells: dict[str, str]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table: the names of its columns, in small letters, and its rows that are not empty."""

    columns: tuple[str, ...]
    rows: tuple[Row, ...]


def read_sheet(path: Path, field: str) -> Sheet:
    """The table in a file.

    Raises QuestionError about `field` when the file cannot be read as a table.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            raise QuestionError(field, f"{path.name} is larger than {MOST_BYTES // 2**20} MiB")
    except OSError as error:
        raise QuestionError(field, f"{path.name} cannot be read ({error.strerror})") from None
    lines = _from_xlsx(path, field) if path.suffix.lower() == ".xlsx" else _from_csv(path, field)
    return _sheet(lines, path.name, field)


def _sheet(lines: Iterable[tuple[int, Sequence[str]]], name: str, field: str) -> Sheet:
    header: list[str] = []
    rows: list[Row] = []
    for i, (number, cells) in enumerate(lines):
        if i > MOST_ROWS or len(cells) > MOST_COLUMNS:
            raise QuestionError(
                field, f"{name} is too large; at most {MOST_ROWS} rows of {MOST_COLUMNS} columns"
            )
        texts = [" ".join(cell.split()) for cell in cells]
        if too_long := next((text for text in texts if len(text) > MOST_CHARACTERS), ""):
            raise QuestionError(field, f"{name}, row {number}: '{too_long[:40]}...' is too long")
        if not header:
            header = [text.lower() for text in texts] if any(texts) else []
            _check_header(header, name, number, field)
        elif any(texts):
            if any(texts[len(header):]):
                raise QuestionError(field, f"{name}, row {number} has more cells than columns")
            named = zip(header, texts, strict=False)
            rows.append(Row(number, {column: text for column, text in named if column and text}))
    if not header:
        raise QuestionError(field, f"{name} is empty; expected a row that names the columns")
    return Sheet(tuple(header), tuple(rows))


def _check_header(header: Sequence[str], name: str, number: int, field: str) -> None:
    named = [column for column in header if column]
    twice = next((column for column in named if named.count(column) > 1), "")
    if twice:
        raise QuestionError(field, f"{name}, row {number}: two columns are called '{twice}'")


# -- CSV --------------------------------------------------------------------------------------


def _from_csv(path: Path, field: str) -> Iterator[tuple[int, list[str]]]:
    text = read_text(path.name, path)
    if isinstance(text, Problem):
        raise QuestionError(field, str(text))
    first = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = max(DELIMITERS, key=first.count)
    reader = csv.reader(text.splitlines(keepends=True), delimiter=delimiter, strict=True)
    try:
        for cells in reader:
            yield reader.line_num, cells
    except csv.Error as error:
        raise QuestionError(field, f"{path.name}, row {reader.line_num}: {error}") from None


# -- XLSX -------------------------------------------------------------------------------------


def _from_xlsx(path: Path, field: str) -> Iterator[tuple[int, list[str]]]:
    """The first sheet. A formula counts as the value that was saved with it."""
    try:
        _check_size(path, field)
        yield from _cells(path, field)
    except QuestionError:
        raise
    except Exception as error:  # openpyxl lets through whatever a broken file makes it meet
        raise QuestionError(field, f"{path.name} cannot be read as XLSX ({error})") from None


def _check_size(path: Path, field: str) -> None:
    with zipfile.ZipFile(path) as packed:
        if sum(entry.file_size for entry in packed.infolist()) > MOST_UNPACKED:
            raise QuestionError(field, f"{path.name} unpacks to too much")


def _cells(path: Path, field: str) -> Iterator[tuple[int, list[str]]]:
    books = []
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about styles and the like, which are not read
            for saved in (True, False):
                books.append(load_workbook(path, read_only=True, data_only=saved))
            sheets = [book.worksheets[0].iter_rows(values_only=True) for book in books]
            for number, (values, stated) in enumerate(zip(*sheets, strict=True), 1):
                yield number, [
                    _cell(value, formula, f"{path.name}, row {number}", field)
                    for value, formula in zip(values, stated, strict=True)
                ]
    finally:
        for book in books:
            book.close()


def _cell(value: Any, stated: Any, where: str, field: str) -> str:
    if value is None and stated is not None:
        raise QuestionError(
            field, f"{where}: '{stated}' has no saved value; open the file, let it calculate, save"
        )
    if isinstance(value, date):
        raise QuestionError(field, f"{where}: a date ({value}) stands where a text is expected")
    if isinstance(value, float):
        return f"{value:.10g}"
    return "" if value is None else str(value)
