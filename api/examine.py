"""Reads, validates and audits a catalogue aside, in a process of its own.

So nothing that answers waits for it, shares its memory or falls with it.
"""

from __future__ import annotations

import signal
from collections.abc import Sequence
from dataclasses import dataclass
from multiprocessing import get_context
from multiprocessing.connection import Connection
from pathlib import Path

from kb.errors import CatalogueError
from kb.snapshot import load_kept
from rules.audit import audit

READ_SECONDS, AUDIT_SECONDS = 900.0, 300.0
"""How long reading and auditing may take. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A catalogue without errors, by its snapshot. `audited`: the audit came to its end."""

    digest: str
    parts: int
    snapshot: Path
    audited: bool


class NotServable(Exception):
    """A catalogue that is not to be served; carries every reason."""

    def __init__(self, problems: Sequence[str]) -> None:
        self.problems = tuple(problems)
        super().__init__("; ".join(self.problems))


def examine(
    folder: Path, cache_folder: Path, audit_seconds: float = AUDIT_SECONDS,
    read_seconds: float = READ_SECONDS,
) -> Candidate:
    """The catalogue that is in `folder` now, as a snapshot in `cache_folder`.

    Raises NotServable when it cannot be read, the audit finds an error, or there is no room for
    the snapshot. An audit that takes too long is left unfinished: it finds faults of the catalogue,
    not of answers, which are each checked again.
    """
    context = get_context("spawn")  # a fork would copy threads' locks in whatever state they are
    ours, theirs = context.Pipe()
    process = context.Process(target=_examine, args=(folder, cache_folder, theirs), daemon=True)
    process.start()
    theirs.close()
    try:
        digest, parts, snapshot = _next(ours, read_seconds)
        if not snapshot.exists():
            raise NotServable([f"it could not be written to {snapshot.parent}: is there room?"])
        audited = ours.poll(audit_seconds)
        if audited:
            _next(ours, 0)
        return Candidate(digest, parts, snapshot, audited)
    finally:
        process.kill()
        process.join()


def _next(channel: Connection, seconds: float) -> tuple[str, int, Path]:
    """What the process found next. Raises NotServable when it is bad, late, or nothing."""
    if not channel.poll(seconds):
        raise NotServable([f"it was not read in {seconds:g} s"])
    try:
        found = channel.recv()
    except EOFError:
        raise NotServable(["the process that read it ended without a word"]) from None
    if isinstance(found, list):
        raise NotServable(found)
    digest, parts, snapshot = found
    return digest, parts, snapshot


def _examine(folder: Path, cache_folder: Path, channel: Connection) -> None:
    """In the process aside: send what was read, and once more when it is audited, or what is wrong.
    """
    for name in (signal.SIGINT, signal.SIGHUP):  # of the terminal: for the parent to act on
        signal.signal(name, signal.SIG_IGN)
    try:
        catalogue, snapshot = load_kept(folder, cache_folder)
        found = (catalogue.digest, len(catalogue.parts), snapshot)
        channel.send(found)
        faults = [f for f in audit(catalogue).findings if f.severity == "error"]
        said = [f"{fault.where}: {fault.text}" for fault in faults]
        channel.send(said or found)
    except CatalogueError as error:
        channel.send([str(problem) for problem in error.problems])
    except OSError as error:
        channel.send([str(error)])
