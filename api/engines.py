"""Where the tasks of a matrix are worked out, beside this process: other processes, other machines.

A process that dies costs the task it was at, which is then given to another.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from platform import node
from typing import Any
from zlib import compress, decompress

import msgspec

from api.matrix import Done
from kb.catalogue import Catalogue, folder_texts, load_texts
from kb.errors import CatalogueError, KitwrightError
from rules.matrix import Row, Task, program, work_out

TRIES = 3
"""So often a task may end the process that works on it, before it is given up."""


class EngineFailed(KitwrightError):
    """The tasks could not be worked out; what was finished is kept."""


# -- local processes -----------------------------------------------------------------------------

_catalogue: list[Catalogue] = []


@dataclass(frozen=True)
class Processes:
    """So many processes on this machine."""

    count: int

    def __call__(self, catalogue: Catalogue, left: Sequence[Task]) -> Done:
        """See `api.matrix.Engine`."""
        waiting, ends = list(left), 0
        while waiting:
            try:
                for done in self._some(catalogue, waiting):
                    waiting.remove(done[0])
                    ends = 0
                    yield done
            except BrokenProcessPool:
                ends += 1
                if ends == TRIES:
                    raise EngineFailed("processes end again and again: memory?") from None

    def _some(self, catalogue: Catalogue, waiting: Sequence[Task]) -> Done:
        """All that is finished before a process dies."""
        with ProcessPoolExecutor(
            self.count, get_context("spawn"), _open, (catalogue,)
        ) as pool:
            given: dict[Future[list[Row]], Task] = {
                pool.submit(_in_process, task): task for task in waiting
            }
            try:
                for future in as_completed(given):
                    yield given[future], future.result()
            finally:
                pool.shutdown(wait=False, cancel_futures=True)


def _open(catalogue: Catalogue) -> None:
    _catalogue[:] = [catalogue]


def _in_process(task: Task) -> list[Row]:
    return work_out(_catalogue[0], task)


# -- dask.distributed ----------------------------------------------------------------------------


@dataclass(frozen=True)
class Scheduler:
    """The workers of a dask.distributed scheduler, which have Kitwright installed.

    They are sent the texts of the catalogue, and share no folder with this machine.
    """

    address: str
    folder: Path

    def __call__(self, catalogue: Catalogue, left: Sequence[Task]) -> Done:
        """See `api.matrix.Engine`."""
        from distributed import Client
        from distributed import as_completed as finished

        packed = pack(self.folder, catalogue.digest)
        with Client(self.address) as client:  # type: ignore[no-untyped-call]
            sent = client.submit(_unpacked, packed, key=f"kitwright-{catalogue.digest}")
            given: dict[str, Task] = {}
            futures: list[Any] = []
            for task in left:
                key = f"kitwright-{task.key(catalogue.digest)}"
                given[key] = task
                futures.append(client.submit(_on_worker, sent, task, program(), key=key))
            for future in finished(futures):  # type: ignore[no-untyped-call]
                try:
                    yield given[future.key], future.result()
                except Exception as error:
                    raise EngineFailed(f"a worker could not: {error}") from error
                future.release()


def pack(folder: Path, digest: str) -> bytes:
    """The texts of a catalogue. Raises EngineFailed when they are no longer those of `digest`."""
    texts, problems = folder_texts(folder)
    if problems:
        raise CatalogueError(problems)
    if load_texts(dict(texts)).digest != digest:
        raise EngineFailed("the catalogue has changed since it was read")
    return compress(msgspec.json.encode(texts))


def _unpacked(packed: bytes) -> Catalogue:
    return load_texts(dict(msgspec.json.decode(decompress(packed), type=list[tuple[str, str]])))


def _on_worker(catalogue: Catalogue, task: Task, made_by: str) -> list[Row]:
    if program() != made_by:
        raise EngineFailed(f"{node()} runs another version of Kitwright, Python or a library")
    return work_out(catalogue, task)
