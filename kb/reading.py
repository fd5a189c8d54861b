"""YAML text to plain maps, lists and texts that remember their line.

Built from libyaml's events rather than PyYAML's node tree: that is several times faster and gives
line numbers and strictness for free. Every scalar stays text; the models decide what it means, so
no value changes its type by how it looks ("no", "1e3", "4:30").

Refused, each with its line: duplicate keys, anchors and aliases, tags, several documents, deep
nesting, overlong scalars, text that is not UTF-8, links that leave the folder.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

from kb.errors import Problem

MAX_DEPTH = 24
MAX_SCALAR = 20_000
MAX_FILE_BYTES = 512 * 2**20
_NULLS = frozenset({"", "~", "null"})


class Map(dict[str, Any]):
    """A YAML mapping: `line` of its start, `lines` of its keys."""

    __slots__ = ("line", "lines")

    def __init__(self, line: int) -> None:
        super().__init__()
        self.line = line
        self.lines: dict[str, int] = {}


class Seq(list[Any]):
    """A YAML sequence: `line` of its start, `lines` of its items."""

    __slots__ = ("line", "lines")

    def __init__(self, line: int) -> None:
        super().__init__()
        self.line = line
        self.lines: list[int] = []


def catalogue_files(folder: Path) -> Iterator[tuple[str, Path | Problem]]:
    """Each YAML file below `folder` in path order, or the reason why it is refused."""
    root = folder.resolve()
    for path in sorted(folder.rglob("*")):
        if path.suffix not in (".yaml", ".yml"):
            continue
        name = path.relative_to(folder).as_posix()
        if not path.resolve().is_relative_to(root):
            yield name, Problem(name, 0, "the link leaves the catalogue folder")
        elif path.is_file():
            yield name, path
        elif not path.is_dir():
            yield name, Problem(name, 0, "not a readable file")


def read_text(name: str, path: Path) -> str | Problem:
    """The text of a file, or the reason why it can't be read as UTF-8."""
    try:
        if path.stat().st_size > MAX_FILE_BYTES:
            return Problem(name, 0, "the file is too large", f"at most {MAX_FILE_BYTES} bytes")
        raw = path.read_bytes()
    except OSError as error:
        return Problem(name, 0, f"the file cannot be read ({error.strerror})")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        return Problem(name, line, "the text is not UTF-8", "a file saved as UTF-8")


def read_yaml(name: str, text: str, problems: list[Problem]) -> Map | None:
    """The top mapping of a YAML text, or None; what is wrong is added to `problems`."""
    builder = _Builder(name, problems)
    loader = yaml.CSafeLoader(text)
    try:
        while loader.check_event():
            if not builder.take(loader.get_event()):
                return None
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        problems.append(Problem(name, mark.line + 1 if mark else 0, f"not YAML: {error.problem}"))
        return None
    except yaml.reader.ReaderError as error:
        line = text.count("\n", 0, error.position) + 1
        problems.append(Problem(name, line, "a character that YAML does not allow"))
        return None
    finally:
        loader.dispose()
    if builder.top is None:
        return None
    if not isinstance(builder.top, Map):
        problems.append(Problem(name, 1, "not a catalogue file", "a mapping such as 'parts: ...'"))
        return None
    return builder.top


class _Builder:
    """Folds YAML events into `top`, one event at a time."""

    def __init__(self, name: str, problems: list[Problem]) -> None:
        self.name, self.problems = name, problems
        self.top: Map | Seq | str | None = None
        self.stack: list[Map | Seq] = []
        self.keys: list[str | None] = []
        self.documents = 0

    def take(self, event: yaml.Event) -> bool:
        """Take the next event in. False when the file cannot be read any further."""
        kind = type(event)
        if kind is yaml.ScalarEvent:
            return self.scalar(event)
        if kind is yaml.MappingStartEvent or kind is yaml.SequenceStartEvent:
            return self.open(event)
        if kind is yaml.MappingEndEvent or kind is yaml.SequenceEndEvent:
            self.stack.pop()
            self.keys.pop()
        elif kind is yaml.AliasEvent:
            self.refuse(event, "aliases are not part of the catalogue language")
            return self.place(None, event.start_mark.line + 1)
        elif kind is yaml.DocumentStartEvent:
            self.documents += 1
            if self.documents > 1:
                return self.refuse(event, "a second document in one file", "one document")
        return True

    def scalar(self, event: yaml.ScalarEvent) -> bool:
        value: str = event.value
        line: int = event.start_mark.line + 1
        if len(value) > MAX_SCALAR:
            return self.refuse(event, "a text this long", f"at most {MAX_SCALAR} characters")
        if event.anchor or event.tag:
            self.refuse_decoration(event)
        plain = event.implicit[0]
        is_key = bool(self.stack) and type(self.stack[-1]) is Map and self.keys[-1] is None
        if is_key:
            return self.key(value, line)
        return self.place(None if plain and value in _NULLS else value, line)

    def key(self, key: str, line: int) -> bool:
        parent = self.stack[-1]
        assert isinstance(parent, Map)
        if key in parent:
            first = parent.lines[key]
            message = f"'{_short(key)}' stands twice in one mapping (first on line {first})"
            self.problems.append(Problem(self.name, line, message))
        self.keys[-1] = key
        parent.lines[key] = line
        return True

    def open(self, event: yaml.Event) -> bool:
        line = event.start_mark.line + 1
        if len(self.stack) >= MAX_DEPTH:
            return self.refuse(event, "nested too deep", f"at most {MAX_DEPTH} levels")
        if event.anchor or event.tag:
            self.refuse_decoration(event)
        if self.stack and type(self.stack[-1]) is Map and self.keys[-1] is None:
            return self.refuse(event, "a key that is not a plain text")
        node = Map(line) if type(event) is yaml.MappingStartEvent else Seq(line)
        self.place(node, line)
        self.stack.append(node)
        self.keys.append(None)
        return True

    def place(self, value: Any, line: int) -> bool:
        if not self.stack:
            self.top = value
            return True
        parent = self.stack[-1]
        if isinstance(parent, Seq):
            parent.append(value)
            parent.lines.append(line)
        else:
            key = self.keys[-1]
            if key is None:
                self.problems.append(Problem(self.name, line, "a key that is not a plain text"))
                return False
            parent[key] = value
            self.keys[-1] = None
        return True

    def refuse_decoration(self, event: yaml.Event) -> None:
        what = "anchors" if event.anchor else "tags"
        self.refuse(event, f"{what} are not part of the catalogue language")

    def refuse(self, event: yaml.Event, message: str, expected: str = "") -> bool:
        line = event.start_mark.line + 1
        self.problems.append(Problem(self.name, line, message, expected))
        return False


def _short(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:57]}..."


def line_of(node: Any, path: tuple[int | str, ...]) -> int:
    """The line of what `path` leads to inside `node`: the deepest step that exists."""
    line = getattr(node, "line", 0)
    for step in path:
        if isinstance(node, Map) and isinstance(step, str) and step in node.lines:
            line = node.lines[step]
            node = node.get(step)
        elif isinstance(node, Seq) and isinstance(step, int) and step < len(node):
            line = node.lines[step]
            node = node[step]
    return line
