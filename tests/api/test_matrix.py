"""Every answer in bulk: the same wherever it is worked out, and never twice."""

from __future__ import annotations

import csv
import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from api import engines, matrix
from api.engines import EngineFailed, Processes, Scheduler
from api.matrix import here, write_matrix
from kb.baseline import baselines
from kb.catalogue import Catalogue, load
from rules.answers import Item, Question
from rules.matrix import NO_ANSWER, PartRow, tasks, work_out
from rules.needed import needed
from rules.resolve import package
from tests.api.conftest import CATALOGUE
from tests.support.command_line import CommandLine

KITS = """
kits:
  wheels: {vehicle: tern, variant: p16, year: 2014, picks: [wheel-15], outcome: complete}
  brakes: {vehicle: tern, variant: p16, year: 2014, picks: [big-caliper], outcome: complete}
  none: {vehicle: tern, variant: p12, year: 2012, picks: [big-caliper], outcome: impossible}
"""
QUIET = lambda done, of: None  # noqa: E731


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "all.yaml").write_text(CATALOGUE + KITS)
    return tmp_path / "shop"


@pytest.fixture
def catalogue(shop: Path) -> Catalogue:
    return load(shop)


@pytest.fixture(autouse=True)
def small_tasks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Many tasks even of a small catalogue."""
    monkeypatch.setattr("rules.matrix.PARTS_A_TASK", 4)
    monkeypatch.setattr("rules.matrix.KITS_A_TASK", 2)


def written(
    catalogue: Catalogue, out: Path, engine: matrix.Engine = here, form: str = "csv"
) -> dict[str, bytes]:
    write_matrix(catalogue, out, out / ".work", form, 30, engine, QUIET)
    return {path.name: path.read_bytes() for path in sorted(out.glob("*.*")) if path.is_file()}


def rows(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(content.decode().splitlines()))


# -- what it says --------------------------------------------------------------------------------


def test_it_says_of_every_part_on_every_car_what_a_question_would(
    catalogue: Catalogue, tmp_path: Path
) -> None:
    found = rows(written(catalogue, tmp_path / "out")["parts.csv"])
    cars = list(baselines(catalogue))
    parts = [key for key, part in catalogue.parts.items() if part.orderable and key != "bolt-old"]
    assert len(found) == len(cars) * len(parts)
    by_key = {(r["vehicle"], r["variant"], int(r["year"]), r["part"]): r for r in found}
    for car in cars:
        for part in parts:
            row = by_key[car.vehicle_id, car.variant_id, car.year, part]
            answer = needed(catalogue, part, Question(
                vehicle=car.vehicle_id, variant=car.variant_id, year=car.year))
            assert (row["verdict"] != "no") == answer.possible
            assert [text.split()[-1] for text in row["needs"].split("; ") if text] == [
                ref.part for ref in answer.must]
            assert bool(row["measure"]) == bool(answer.measure_first)
            assert bool(row["reason"]) == (not answer.possible)


def test_it_says_of_every_remembered_kit_what_a_question_would(
    catalogue: Catalogue, tmp_path: Path
) -> None:
    found = {r["kit"]: r for r in rows(written(catalogue, tmp_path / "out")["kits.csv"])}
    assert set(found) == {"wheels", "brakes", "none"}
    asked = Question(vehicle="tern", variant="p16", year=2014, picks=(Item(part="big-caliper"),))
    answer = package(catalogue, asked)
    assert answer.totals is not None
    row = found["brakes"]
    assert (row["outcome"], row["price"]) == (answer.outcome, answer.totals.price)
    assert "2 big-caliper" in row["lines"].split("; ")
    assert found["none"]["outcome"] == "impossible"
    assert found["none"]["reason"]


def test_a_question_without_an_answer_says_so_and_is_asked_again(
    catalogue: Catalogue, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    with monkeypatch.context() as slow:
        slow.setattr("rules.matrix.needed", _late)
        first = write_matrix(catalogue, out, tmp_path / "work", "csv", 30, here, QUIET)
    assert first["no_answer"] == first["parts"]
    assert {row["verdict"] for row in rows((out / "parts.csv").read_bytes())} == {NO_ANSWER}
    again = write_matrix(catalogue, out, tmp_path / "work", "csv", 30, here, QUIET)
    assert again["no_answer"] == 0


def _late(*_: object) -> None:
    from kb.errors import OutOfTime

    raise OutOfTime("no answer within 30 s")


# -- wherever it is worked out -------------------------------------------------------------------


@pytest.fixture(scope="module")
def cluster() -> Iterator[object]:
    """Two workers of dask.distributed, in processes of their own."""
    from distributed import LocalCluster

    with LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50
    ) as made:
        yield made


@pytest.mark.slow
@pytest.mark.filterwarnings("default")  # those of dask are its own to mend
@pytest.mark.parametrize("form", ["csv", "parquet"])
def test_it_is_the_same_to_the_byte_wherever_it_is_worked_out(
    catalogue: Catalogue, shop: Path, tmp_path: Path, cluster: object, form: str
) -> None:
    scheduler = Scheduler(cluster.scheduler_address, shop)  # type: ignore[attr-defined]
    found = [
        written(catalogue, tmp_path / name, engine, form)
        for name, engine in (("here", here), ("local", Processes(2)), ("dask", scheduler))
    ]
    assert set(found[0]) == {f"parts.{form}", f"kits.{form}"}
    assert found[0] == found[1] == found[2]


def test_parquet_holds_what_csv_does(catalogue: Catalogue, tmp_path: Path) -> None:
    from pyarrow import parquet

    listed = rows(written(catalogue, tmp_path / "a")["parts.csv"])
    written(catalogue, tmp_path / "b", form="parquet")
    table = parquet.read_table(tmp_path / "b" / "parts.parquet")
    assert table.column_names == list(PartRow._fields)
    assert [{k: str(v) for k, v in row.items()} for row in table.to_pylist()] == listed


# -- never twice ---------------------------------------------------------------------------------


class Stopped(Exception):
    """A run that was stopped."""


def test_a_run_that_was_stopped_goes_on_where_it_was(
    catalogue: Catalogue, tmp_path: Path
) -> None:
    worked: list[str] = []

    def engine(known: Catalogue, left: object, most: int = 100) -> matrix.Done:
        for task in list(left)[:most]:  # type: ignore[call-overload]
            worked.append(task.key(known.digest))
            yield task, work_out(known, task)
        if most < 100:
            raise Stopped

    with pytest.raises(Stopped):
        written(catalogue, tmp_path / "out", lambda known, left: engine(known, left, 5))
    assert len(worked) == 5
    assert written(catalogue, tmp_path / "out", engine) == written(catalogue, tmp_path / "fresh")
    assert len(worked) == len(set(worked)) == len(list(tasks(catalogue, 30)))
    written(catalogue, tmp_path / "out", engine)
    assert len(worked) == len(set(worked))


def test_another_catalogue_begins_anew_and_the_old_rows_go(
    catalogue: Catalogue, tmp_path: Path, shop: Path
) -> None:
    before = written(catalogue, tmp_path / "out")
    kept = set((tmp_path / "out" / ".work").iterdir())
    (shop / "all.yaml").write_text(CATALOGUE.replace("price: 100", "price: 101") + KITS)
    after = written(load(shop), tmp_path / "out")
    assert after["kits.csv"] != before["kits.csv"]
    assert not kept & set((tmp_path / "out" / ".work").iterdir())


def test_a_damaged_result_is_worked_out_again(catalogue: Catalogue, tmp_path: Path) -> None:
    right = written(catalogue, tmp_path / "out")
    for path in (tmp_path / "out" / ".work").iterdir():
        path.write_bytes(path.read_bytes()[:-3])
    assert written(catalogue, tmp_path / "out") == right


def test_keys_tell_tasks_catalogues_and_deadlines_apart(catalogue: Catalogue) -> None:
    every = [*tasks(catalogue, 30), *tasks(catalogue, 5)]
    keys = {task.key(digest) for task in every for digest in (catalogue.digest, "other")}
    assert len(keys) == 2 * len(every)


# -- processes that die --------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.filterwarnings("default")
def test_a_dask_worker_that_is_killed_costs_its_own_task(
    catalogue: Catalogue, shop: Path, tmp_path: Path, cluster: object
) -> None:
    right = written(catalogue, tmp_path / "right")
    scheduler = Scheduler(cluster.scheduler_address, shop)  # type: ignore[attr-defined]
    killed: list[int] = []

    def engine(known: Catalogue, left: object) -> matrix.Done:
        for done in scheduler(known, left):  # type: ignore[arg-type]
            if not killed:
                first = next(iter(cluster.workers.values()))  # type: ignore[attr-defined]
                killed.append(first.process.process.pid)
                os.kill(killed[0], signal.SIGKILL)
            yield done

    assert written(catalogue, tmp_path / "out", engine) == right
    assert killed


@pytest.mark.slow
def test_a_local_process_that_is_killed_costs_the_tasks_in_hand(
    catalogue: Catalogue, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    right = written(catalogue, tmp_path / "right")
    monkeypatch.setenv("KITWRIGHT_TEST_KILL", str(tmp_path / "killed"))
    monkeypatch.setattr(engines, "_in_process", _killed_once)
    assert written(catalogue, tmp_path / "out", Processes(2)) == right
    assert (tmp_path / "killed").exists()


def _killed_once(task: object) -> object:
    """As the task in a process, but that the first process to begin is killed."""
    flag = Path(os.environ["KITWRIGHT_TEST_KILL"])
    if not flag.exists():
        flag.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return work_out(engines._catalogue[0], task)  # type: ignore[arg-type]


@pytest.mark.slow
def test_processes_that_end_again_and_again_are_given_up(
    catalogue: Catalogue, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engines, "_in_process", _killed)
    with pytest.raises(EngineFailed, match="again and again"):
        written(catalogue, tmp_path / "out", Processes(2))


def _killed(_: object) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def test_a_catalogue_that_changed_meanwhile_is_not_sent(shop: Path) -> None:
    with pytest.raises(EngineFailed, match="has changed"):
        engines.pack(shop, "another digest")


def test_a_worker_with_another_program_is_refused(catalogue: Catalogue) -> None:
    task = next(tasks(catalogue, 30))
    with pytest.raises(EngineFailed, match="another version"):
        engines._on_worker(catalogue, task, "another program")


# -- the command ---------------------------------------------------------------------------------


def test_the_command_writes_both_tables(shop: Path, tmp_path: Path) -> None:
    run = CommandLine(shop)
    out = tmp_path / "out"
    found = run("matrix", str(out))
    assert found.exit_code == 0
    assert load(shop).digest in found.stdout
    assert {path.name for path in out.iterdir()} == {"parts.csv", "kits.csv", ".work"}


def test_a_missing_library_is_said_by_name(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("api.cli_matrix.find_spec", lambda _: None)
    found = CommandLine(shop)("matrix", str(tmp_path / "out"), "--format", "parquet")
    assert found.exit_code == 2
    assert "kitwright[parquet]" in found.stderr
