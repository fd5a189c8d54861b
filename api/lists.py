"""The list of what a builder has, from a CSV, XLSX or YAML file.

A table has a row that names its columns. The part stands in one of `PARTS` (an id of the
catalogue) or `TEXTS` (a loose description), how much of it in one of `AMOUNTS`, perhaps with a
column of `UNITS`; other columns are left alone. In YAML it is a mapping from part or description to
amount, such as `caliper-tarn-4: 2` or `Brake fluid DOT 4: 0.5 L`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from pathlib import Path

from pydantic import ValidationError

from kb.errors import CatalogueError, Problem, QuestionError
from kb.reading import read_text, read_yaml
from kb.sheets import read_sheet
from rules.gaps_models import Have

PARTS = ("part", "part id", "part no", "part number", "id", "code", "order code")
TEXTS = ("description", "name", "text", "item", "what")
AMOUNTS = ("qty", "quantity", "amount", "count", "pieces", "number", "how many")
UNITS = ("unit", "units")
PIECES = frozenset({"", "pc", "pcs", "piece", "pieces", "each", "off", "x"})
MOST_LINES = 1000

FIELD = "list"

Cells = Mapping[str, str]
"""The cells of a row that are filled in, by the plain name of their column."""


def read_have(path: Path, known: Collection[str]) -> tuple[Have, ...]:
    """The lines of a list; `known` are the part ids of the catalogue.

    Raises QuestionError when the file cannot be read, or is not such a list.
    """
    yaml = path.suffix.lower() in (".yaml", ".yml")
    found = tuple(_from_yaml(path) if yaml else _from_sheet(path, known))
    if len(found) > MOST_LINES:
        raise QuestionError(FIELD, f"{path.name} has {len(found)} lines; at most {MOST_LINES}")
    return found


def _from_sheet(path: Path, known: Collection[str]) -> Iterator[Have]:
    try:
        sheet = read_sheet(path)
    except CatalogueError as error:
        raise QuestionError(FIELD, "; ".join(map(str, error.problems))) from None
    columns = [_plain(header) for header in sheet.headers]
    if not set(columns).intersection((*PARTS, *TEXTS)):
        raise QuestionError(
            FIELD, f"no column holds parts; expected one called {', '.join((*PARTS, *TEXTS))}"
        )
    if twice := next((column for column in columns if columns.count(column) > 1), ""):
        raise QuestionError(FIELD, f"two columns are called '{twice}'")
    for row in sheet.rows:
        cells = {_plain(header): cell for header, cell in row.cells.items() if cell}
        if text := _text(cells, known):
            yield _have(text, _amount(cells), row.line)
        else:
            raise QuestionError(FIELD, f"row {row.line} names no part")


def _plain(header: str) -> str:
    return header.lower().rstrip(".:")


def _text(cells: Cells, known: Collection[str]) -> str:
    """The part: its id where the catalogue has it, else all that is said of it."""
    part, text = _first(cells, PARTS), _first(cells, TEXTS)
    return part if part in known else f"{part} {text}".strip()


def _amount(cells: Cells) -> str | None:
    amount, unit = _first(cells, AMOUNTS), _first(cells, UNITS)
    if not amount:
        return None
    return amount if unit.lower() in PIECES else f"{amount} {unit}"


def _first(cells: Cells, columns: Iterable[str]) -> str:
    return next((cells[column] for column in columns if column in cells), "")


def _from_yaml(path: Path) -> Iterator[Have]:
    text = read_text(path.name, path)
    problems = [text] if isinstance(text, Problem) else []
    top = None if isinstance(text, Problem) else read_yaml(path.name, text, problems)
    if top is None or problems:
        raise QuestionError(FIELD, "; ".join(map(str, problems)))
    for name, amount in top.items():
        if amount is not None and not isinstance(amount, str):
            raise QuestionError(
                FIELD, f"{path.name}:{top.lines[name]}: expected an amount, such as 4 or 0.5 L"
            )
        yield _have(name, amount, top.lines[name])


def _have(text: str, amount: str | None, row: int) -> Have:
    try:
        return Have(text=text, amount=amount, row=row)
    except ValidationError as error:
        said = error.errors()[0]
        raise QuestionError(FIELD, f"row {row}: {said['loc'][0]}: {said['msg'].lower()}") from None
