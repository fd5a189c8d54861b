"""A catalogue kept in a form that is quick to read, beside the YAML it was made from.

A snapshot is JSON: the raw entries of a catalogue that was found sound, in order, with where each
stands. They go through the same models again when they are read; what is spared is YAML, the
checks between entries and the digest. Nothing in a snapshot can run, but it is trusted to be
consistent: keep the cache folder as safe as the catalogue folder.

A snapshot is used only for the very texts, code and libraries it was made with (`_key`), and only
with its checksum intact. In all other cases the catalogue is read from YAML as if there were none,
and the snapshot is written anew.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Iterable, Mapping
from functools import cache
from hashlib import blake2b
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import kb
from kb.catalogue import Catalogue, Entry, Origin, assemble, folder_texts, read_whole
from kb.collection import look_again, no_collection, set_aside
from kb.files import entry_reader

FORMAT = 1
SUFFIX = ".snapshot"
LIBRARIES = ("pydantic", "pydantic-core", "pint", "pyyaml")
OLDER_KEPT = 3
"""Snapshots of earlier states of the catalogue that stay in the cache folder."""


class UnusableSnapshot(Exception):
    """A snapshot that is not there, not whole, or not of these texts."""


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
        _write(path, _header_and_body(key, catalogue, entries))
        return catalogue, path


def read_snapshot(path: Path) -> Catalogue:
    """The catalogue of a snapshot that this very program wrote, wherever its files are now.

    Raises UnusableSnapshot when it is missing, damaged or of another version.
    """
    return _read(path, path.stem)


# -- reading ------------------------------------------------------------------------------------


def _read(path: Path, key: str) -> Catalogue:
    try:
        header, _, body = path.read_bytes().partition(b"\n")
        stated: Mapping[str, Any] = json.loads(header)
        if stated["key"] != key or stated["checksum"] != _checksum(body):
            raise UnusableSnapshot
        look_again()
        with no_collection():
            sections = json.loads(body)
            if not isinstance(sections, dict):
                raise UnusableSnapshot
            catalogue = _catalogue(sections, stated["digest"])
            del sections
            set_aside(len(catalogue.parts))
            return catalogue
    except (OSError, ValueError, TypeError, LookupError, RecursionError) as error:
        # ValueError covers text that is no JSON or no UTF-8, and entries their models refuse.
        raise UnusableSnapshot from error


def _catalogue(sections: Mapping[str, list[list[Any]]], digest: str) -> Catalogue:
    values: dict[tuple[str, str], Any] = {}
    origins: dict[tuple[str, str], Origin] = {}
    for section, entries in sections.items():
        read = entry_reader(section)
        for key, file, line, raw in entries:
            values[section, key] = read(raw)
            origins[section, key] = Origin(sys.intern(file), line)
    return assemble(values, origins, digest)


# -- writing ------------------------------------------------------------------------------------


def _header_and_body(key: str, catalogue: Catalogue, entries: Iterable[Entry]) -> bytes:
    sections: dict[str, list[Any]] = {}
    for entry in entries:
        row = [entry.id, entry.file, entry.line, entry.raw]
        sections.setdefault(entry.section, []).append(row)
    body = json.dumps(sections, ensure_ascii=False, separators=(",", ":")).encode()
    header = {"key": key, "checksum": _checksum(body), "digest": catalogue.digest}
    return json.dumps(header).encode() + b"\n" + body


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


def _checksum(body: bytes) -> str:
    return blake2b(body, digest_size=32).hexdigest()


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
