"""What happens when things go wrong around a running service."""

from __future__ import annotations

import json
import os
import resource
import shutil
import signal
import socket
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path

import pytest

from api.app import create_app
from api.asking import demo_folder
from api.settings import Settings
from kb.catalogue import load
from rules.answers import Item, Question
from rules.resolve import package
from tests.api.conftest import CATALOGUE
from tests.bench.shop import shop_texts
from tests.bench.soak import soak
from tests.support.hammer import Ask, Hammer
from tests.support.running import Running

CAR = {"vehicle": "tern", "year": 2014, "variant": "p16"}
ASK = Ask("POST", "/v1/package", json.dumps({**CAR, "picks": [{"part": "wheel-15"}]}))
SLOW = json.dumps({  # some seconds of work
    "vehicle": "quernby", "year": 2017, "variant": "q16", "deadline": 25,
    "picks": [{"part": "caliper-cairn"}, {"part": "wheel-corrie-16"}],
}).encode()


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "all.yaml").write_text(CATALOGUE)
    return tmp_path / "shop"


@pytest.fixture
def running(shop: Path, tmp_path: Path) -> Iterator[Running]:
    with Running(shop, log=tmp_path / "log") as server:
        yield server.wait()


def answers(running: Running, times: int = 20) -> None:
    """Fail unless it answers at once, on connections of their own."""
    for _ in range(times):
        assert running.ask("/healthz", timeout=5)[0] == 200
    assert running.ask("/v1/package", ASK.body.encode(), timeout=5)[0] == 200  # type: ignore[union-attr]


# -- processes that die ---------------------------------------------------------------------------


def test_a_worker_that_is_killed_is_missed_by_none_but_its_own_callers(running: Running) -> None:
    running.until(lambda: len(running.workers) == 2, "both workers are there")
    before = running.workers
    with Hammer(running.port, [ASK, Ask("GET", "/v1/parts")], threads=6) as hammer:
        running.until(lambda: hammer.count > 50, "there is load")
        os.kill(before[0], signal.SIGKILL)
        running.until(lambda: len(running.workers) == 2 and running.workers != before,
                      "another one takes its place")
        lost = len(hammer.lost)
        count = hammer.count
        running.until(lambda: hammer.count > count + 200, "all goes on")
        assert len(hammer.lost) == lost
    assert lost <= 6  # each thread had at most one request in hand
    assert {got.status for got in hammer.got} == {200}
    assert before[1] in running.workers


def test_what_a_killed_worker_had_in_hand_is_not_counted_for_ever(tmp_path: Path) -> None:
    with Running(demo_folder(), log=tmp_path / "log") as running, ThreadPoolExecutor() as pool:
        running.wait()
        pool.submit(running.ask, "/v1/offers", SLOW, 60)
        running.until(lambda: _in_hand(running) == 1, "the question is in hand")
        for worker in running.workers:
            os.kill(worker, signal.SIGKILL)
        running.until(lambda: running.answers() and _in_hand(running) == 0, "none is in hand")


def test_a_worker_that_comes_back_serves_what_the_others_do(running: Running, shop: Path) -> None:
    (shop / "all.yaml").write_text(CATALOGUE.replace("price: 2", "price: 3"))
    new = load(shop).digest
    running.hang_up()
    running.until(lambda: running.said.count(f"serving {new}") == 2, "both have the new one")
    before = running.workers
    for worker in before:
        os.kill(worker, signal.SIGKILL)
        running.until(lambda: len(running.workers) == 2, "it is back")
    running.until(lambda: not set(before) & set(running.workers), "both are others")
    running.until(lambda: running.said.count(f"serving {new}") == 4, "both have the new one again")
    assert {running.ask("/readyz")[1]["catalog"]["digest"] for _ in range(8)} == {new}


def test_workers_end_when_the_process_in_charge_is_killed(running: Running) -> None:
    running.until(lambda: len(running.workers) == 2, "both workers are there")
    workers = running.workers
    running.process.kill()
    running.process.wait()
    running.until(lambda: not any(Path(f"/proc/{pid}").exists() for pid in workers), "all end")


