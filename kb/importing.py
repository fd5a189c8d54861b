"""A sheet into a catalogue file: all of it or nothing.

Rows that cannot be taken are listed with their reasons. What would be written is read again with
the whole catalogue before a file is touched.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from kb.catalogue import load_texts
from kb.dimensions import kinds
from kb.errors import CatalogueError, Problem, QuestionError, nearest_name, shown
from kb.files import entry_adapters
from kb.reading import Map, catalogue_files, read_text, read_yaml
from kb.round_trip import with_parts
from kb.sheet_map import SheetMap, check_columns, read_map
from kb.sheets import Row, Sheet, read_sheet
from kb.statements import Id
from kb.wording import ID_RULE, not_an_id, say_problem

_ID: TypeAdapter[str] = TypeAdapter(Id)


@dataclass(slots=True)
class Import:
    """What came of a sheet. `text` is what the file is to hold; `refused` says which rows not."""

    into: Path
    before: str
    text: str = ""
    taken: dict[str, dict[str, Any]] = field(default_factory=dict)
    added: list[str] = field(default_factory=list)
    refused: list[Problem] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    """Parts of the file that are not in the sheet; they stay as they are."""

    @property
    def changes(self) -> bool:
        """Whether the file would be another."""
        return self.text != self.before

    def write(self) -> None:
        """Put the text in place, all at once."""
        self.into.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=self.into.parent, prefix=".import-")
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(self.text)
            mode = self.into.stat().st_mode & 0o777 if self.into.exists() else 0o644
            os.chmod(name, mode)
            os.replace(name, self.into)
        except BaseException:
            os.unlink(name)
            raise


def read_import(folder: Path, sheet_path: Path, kind: str, map_path: Path) -> Import:
    """What a sheet would change in the catalogue in `folder`; nothing is written yet.

    Raises QuestionError for an unknown kind, CatalogueError when the sheet, its map, or the
    catalogue with the rows that could be taken is wrong.
    """
    if kind not in kinds():
        raise QuestionError("kind", f"there is no kind '{kind}'", nearest_name(kind, kinds()))
    how, sheet = read_map(map_path), read_sheet(sheet_path)
    check_columns(sheet, how)
    texts = _texts(folder)
    name = _target(folder, how, map_path)
    found = Import(folder / name, texts.get(name, ""))
    seen = _take(found, sheet, how, kind, _elsewhere(texts, name))
    found.text = with_parts(name, found.before, found.taken)
    there = set(_part_ids(name, found.before))
    found.added = [key for key in found.taken if key not in there]
    found.left = sorted(there - seen)
    if found.taken:
        load_texts({**texts, name: found.text})
    return found


def _target(folder: Path, how: SheetMap, map_path: Path) -> str:
    path = Path(how.into)
    inside = (folder / path).resolve().is_relative_to(folder.resolve())
    if path.is_absolute() or not inside or path.suffix not in (".yaml", ".yml"):
        message = f"into: {shown(how.into)} is not a file of the catalogue"
        raise CatalogueError([Problem(map_path.name, 0, message, "a path such as wheels/new.yaml")])
    return path.as_posix()


def _texts(folder: Path) -> dict[str, str]:
    """The files of the catalogue as it is. Raises CatalogueError for any that cannot be read."""
    if not folder.is_dir():
        raise CatalogueError([Problem(str(folder), 0, "no such folder")])
    texts: dict[str, str] = {}
    problems: list[Problem] = []
    for name, path in catalogue_files(folder):
        text = path if isinstance(path, Problem) else read_text(name, path)
        if isinstance(text, Problem):
            problems.append(text)
        else:
            texts[name] = text
    if problems:
        raise CatalogueError(problems)
    return texts


def _elsewhere(texts: dict[str, str], target: str) -> dict[str, str]:
    """The parts that other files state, with the file."""
    return {
        key: name for name, text in texts.items() if name != target
        for key in _part_ids(name, text)
    }


def _part_ids(name: str, text: str) -> Iterator[str]:
    top = read_yaml(name, text, []) if text.strip() else None
    parts = top.get("parts") if top is not None else None
    yield from parts if isinstance(parts, Map) else ()


def _take(
    found: Import, sheet: Sheet, how: SheetMap, kind: str, elsewhere: dict[str, str]
) -> set[str]:
    """Sort the rows into those taken and those refused; all ids in the sheet."""
    lines: dict[str, int] = {}
    for row in sheet.rows:
        key, raw = how.part(row, kind)
        faults = list(_faults(row, key, raw, lines, elsewhere))
        if faults:
            found.refused += [
                Problem(sheet.name, row.line, f"{shown(key)}: {message}", expected)
                for message, expected in faults
            ]
        else:
            found.taken[key] = raw
        lines.setdefault(key, row.line)
    return set(lines)


def _faults(
    row: Row, key: str, raw: dict[str, Any], lines: dict[str, int], elsewhere: dict[str, str]
) -> Iterator[tuple[str, str]]:
    """What is wrong with a row: message and what was expected."""
    try:
        _ID.validate_python(key)
    except ValidationError:
        yield not_an_id(key), ID_RULE
        return
    if key in lines:
        yield f"stands twice in the sheet (first on row {lines[key]})", ""
    if key in elsewhere:
        yield f"is stated in {elsewhere[key]} already", ""
    try:
        entry_adapters()["parts"].validate_python(raw)
    except ValidationError as error:
        for details in error.errors(include_url=False):
            _, message, expected, _ = say_problem("parts", details, _as_map(raw))
            yield message, expected


def _as_map(raw: dict[str, Any]) -> Map:
    """A raw entry as the reader would have it."""
    found = Map(0)
    for key, value in raw.items():
        found[key] = _as_map(value) if isinstance(value, dict) else value
    return found
