"""Works out the matrix of a catalogue somewhere, keeps what is done, and writes it out in order.

Finished tasks lie in a work folder under their keys. So a run that was stopped goes on where it
was, and where or in which order the tasks were worked out leaves no trace in what is written.
"""

from __future__ import annotations

import csv
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, Protocol, get_type_hints

import msgspec

from kb.catalogue import Catalogue
from rules.matrix import KitRow, PartRow, Row, Task, tasks, unanswered, work_out

SUFFIX = ".rows"
TABLES: dict[str, type[Row]] = {"parts": PartRow, "kits": KitRow}
FORMATS = ("csv", "parquet")

Done = Iterator[tuple[Task, list[Row]]]


class Engine(Protocol):
    """Works out tasks, wherever it does; the rows come in any order."""

    def __call__(self, catalogue: Catalogue, left: Sequence[Task]) -> Done:
        """Each task with its rows, as they are finished."""


def here(catalogue: Catalogue, left: Sequence[Task]) -> Done:
    """One task after the other, in this process."""
    for task in left:
        yield task, work_out(catalogue, task)


class Store:
    """The rows of finished tasks of one catalogue, in a folder."""

    def __init__(self, folder: Path, digest: str) -> None:
        self.folder, self.digest = folder, digest
        folder.mkdir(parents=True, exist_ok=True)

    def keep(self, task: Task, rows: Sequence[Row]) -> None:
        """Put the rows of a task in place in one step."""
        path = self._path(task)
        draft = path.with_suffix(".new")
        draft.write_bytes(msgspec.json.encode(rows))
        os.replace(draft, path)

    def rows(self, task: Task) -> list[Row]:
        """The rows of a finished task. Raises OSError, and msgspec.MsgspecError when damaged."""
        table = TABLES["parts" if task.cars else "kits"]
        return msgspec.json.decode(self._path(task).read_bytes(), type=list[table])  # type: ignore[valid-type]

    def has(self, task: Task) -> bool:
        """Whether a task is finished and every question of it was answered."""
        with suppress(OSError, msgspec.MsgspecError):
            return not unanswered(self.rows(task))
        return False

    def tidy(self, every: Iterable[Task]) -> None:
        """Remove what belongs to other states of the catalogue or the program."""
        used = {self._path(task) for task in every}
        for path in self.folder.glob(f"*{SUFFIX}"):
            if path not in used:
                path.unlink()

    def _path(self, task: Task) -> Path:
        return self.folder / f"{task.key(self.digest)}{SUFFIX}"


def write_matrix(
    catalogue: Catalogue, out: Path, work: Path, form: str, deadline: float,
    engine: Engine, progress: Callable[[int, int], None],
) -> dict[str, int]:
    """Work out what is not there yet, and write `parts` and `kits` into the folder `out`.

    `progress` is told how many rows are done, of how many. Returns the number of rows of each
    table, and of those without an answer.
    """
    every = list(tasks(catalogue, deadline))
    store = Store(work, catalogue.digest)
    left = [task for task in every if not store.has(task)]
    of = sum(map(_size, every))
    done = of - sum(map(_size, left))
    progress(done, of)
    for task, rows in engine(catalogue, left):
        store.keep(task, rows)
        done += _size(task)
        progress(done, of)
    store.tidy(every)
    out.mkdir(parents=True, exist_ok=True)
    return _write(store, every, out, form)


def _size(task: Task) -> int:
    return len(task.names) * max(len(task.cars), 1)


def _write(store: Store, every: Sequence[Task], out: Path, form: str) -> dict[str, int]:
    counts = {"no_answer": 0}
    for name, table in TABLES.items():
        chunks = (store.rows(task) for task in every if bool(task.cars) == (name == "parts"))
        draft = out / f".{name}.{form}.new"
        counts[name] = 0
        with _writer(draft, table, form) as write:
            for rows in chunks:
                write(rows)
                counts[name] += len(rows)
                counts["no_answer"] += unanswered(rows)
        os.replace(draft, out / f"{name}.{form}")
    return counts


# -- forms --------------------------------------------------------------------------------------


class _Csv:
    """Rows as CSV (RFC 4180), UTF-8, with the names of the columns first."""

    def __init__(self, path: Path, table: type[Row]) -> None:
        self.file = path.open("w", encoding="utf-8", newline="")
        self.rows = csv.writer(self.file)
        self.rows.writerow(table._fields)

    def __enter__(self) -> Callable[[list[Row]], Any]:
        return self.rows.writerows

    def __exit__(self, *_: object) -> None:
        self.file.close()


class _Parquet:
    """Rows as Parquet, one row group a task."""

    def __init__(self, path: Path, table: type[Row]) -> None:
        import pyarrow
        from pyarrow import parquet

        sorts = {str: pyarrow.string(), int: pyarrow.int16(), float: pyarrow.float64()}
        self.schema = pyarrow.schema(
            [(name, sorts[sort]) for name, sort in get_type_hints(table).items()])
        self.table = pyarrow.Table
        self.file = parquet.ParquetWriter(path, self.schema)

    def __enter__(self) -> Callable[[list[Row]], Any]:
        return self._write

    def __exit__(self, *_: object) -> None:
        self.file.close()

    def _write(self, rows: list[Row]) -> None:
        self.file.write_table(
            self.table.from_pylist([row._asdict() for row in rows], schema=self.schema))


def _writer(path: Path, table: type[Row], form: str) -> _Csv | _Parquet:
    return _Csv(path, table) if form == "csv" else _Parquet(path, table)
