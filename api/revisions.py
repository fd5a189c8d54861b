"""Catalogues as they were: a folder, or a folder at a git revision."""

from __future__ import annotations

import io
import subprocess
import tarfile
import tempfile
from pathlib import Path

from kb.catalogue import Catalogue, load
from kb.errors import QuestionError


def catalogue_at(text: str, folder: Path, field: str) -> Catalogue:
    """The catalogue in the folder `text`, or in `folder` at the git revision `text`.

    Raises QuestionError when it is neither, CatalogueError when the catalogue is wrong.
    """
    if Path(text).is_dir():
        return load(text)
    if not folder.is_dir():
        raise QuestionError(field, f"'{text}' is not a folder, and neither is '{folder}'")
    with tempfile.TemporaryDirectory(prefix="kitwright-") as room:
        _unpack(_archive(text, folder, field), Path(room))
        return load(room)


def _archive(revision: str, folder: Path, field: str) -> bytes:
    """The files of a folder at a revision, as a tar archive."""
    if revision.startswith("-"):
        raise QuestionError(field, f"'{revision}' is not a git revision")
    try:
        top, prefix = (
            _git(folder, "rev-parse", what).decode().strip()
            for what in ("--show-toplevel", "--show-prefix")
        )
        return _git(Path(top), "archive", "--format=tar", f"{revision}:{prefix}")
    except OSError as error:
        raise QuestionError(
            field, f"'{revision}' is neither a folder nor a git revision of '{folder}': {error}"
        ) from None


def _git(folder: Path, *words: str) -> bytes:
    """What git answers. Raises OSError with what it says when it cannot."""
    done = subprocess.run(["git", "-C", str(folder), *words], capture_output=True, check=False)
    if done.returncode:
        said = done.stderr.decode(errors="replace").strip().splitlines()
        raise OSError(said[-1] if said else "git says no more")
    return done.stdout


def _unpack(archive: bytes, room: Path) -> None:
    with tarfile.open(fileobj=io.BytesIO(archive)) as files:
        files.extractall(room, filter="data")
