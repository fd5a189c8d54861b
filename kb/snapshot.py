"""A catalogue kept in a form that is quick to read, beside the YAML it was made from.

A snapshot is JSON: a line with what it was made with and its checksum, a line with where each entry
stands in the files and below, then the raw entries of a catalogue that was found sound. They go
through the same models again, each when it is first asked for; what is spared is YAML, the checks
between entries and the digest. Nothing in a snapshot can run.

A snapshot is used only for the very texts, code and libraries it was made with (`_key`), only with
its checksum intact, and only if nobody but its owner, who runs this, can have written it. In all
other cases the catalogue is read from YAML as if there were none, and the snapshot is written anew.
"""

from __future__ import annotations

import os
import stat
import sys
import tempfile
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from functools import cache
from hashlib import blake2b
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from msgspec import json
from pydantic import ValidationError

import kb
from kb.catalogue import Catalogue, Entry, Origin, assemble, folder_texts, read_whole
from kb.collection import look_again, no_collection, set_aside
from kb.errors import CatalogueError, Problem
from kb.files import entry_json_reader
from kb.late import LateDict

FORMAT = 2
SUFFIX = ".snapshot"
LIBRARIES = ("pydantic", "pydantic-core", "pint", "pyyaml", "msgspec")
OLDER_KEPT = 7
"""Snapshots of other catalogues, or of earlier states of this one, that stay in the cache folder:
those used last.
"""


class UnusableSnapshot(Exception):
    """A snapshot that is not there, not whole, not of these texts, or not ours."""


def load_cached(
    folder: str | Path, cache_folder: str | Path | None, least: int = 0
) -> Catalogue:
    """As `kb.catalogue.load`, from a snapshot in `cache_folder` where there is a good one.

    None is made without a cache folder, and none of catalogues of fewer than `least` characters.
    Raises CatalogueError with every problem found. A cache folder that cannot be read or written
    makes it slower and nothing else.
    """
    texts, problems = folder_texts(folder)
    if problems or cache_folder is None or sum(len(text) for _, text in texts) < least:
        return read_whole(str(folder), texts, problems)[0]
    return _kept(str(folder), texts, Path(cache_folder))[0]


def load_kept(folder: str | Path, cache_folder: str | Path) -> tuple[Catalogue, Path]:
    """As `load_cached`, with where its snapshot is; it is missing if it could not be written."""
    texts, problems = folder_texts(folder)
    if problems:
        read_whole(str(folder), texts, problems)  # finds the others too, and raises them all
    return _kept(str(folder), texts, Path(cache_folder))


def _kept(where: str, texts: list[tuple[str, str]], cache_folder: Path) -> tuple[Catalogue, Path]:
    key = _key(texts)
    path = cache_folder / f"{key}{SUFFIX}"
    try:
        return _read(path, key), path
    except UnusableSnapshot:
        catalogue, entries = read_whole(where, texts, [])
        _write(path, _snapshot(key, catalogue, entries))
        return catalogue, path


def read_snapshot(path: Path) -> Catalogue:
    """The catalogue of a snapshot that this very program wrote, wherever its files are now.

    Raises UnusableSnapshot when it is missing, damaged or of another version.
    """
    return _read(path, path.stem)


# -- reading ------------------------------------------------------------------------------------


def _read(path: Path, key: str) -> Catalogue:
    try:
        header, _, rest = _content(path).partition(b"\n")
        stated: Mapping[str, Any] = json.decode(header)
        if stated["key"] != key or stated["checksum"] != _checksum(rest):
            raise UnusableSnapshot
        look_again()
        with no_collection():
            index, _, body = rest.partition(b"\n")
            catalogue = _catalogue(path, json.decode(index), body, stated["digest"])
            set_aside(len(catalogue.parts))
        with suppress(OSError):
            os.utime(path)  # used last
        return catalogue
    except (OSError, ValueError, TypeError, AttributeError, LookupError, CatalogueError) as error:
        # ValueError covers text that is no JSON or no UTF-8.
        raise UnusableSnapshot from error