@pytest.mark.parametrize("word", [signal.SIGTERM, signal.SIGINT])
def test_a_question_in_hand_is_finished_before_it_stops(
    tmp_path: Path, word: signal.Signals
) -> None:
    with Running(demo_folder(), log=tmp_path / "log") as running, ThreadPoolExecutor() as pool:
        running.wait()
        asked = pool.submit(running.ask, "/v1/offers", SLOW, 60)
        running.until(lambda: _in_hand(running) == 1, "the question is in hand")
        running.process.send_signal(word)
        assert not asked.done()
        status, answer = asked.result()
        assert status == 200
        assert answer["packages"]
        assert running.process.wait(20) == 0


def _in_hand(running: Running) -> int:
    from urllib.request import urlopen

    with urlopen(f"http://127.0.0.1:{running.port}/metrics", timeout=5) as response:
        lines = response.read().decode().splitlines()
    counted = [line for line in lines if line.startswith("kitwright_questions_in_hand ")]
    return int(float(counted[0].split()[1])) if counted else 0


# -- files and disks -----------------------------------------------------------------------------


def test_a_catalogue_folder_that_vanishes_is_not_missed_until_it_is_read_again(
    running: Running, shop: Path, tmp_path: Path
) -> None:
    away = shop.rename(tmp_path / "away")
    answers(running)
    running.hang_up()
    running.until(lambda: bool(running.ask("/readyz")[1]["refused"]), "the reload is refused")
    assert "no such folder" in running.ask("/readyz")[1]["refused"]["problems"][0]
    answers(running)
    away.rename(shop)
    running.hang_up()
    running.until(lambda: not running.ask("/readyz")[1]["refused"], "it is found again")


