"""YAML text to plain maps, lists and texts that remember their line.

Built from libyaml's events rather than PyYAML's node tree: that is several times faster and gives
strictness for free. Every scalar stays text; the models decide what it means, so no value changes
its type by how it looks ("no", "1e3", "4:30").

Refused, each with its line: duplicate keys, anchors and aliases, tags, several documents, deep
nesting, overlong scalars, text that is not UTF-8, links that leave the folder, empty files (a
save that went wrong must not pass for a catalogue with less in it).
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path
from sys import intern
from typing import Any, cast

import yaml

from kb.errors import Problem, shown

MAX_DEPTH = 24
MAX_SCALAR = 20_000
MAX_FILE_BYTES = 128 * 2**20
_MERGE_MARK = re.compile(r"^<{7} ", re.MULTILINE)
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
    """Each YAML file below `folder` in path order, or the reason why it is refused.

    Names that begin with a dot are left alone: they belong to editors and version control.
    """
    root = folder.resolve()
    for path, fault in sorted(_walk(folder)):
        name = _printable(path.relative_to(folder).as_posix())
        fault = fault or _link_fault(path, root)
        if fault:
            yield name, Problem(name, 0, fault)
        elif path.suffix.lower() in (".yaml", ".yml"):
            yield name, path if path.is_file() else Problem(name, 0, "not a readable file")


def _walk(folder: Path) -> Iterator[tuple[Path, str]]:
    """Every file and link below a folder, and every folder that cannot be read with the reason."""
    unread: list[OSError] = []
    for base, folders, files in os.walk(folder, onerror=unread.append):
        folders[:] = [name for name in folders if not name.startswith(".")]
        linked = [name for name in folders if os.path.islink(os.path.join(base, name))]
        yield from ((Path(base, n), "") for n in (*files, *linked) if not n.startswith("."))
    for error in unread:
        yield Path(os.fsdecode(error.filename)), f"the folder cannot be read ({error.strerror})"


def _link_fault(path: Path, root: Path) -> str:
    """Why a link is refused, or an empty text."""
    if not path.is_symlink():
        return ""
    try:
        target = path.resolve()
    except (OSError, RuntimeError):  # a link to itself: the class depends on the Python version
        return "the link leads to itself"
    return "" if target.is_relative_to(root) else "the link leaves the catalogue folder"


def _printable(name: str) -> str:
    return name.encode("utf-8", "backslashreplace").decode()


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
    """The top mapping of a YAML text; None when it cannot be read to its end.

    What is wrong is added to `problems`. A text of comments only is an empty mapping.
    """
    if not text.strip():
        problems.append(Problem(name, 0, "the file is empty", "a section such as 'parts: ...'"))
        return None
    builder = _Builder(name, problems)
    try:
        if not builder.read(text):
            return None
    except yaml.MarkedYAMLError as error:
        problems.append(_merge_left(name, text) or _say_syntax(name, error))
        return None
    except yaml.reader.ReaderError as error:
        line = text.encode()[: error.position].count(b"\n") + 1
        problems.append(Problem(name, line, "a character that YAML does not allow"))
        return None
    except UnicodeEncodeError as error:  # half a surrogate pair: only from text made in Python
        line = text.count("\n", 0, error.start) + 1
        problems.append(Problem(name, line, "a character that YAML does not allow"))
        return None
    if builder.top is None:
        return Map(1)
    if not isinstance(builder.top, Map):
        problems.append(Problem(name, 1, "not a catalogue file", "a mapping such as 'parts: ...'"))
        return None
    return builder.top


_STRUCTURE = frozenset({
    yaml.StreamStartEvent, yaml.StreamEndEvent, yaml.DocumentStartEvent, yaml.DocumentEndEvent,
})
_ITEM = object()
"""In place of the key that a value is for: the value is an item of a list."""


def read_ordinary(text: str) -> Map | None:
    """As `read_yaml`, of a text with nothing out of the ordinary in it; None for any other.

    Lines are kept for the keys of the two upper levels only, the rest is plain dicts and lists:
    this is how most texts are read. What is wrong with the others `read_yaml` says.
    """
    loader = yaml.CSafeLoader(text)
    try:
        return _fold(loader)
    except (yaml.YAMLError, UnicodeEncodeError):
        return None
    finally:
        loader.dispose()


def _fold(loader: yaml.CSafeLoader) -> Map | None:
    """One loop over all events: it is run a million times and more, so nothing is called in it."""
    top: Map | None = None
    node: Any = None
    key: Any = None
    stack: list[Any] = []
    next_event: Any = loader.get_event
    scalar, opens = yaml.ScalarEvent, yaml.MappingStartEvent
    while (event := next_event()) is not None:
        kind = type(event)
        if kind is scalar:
            value = event.value
            if event.tag or event.anchor or len(value) > MAX_SCALAR or node is None:
                return None
            if key is None:
                if value in node or value == "<<":
                    return None
                key = intern(value)
                if len(stack) < 3:
                    node.lines[key] = event.start_mark.line + 1
                continue
            if value in _NULLS and event.implicit[0]:
                value = None
            if key is _ITEM:
                node.append(value)
            else:
                node[key], key = value, None
        elif kind is opens or kind is yaml.SequenceStartEvent:
            if event.tag or event.anchor or len(stack) >= MAX_DEPTH:
                return None
            made: Any = [] if kind is not opens else {} if len(stack) > 1 else Map(_line(event))
            if node is None:
                if kind is not opens or top is not None:
                    return None
                top = made
            elif key is None:
                return None
            elif key is _ITEM:
                node.append(made)
            else:
                node[key] = made
            stack.append(node)
            node, key = made, None if kind is opens else _ITEM
        elif kind is yaml.MappingEndEvent or kind is yaml.SequenceEndEvent:
            node = stack.pop()
            key = _ITEM if type(node) is list else None
        elif kind not in _STRUCTURE:
            return None
    return top


_HINTS = {
    "mapping values are not allowed in this context": "quotes round a text that holds ': '",
    "found character that cannot start any token": "spaces for indents, quotes round a text that "
    "starts with a sign",
    "found unknown escape character": "single quotes round a text that holds a backslash",
}
"""What to do about the mistakes in YAML that are made most."""


def _merge_left(name: str, text: str) -> Problem | None:
    """That version control left both sides of a merge in a file, as it does in any text."""
    mark = _MERGE_MARK.search(text)
    if mark is None:
        return None
    line = text.count("\n", 0, mark.start()) + 1
    return Problem(name, line, "the marks of a merge that was not finished", "one of both versions")


def _say_syntax(name: str, error: yaml.MarkedYAMLError) -> Problem:
    at, start = error.problem_mark or error.context_mark, error.context_mark
    line = at.line + 1 if at else 0
    begun = f" begun on line {start.line + 1}" if start and start.line + 1 != line else ""
    said = f"{error.problem} {error.context or ''}".strip() + begun
    return Problem(name, line, f"not YAML: {said}", _HINTS.get(error.problem or "", ""))


class _Builder:
    """Folds YAML events into `top`, one event at a time."""

    def __init__(self, name: str, problems: list[Problem]) -> None:
        self.name, self.problems = name, problems
        self.top: Map | Seq | str | None = None
        self.stack: list[Map | Seq] = []
        self.keys: list[str | None] = []
        self.documents = 0
        self.aliases = 0

    def read(self, text: str) -> bool:
        """Take a whole text in. False when something of it is missing from `top`."""
        loader = yaml.CSafeLoader(text)
        try:
            while (event := loader.get_event()) is not None:
                if not self.take(event):
                    return False
            return not self.aliases
        finally:
            loader.dispose()

    def take(self, event: yaml.Event) -> bool:
        """Take the next event in. False when the text cannot be read any further."""
        kind = type(event)
        if kind is yaml.ScalarEvent:
            return self.scalar(cast(yaml.ScalarEvent, event))
        if kind is yaml.MappingStartEvent or kind is yaml.SequenceStartEvent:
            return self.open(cast(yaml.CollectionStartEvent, event))
        if kind is yaml.MappingEndEvent or kind is yaml.SequenceEndEvent:
            self.stack.pop()
            self.keys.pop()
        elif kind is yaml.AliasEvent:
            self.aliases += 1
            self.refuse(event, "aliases are not part of the catalogue language")
            return not self.key_is_due() and self.place(None, _line(event))
        elif kind is yaml.DocumentStartEvent:
            self.documents += 1
            if self.documents > 1:
                return self.refuse(event, "a second document in one file", "one document")
        return True

    def key_is_due(self) -> bool:
        return bool(self.stack) and type(self.stack[-1]) is Map and self.keys[-1] is None

    def scalar(self, event: yaml.ScalarEvent) -> bool:
        value = event.value
        line = _line(event)
        if len(value) > MAX_SCALAR:
            message = f"a text of {len(value)} characters"
            return self.refuse(event, message, f"at most {MAX_SCALAR}")
        if event.anchor or event.tag:
            self.refuse_decoration(event)
        plain = event.implicit[0]
        if self.key_is_due():
            if plain and value == "<<":
                self.refuse(event, "merge keys are not part of the catalogue language")
            return self.key(value, line)
        return self.place(None if plain and value in _NULLS else value, line)

    def key(self, key: str, line: int) -> bool:
        parent = self.stack[-1]
        assert isinstance(parent, Map)
        if key in parent:
            first = parent.lines[key]
            message = f"{shown(key)} stands twice in one mapping (first on line {first})"
            self.problems.append(Problem(self.name, line, message))
        self.keys[-1] = key
        parent.lines[key] = line
        return True

    def open(self, event: yaml.CollectionStartEvent) -> bool:
        line = _line(event)
        if len(self.stack) >= MAX_DEPTH:
            return self.refuse(event, "nested too deep", f"at most {MAX_DEPTH} levels")
        if event.anchor or event.tag:
            self.refuse_decoration(event)
        if self.key_is_due():
            return self.refuse(event, "a key that is not a plain text")
        node = Map(line) if type(event) is yaml.MappingStartEvent else Seq(line)
        self.place(node, line)
        self.stack.append(node)
        self.keys.append(None)
        return True

    def place(self, value: Map | Seq | str | None, line: int) -> bool:
        if not self.stack:
            self.top = value
            return True
        parent = self.stack[-1]
        if isinstance(parent, Seq):
            parent.append(value)
            parent.lines.append(line)
        else:
            parent[cast(str, self.keys[-1])] = value
            self.keys[-1] = None
        return True

    def refuse_decoration(self, event: yaml.ScalarEvent | yaml.CollectionStartEvent) -> None:
        what = "anchors" if event.anchor else "tags"
        self.refuse(event, f"{what} are not part of the catalogue language")

    def refuse(self, event: yaml.Event, message: str, expected: str = "") -> bool:
        self.problems.append(Problem(self.name, _line(event), message, expected))
        return False


def _line(event: yaml.Event) -> int:
    mark = event.start_mark
    return mark.line + 1 if mark else 0


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
