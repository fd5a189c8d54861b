"""The list of what a builder has, from a CSV, XLSX or YAML file.

A table has a row that names its columns. The part stands in one of `PARTS` (an id of the
catalogue) or `TEXTS` (a loose description), how much of it in one of `AMOUNTS`, perhaps with a
column of `UNITS`; other columns are left alone. In YAML it is a mapping from part or description to
amount, such as `caliper-tarn-4: 2` or `Brake fluid DOT 4: 0.5 L`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from pathlib import Path

from pydantic import ValidationError

from api.sheets import Row, Sheet, read_sheet
from kb.errors import Problem, QuestionError
from kb.reading import read_text, read_yaml
from rules.gaps_models import Have

PARTS = ("part", "part id", "part no", "part number", "id", "code", "order code")
TEXTS = ("description", "name", "text", "item", "what")
AMOUNTS = ("qty", "quantity", "amount", "count", "pieces", "number", "how many")
UNITS = ("unit", "units")
PIECES = frozenset({"", "pc", "pcs", "piece", "pieces", "each", "off", "x"})
MOST_LINES = 1000

FIELD = "list"


def read_have(path: Path, known: Collection[str]) -> tuple[Have, ...]:
    """The lines of a list; `known` are the part ids of the catalogue.

    Raises QuestionError when the file cannot be read, or is not such a list.
    """
    yaml = path.suffix.lower() in (".yaml", ".yml")
    found = tuple(_from_yaml(path) if yaml else _from_sheet(read_sheet(path, FIELD), known))
    if len(found) > MOST_LINES:
        raise QuestionError(FIELD, f"{path.name} has {len(found)} lines; at most {MOST_LINES}")
    return found


def _from_sheet(sheet: Sheet, known: Collection[str]) -> Iterator[Have]:
    if not set(sheet.columns).intersection((*PARTS, *TEXTS)):
        raise QuestionError(
            FIELD, f"no column holds parts; expected one called {', '.join((*PARTS, *TEXTS))}"
        )
    for row in sheet.rows:
        if text := _text(row, known):
            yield _have(text, _amount(row), row.number)
        else:
            raise QuestionError(FIELD, f"row {row.number} names no part")


def _text(row: Row, known: Collection[str]) -> str:
    """The part: its id where the catalogue has it, else all that is said of it."""
    part, text = _first(row, PARTS), _first(row, TEXTS)
    return part if part in known else f"{part} {text}".strip()


def _amount(row: Row) -> str | None:
    amount, unit = _first(row, AMOUNTS), _first(row, UNITS)
    if not amount:
        return None
    return amount if unit.lower() in PIECES else f"{amount} {unit}"


def _first(row: Row, columns: Iterable[str]) -> str:
    return next((row.cells[column] for column in columns if column in row.cells), "")


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