def test_a_damaged_snapshot_is_made_anew(tmp_path: Path) -> None:
    shop, cache = _large(tmp_path), tmp_path / "cache"
    flags = ("--cache-folder", str(cache), "--workers", "1")
    with Running(shop, *flags, log=tmp_path / "log") as running:
        running.wait()
    [snapshot] = cache.glob("*.snapshot")
    whole = snapshot.read_bytes()
    snapshot.write_bytes(whole[:len(whole) // 2])
    with Running(shop, *flags, log=tmp_path / "log") as running:
        running.wait()
    assert snapshot.read_bytes() == whole


def test_a_cache_folder_that_cannot_be_one_costs_time_and_nothing_else(tmp_path: Path) -> None:
    (tmp_path / "cache").write_text("a file")
    flags = ("--cache-folder", str(tmp_path / "cache"), "--workers", "1")
    with Running(_large(tmp_path), *flags, log=tmp_path / "log") as running:
        running.wait()
        assert "Traceback" not in running.said


def test_a_full_disk_keeps_neither_a_start_nor_the_old_catalogue_from_answering(
    tmp_path: Path
) -> None:
    """As a full disk, a limit on files fails the write that is too much and no other."""
    shop, cache = _large(tmp_path), tmp_path / "cache"
    flags = ("--cache-folder", str(cache), "--workers", "1")
    with Running(shop, *flags, log=tmp_path / "log", before=_small_files) as running:
        running.wait()
        assert list(cache.iterdir()) == []
        before = running.ask("/readyz")[1]["catalog"]
        (shop / "more.yaml").write_text("parts: {one-more: {kind: item, name: One more}}\n")
        running.hang_up()
        running.until(lambda: bool(running.ask("/readyz")[1]["refused"]), "the reload is refused")
        ready = running.ask("/readyz")[1]
        assert "is there room?" in ready["refused"]["problems"][0]
        assert ready["catalog"] == before


def _large(folder: Path) -> Path:
    """A catalogue large enough for a snapshot."""
    for name, text in shop_texts(1500).items():
        path = folder / "shop" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    return folder / "shop"


def _small_files() -> None:
    resource.setrlimit(resource.RLIMIT_FSIZE, (2**17, 2**17))


def test_without_any_place_for_its_files_it_does_not_start_and_says_so(
    shop: Path, tmp_path: Path
) -> None:
    nowhere = {"TMPDIR": "/proc", "TMP": "/proc", "TEMP": "/proc"}
    running = Running(shop, log=tmp_path / "log", environment=nowhere, before=_no_files)
    assert running.process.wait(30) == 2
    assert "Traceback" not in running.said


def _no_files() -> None:
    resource.setrlimit(resource.RLIMIT_FSIZE, (2**10, 2**10))


# -- clocks --------------------------------------------------------------------------------------


@pytest.mark.parametrize("jump", [86_400.0, -86_400.0])
def test_a_clock_that_jumps_neither_ends_a_question_nor_keeps_it_going(
    shop: Path, monkeypatch: pytest.MonkeyPatch, jump: float
) -> None:
    """Each look at the time of day finds it a day off from the one before."""
    catalogue = load(shop)
    question = Question(**CAR, picks=(Item(part="big-caliper"),), deadline=5)
    right = package(catalogue, question)
    now = [time.time()]

    def jumping() -> float:
        now[0] += jump
        return now[0]

    monkeypatch.setattr(time, "time", jumping)
    assert package(load(shop), question) == right
    answered = create_app(load(shop), Settings()).test_client().post(
        "/v1/package", json=question.model_dump(mode="json"))
    assert answered.status_code == 200
    assert answered.json["proof"]["least"]


# -- clients that do not behave --------------------------------------------------------------------


def opened(running: Running, held: ExitStack, count: int, sent: bytes) -> list[socket.socket]:
    """So many connections on which this much was sent, and no more."""
    made = []
    for _ in range(count):
        each = socket.create_connection(("127.0.0.1", running.port), timeout=10)
        held.enter_context(each)
        each.sendall(sent)
        made.append(each)
    return made


@pytest.mark.parametrize(("count", "sent"), [
    (1000, b""),
    (300, b"GET /healthz HTTP/1.1\r\nHost: a\r\nX-Slow: "),
    (1000, b"GET /healthz HTTP/1.1\r\nHost: a\r\n\r\n"),
], ids=["idle", "slow in the head", "idle after an answer"])
def test_connections_that_nothing_comes_on_keep_nobody_waiting(
    running: Running, count: int, sent: bytes
) -> None:
    with ExitStack() as held:
        opened(running, held, count, sent)
        answers(running)


def test_bodies_that_never_end_leave_threads_for_all_who_send_none(running: Running) -> None:
    head = b"POST /v1/package HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
    with ExitStack() as held:
        slow = opened(running, held, 300, head + b"Content-Length: 100\r\n\r\n{")
        running.until(lambda: _refused(slow), "some find no place any more")
        for _ in range(20):
            assert running.ask("/healthz", timeout=5)[0] == 200
            assert running.ask("/v1/parts/wheel-15", timeout=5)[0] == 200
    answers(running)  # once they are gone there is place again


def _refused(slow: list[socket.socket]) -> bool:
    """Whether one of the connections was told to come again later."""
    for each in slow:
        each.settimeout(0.001)
        try:
            if each.recv(12).startswith(b"HTTP/1.1 503"):
                return True
        except TimeoutError:
            continue
    return False


@pytest.mark.slow
def test_a_head_that_never_ends_is_given_up(running: Running) -> None:
    with ExitStack() as held:
        [slow] = opened(running, held, 1, b"GET /healthz HTTP/1.1\r\nX-Slow: ")
        slow.settimeout(30)
        begun = time.monotonic()
        while slow.recv(1000):
            pass
        assert 5 < time.monotonic() - begun < 20


# -- time ----------------------------------------------------------------------------------------


@pytest.mark.slow
def test_mixed_load_and_reloads_leave_memory_as_it_was(tmp_path: Path) -> None:
    """A short form of `python -m tests.bench.soak`."""
    found = soak(tmp_path, size=500, seconds=40, reload_every=4)
    assert found.lost == 0
    assert set(found.statuses) <= {200, 400, 404, 405, 422}
    assert found.statuses[200] > 500
    assert found.reloads > 3
    assert found.growth < 1.15, found.megabytes


def test_the_folder_of_a_server_goes_with_it(shop: Path, tmp_path: Path) -> None:
    (tmp_path / "tmp").mkdir()
    where = {"TMPDIR": str(tmp_path / "tmp")}
    with Running(shop, log=tmp_path / "log", environment=where) as running:
        running.wait()
        assert list((tmp_path / "tmp").iterdir())
    assert not list((tmp_path / "tmp").iterdir())
    shutil.rmtree(tmp_path / "tmp")