def _content(path: Path) -> bytes:
    """What stands in a file, if nobody but who runs this can have written it."""
    with path.open("rb") as file:
        about = os.fstat(file.fileno())
        others = about.st_mode & (stat.S_IWGRP | stat.S_IWOTH)
        if hasattr(os, "geteuid") and (about.st_uid != os.geteuid() or others):
            raise UnusableSnapshot
        return file.read()


def _catalogue(
    path: Path, index: Mapping[str, list[tuple[str, str, int, int, int]]], body: bytes, digest: str
) -> Catalogue:
    sections: dict[str, LateDict[Any]] = {}
    origins: dict[tuple[str, str], Origin] = {}
    for section, rows in index.items():
        places = {}
        for key, file, line, start, end in rows:
            places[key] = start, end
            origins[section, key] = Origin(sys.intern(file), line)
        sections[section] = LateDict(places, _maker(path, section, body))
    return assemble(sections, origins, digest)


def _maker(path: Path, section: str, body: bytes) -> Callable[[tuple[int, int]], Any]:
    read = entry_json_reader(section)

    def make(place: tuple[int, int]) -> Any:
        try:
            return read(body[slice(*place)])
        except ValidationError:  # none that this program wrote: its checksum is right
            message = f"a snapshot whose {section} are not sound"
            raise CatalogueError([Problem(str(path), 0, message, "that it be removed")]) from None

    return make


# -- writing ------------------------------------------------------------------------------------


def _snapshot(key: str, catalogue: Catalogue, entries: Iterable[Entry]) -> bytes:
    index: dict[str, list[tuple[str, str, int, int, int]]] = {}
    texts: list[bytes] = []
    at = 0
    for entry in entries:
        text = json.encode(entry.raw)
        row = (entry.id, entry.file, entry.line, at, at + len(text))
        index.setdefault(entry.section, []).append(row)
        texts.append(text)
        at += len(text)
    rest = json.encode(index) + b"\n" + b"".join(texts)
    header = {"key": key, "checksum": _checksum(rest), "digest": catalogue.digest}
    return json.encode(header) + b"\n" + rest


def _write(path: Path, content: bytes) -> None:
    """Put a file in place in one step: a reader sees all of it or none."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, delete=False) as file:
            try:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
                os.replace(file.name, path)
            except OSError:
                os.unlink(file.name)
                raise
        _tidy(path)
    except OSError:
        return  # the catalogue is right without it


def _tidy(newest: Path) -> None:
    """Remove all but the last few snapshots."""
    found = sorted(newest.parent.glob(f"*{SUFFIX}"), key=lambda p: p.stat().st_mtime, reverse=True)
    for old in [path for path in found if path != newest][OLDER_KEPT:]:
        old.unlink(missing_ok=True)


# -- what a snapshot is of ----------------------------------------------------------------------


def _checksum(content: bytes) -> str:
    return blake2b(content, digest_size=32).hexdigest()


def _key(texts: Iterable[tuple[str, str]]) -> str:
    """A digest of all that decides what a catalogue is: names and texts, code, libraries."""
    found = blake2b(_made_with().encode(), digest_size=20)
    for name, text in texts:
        for part in (name.encode("utf-8", "surrogateescape"), text.encode("utf-8")):
            found.update(len(part).to_bytes(8, "big"))
            found.update(part)
    return found.hexdigest()


@cache
def _made_with() -> str:
    """The format, the Python, the libraries and the code of `kb`, as one text."""
    code = blake2b(digest_size=20)
    root = Path(kb.__file__).parent
    for path in sorted(root.rglob("*.py")):
        code.update(path.relative_to(root).as_posix().encode() + b"\0" + path.read_bytes())
    used = [f"{name} {_version(name)}" for name in LIBRARIES]
    return "; ".join([f"format {FORMAT}", sys.version, *used, code.hexdigest()])


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "unknown"
