"""The catalogue: every entry read, validated and cross-checked, immutable, with its digest.

Data flows one way: files -> maps with lines -> entries -> integrity -> catalogue. Any problem at
all means no catalogue: all of them are raised together.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from functools import cached_property
from pathlib import Path
from typing import Any, NamedTuple, cast

from msgspec import json
from pydantic import TypeAdapter, ValidationError

from kb.collection import look_again, no_collection, set_aside
from kb.entries import (
    Header,
    Limits,
    Part,
    Rule,
    Trial,
    Vehicle,
    Work,
)
from kb.errors import CatalogueError, Problem, nearest_name, shown
from kb.files import SINGLES, entry_adapters, entry_reader
from kb.frozen import FrozenDict
from kb.integrity import check_integrity
from kb.reading import Map, catalogue_files, line_of, read_ordinary, read_text, read_yaml
from kb.remembered import RememberedKit
from kb.statements import Id
from kb.wording import ID_RULE, found, not_an_id, say_problem


class Origin(NamedTuple):
    """Where an entry is written down."""

    file: str
    line: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}"


@dataclass(frozen=True, slots=True, eq=False)
class Catalogue:
    """All that is known, read-only. Two catalogues are the same when their digests are."""

    header: Header
    limits: Limits
    vehicles: Mapping[str, Vehicle]
    parts: Mapping[str, Part]
    work: Mapping[str, Work]
    rules: Mapping[str, Rule]
    trials: Mapping[str, Trial]
    kits: Mapping[str, RememberedKit]
    origins: Mapping[tuple[str, str], Origin]
    digest: str
    caches: dict[str, Any] = field(default_factory=dict, repr=False)
    """What layers above derive from the catalogue and keep for as long as it lives."""

    def __reduce__(self) -> tuple[type[Catalogue], tuple[Any, ...]]:
        """A catalogue travels to another process without what was derived from it here."""
        kept = [getattr(self, f.name) for f in fields(self) if f.name != "caches"]
        return type(self), tuple(kept)


class Source:
    """One file of a catalogue. Its lines are worked out when a problem has to name one."""

    def __init__(self, name: str, text: str) -> None:
        self.name, self._text = name, text

    def read(self, problems: list[Problem]) -> Map | None:
        """The top mapping; None, with what is wrong added to `problems`, when it cannot be read."""
        top = read_ordinary(self._text)
        return read_yaml(self.name, self._text, problems) if top is None else top

    def line(self, path: tuple[int | str, ...]) -> int:
        """The line of what a path through the file leads to."""
        return line_of(self._lined, path)

    @cached_property
    def _lined(self) -> Map | None:
        return read_yaml(self.name, self._text, [])


@dataclass(slots=True)
class Entry:
    """One raw entry with where it stands, as the integrity checks see it."""

    section: str
    id: str
    source: Source
    raw: dict[str, Any]
    line: int

    @property
    def file(self) -> str:
        """The file it stands in."""
        return self.source.name

    @property
    def name(self) -> str:
        """The entry as said in a message."""
        single = self.section in SINGLES
        return f"section '{self.section}'" if single else f"{self.section} {shown(self.id)}"

    def problem(
        self, path: tuple[int | str, ...], message: str, expected: str = "", nearest: str = ""
    ) -> Problem:
        """A problem at `path` inside this entry."""
        if not path:
            return Problem(self.file, self.line, message, expected, nearest)
        above = (self.section,) if self.section in SINGLES else (self.section, self.id)
        line = self.source.line((*above, *path))
        return Problem(self.file, line or self.line, message, expected, nearest)


def load(folder: str | Path) -> Catalogue:
    """The catalogue in `folder`. Raises CatalogueError with every problem found."""
    texts, problems = folder_texts(folder)
    return _build(str(folder), texts, problems)


def folder_texts(folder: str | Path) -> tuple[list[tuple[str, str]], list[Problem]]:
    """The catalogue files below a folder as names and texts, and what cannot be read.

    Raises CatalogueError when there is no such folder.
    """
    root = Path(folder)
    problems: list[Problem] = []
    if not root.is_dir():
        raise CatalogueError([Problem(str(root), 0, "no such folder")])
    texts: list[tuple[str, str]] = []
    for name, path in catalogue_files(root):
        text = path if isinstance(path, Problem) else read_text(name, path)
        if isinstance(text, Problem):
            problems.append(text)
        else:
            texts.append((name, text))
    if not texts and not problems:
        problems.append(Problem(str(root), 0, "no catalogue here", "files ending in .yaml"))
    return texts, problems


def load_texts(texts: Mapping[str, str]) -> Catalogue:
    """The catalogue written in `texts` (file name to YAML). Raises CatalogueError."""
    return _build("catalogue", texts.items(), [])


def _build(
    where: str, texts: Iterable[tuple[str, str]], problems: list[Problem]
) -> Catalogue:
    return read_whole(where, texts, problems)[0]


def read_whole(
    where: str, texts: Iterable[tuple[str, str]], problems: list[Problem]
) -> tuple[Catalogue, Iterable[Entry]]:
    """The catalogue written in texts, with its raw entries in order of section and id.

    `problems` are those found before. Raises CatalogueError with these and all that are found.
    """
    look_again()
    with no_collection():
        entries: dict[tuple[str, str], Entry] = {}
        whole = not problems
        for name, text in texts:
            source = Source(name, text)
            top = source.read(problems)
            if top is None:
                whole = False
            else:
                _collect(source, top, entries, problems)
        if not entries and not problems:
            problems.append(Problem(where, 0, "nothing is stated here", "an entry, such as a part"))
        values = {key: _validate(entry, problems) for key, entry in entries.items()}
        sound = {key: value for key, value in values.items() if value is not None}
        check_integrity(sound, entries, problems, whole=whole)
        if problems:
            raise CatalogueError(set(problems))
        ordered = dict(sorted(entries.items()))
        origins = {key: Origin(entry.file, entry.line) for key, entry in ordered.items()}
        catalogue = assemble(_by_section(sound), origins, _digest(ordered.values()))
        set_aside(len(catalogue.parts))
        return catalogue, ordered.values()


def _collect(
    source: Source, top: Map, entries: dict[tuple[str, str], Entry], problems: list[Problem]
) -> None:
    """Sort the entries of one file by section and id."""
    known, name = [*SINGLES, *entry_adapters()], source.name
    for section, body in top.items():
        line = top.lines[section]
        if section not in known:
            problems.append(Problem(
                name, line, f"unknown section {shown(section)}", f"one of {', '.join(known)}",
                nearest_name(section, known),
            ))
        elif body is None:
            continue
        elif not isinstance(body, Map):
            message = f"section '{section}' is {found(body)}"
            problems.append(Problem(name, line, message, "a mapping of its entries by id"))
        elif section in SINGLES:
            _add(Entry(section, section, source, body, line), entries, problems)
        else:
            for key, raw in body.items():
                if isinstance(raw, dict):
                    _add(Entry(section, key, source, raw, body.lines[key]), entries, problems)
                else:
                    message = f"{section} {shown(key)} is {found(raw)}"
                    problems.append(Problem(name, body.lines[key], message, "a mapping"))


def _add(
    entry: Entry, entries: dict[tuple[str, str], Entry], problems: list[Problem]
) -> None:
    key = (entry.section, entry.id)
    if key in entries:
        first = entries[key]
        message = f"{entry.name} is stated twice (first at {first.file}:{first.line})"
        problems.append(entry.problem((), message))
    else:
        entries[key] = entry


_read_id = TypeAdapter[str](cast(Any, Id)).validator.validate_python


def _validate(entry: Entry, problems: list[Problem]) -> Any | None:
    """The entry as its model, or None with what is wrong added to `problems`."""
    try:
        _read_id(entry.id)
    except ValidationError:
        message = f"{entry.section} {entry.id[:60]!a}: {not_an_id(entry.id)}"
        problems.append(entry.problem((), message, ID_RULE))
    try:
        return entry_reader(entry.section)(entry.raw)
    except ValidationError as error:
        for details in error.errors(include_url=False):
            path, message, expected, nearest = say_problem(entry.section, details, entry.raw)
            problems.append(entry.problem(path, f"{entry.name}: {message}", expected, nearest))
        return None


def _digest(entries: Iterable[Entry]) -> str:
    raw = {f"{entry.section}/{entry.id}": entry.raw for entry in entries}
    return hashlib.sha256(json.encode(raw, order="sorted")).hexdigest()[:16]


def assemble(
    sections: Mapping[str, Mapping[str, Any]], origins: Mapping[tuple[str, str], Origin],
    digest: str,
) -> Catalogue:
    """The catalogue of entries that were found to hold together, by section and id, in order."""
    stated = {name: sections.get(name, FrozenDict()) for name in entry_adapters()}
    return Catalogue(
        header=sections.get("catalog", {}).get("catalog") or Header(name="unnamed"),
        limits=sections.get("limits", {}).get("limits") or Limits(),
        origins=FrozenDict(origins),
        digest=digest,
        **cast(Any, stated),
    )


def _by_section(values: Mapping[tuple[str, str], Any]) -> dict[str, FrozenDict[str, Any]]:
    sections: dict[str, dict[str, Any]] = {}
    for section, key in sorted(values):
        sections.setdefault(section, {})[key] = values[section, key]
    return {name: FrozenDict(section) for name, section in sections.items()}
