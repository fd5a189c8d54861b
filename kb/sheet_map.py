"""How the columns of a sheet become the fields of parts: the map file of an import.

    into: wheels/oddmoor.yaml        # the file of the catalogue that holds these parts
    id: wheel-{Article}              # {Header} stands for the cell of that column
    fields:
      name: "{Description}"
      price: "{Price [EUR]}"         # a bare number takes the unit in its header's brackets
      takes: [front-wheel]           # without a column: the same for every row
      dimensions.rim: "{Width} J x {Diameter}"
    ignore: [Remarks]                # columns that are not taken over
    decimal: ","                     # how the sheet writes decimals; a point if left out

A field one of whose columns is empty in a row is left out of that part.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, ValidationError

from kb.errors import CatalogueError, Problem, nearest_name, shown
from kb.frozen import FrozenDict
from kb.reading import Map, read_text, read_yaml
from kb.sheets import Row, Sheet
from kb.statements import Statement, Text

_COLUMN = re.compile(r"\{([^{}]+)\}")
_UNIT = re.compile(r"[\[(]([^\[\]()]+)[\])]\s*$")
_BARE = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?")

Raw = dict[str, Any]


class SheetMap(Statement):
    """Which columns become which fields."""

    into: Text = Field(description="the file of the catalogue, below its folder")
    id: Text = Field(description="the id of a part, with {Header} for a cell")
    fields: FrozenDict[str, Text | tuple[Text, ...]] = Field(
        min_length=1, description="field, or dimensions.name, to a text with {Header} for a cell"
    )
    ignore: tuple[Text, ...] = Field((), description="columns that are not taken over")
    decimal: Literal[".", ","] = Field(".", description="how the sheet writes decimals")

    def columns(self) -> set[str]:
        """Every column that is taken over."""
        return {column for text in self._texts() for column in _COLUMN.findall(text)}

    def _texts(self) -> Iterator[str]:
        yield self.id
        for value in self.fields.values():
            yield from (value,) if isinstance(value, str) else value

    def part(self, row: Row, kind: str) -> tuple[str, Raw]:
        """The id and the raw entry of a row."""
        entry: Raw = {"kind": kind}
        for field, value in self.fields.items():
            filled = self._filled(value, row.cells)
            if filled:
                _put(entry, field.split("."), filled)
        return self._text(self.id, row.cells) or "", entry

    def _filled(self, value: str | tuple[str, ...], cells: Mapping[str, str]) -> Any:
        if isinstance(value, str):
            return self._text(value, cells)
        return [text for item in value if (text := self._text(item, cells))]

    def _text(self, text: str, cells: Mapping[str, str]) -> str | None:
        """A text with its cells put in; None where one of them is empty."""
        if any(not cells[column] for column in _COLUMN.findall(text)):
            return None
        alone = _COLUMN.fullmatch(text)
        if alone is None:
            return _COLUMN.sub(lambda found: self._cell(cells[found[1]]), text)
        cell, unit = self._cell(cells[alone[1]]), _UNIT.search(alone[1])
        return f"{cell} {unit[1]}" if unit and _BARE.fullmatch(cell) else cell

    def _cell(self, cell: str) -> str:
        plain = cell.replace(",", ".") if self.decimal == "," else cell
        return plain if _BARE.fullmatch(plain) else cell


def _put(entry: Raw, path: list[str], value: Any) -> None:
    for step in path[:-1]:
        entry = entry.setdefault(step, {})
    entry[path[-1]] = value


def read_map(path: Path) -> SheetMap:
    """A map file. Raises CatalogueError with what is wrong in it."""
    text = read_text(path.name, path)
    problems: list[Problem] = [text] if isinstance(text, Problem) else []
    top = read_yaml(path.name, text, problems) if isinstance(text, str) else None
    if top is None or problems:
        raise CatalogueError(problems)
    try:
        return SheetMap.model_validate(top)
    except ValidationError as error:
        raise CatalogueError(_said(path.name, top, error)) from None


def _said(name: str, top: Map, error: ValidationError) -> Iterator[Problem]:
    for details in error.errors(include_url=False):
        field = str(details["loc"][0]) if details["loc"] else ""
        known = list(SheetMap.model_fields)
        if details["type"] == "extra_forbidden":
            yield Problem(name, top.lines.get(field, 0), f"unknown field {shown(field)}",
                          f"one of {', '.join(known)}", nearest_name(field, known))
        elif details["type"] == "missing":
            yield Problem(name, 0, f"{field} is missing")
        else:
            yield Problem(name, top.lines.get(field, 0), f"{field}: {details['msg'].lower()}")


def check_columns(sheet: Sheet, how: SheetMap) -> None:
    """Every column is either taken over or ignored, and every one named is there.

    Raises CatalogueError otherwise: nothing is dropped in silence.
    """
    named, there = how.columns() | set(how.ignore), set(sheet.headers)
    problems = [
        Problem(sheet.name, 1, f"there is no column {shown(column)}", "",
                nearest_name(column, there))
        for column in sorted(named - there)
    ]
    problems += [
        Problem(sheet.name, 1, f"the column {shown(column)} is not in the map",
                "a field for it, or 'ignore'")
        for column in sorted(there - named)
    ]
    if problems:
        raise CatalogueError(problems)
