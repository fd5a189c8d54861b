"""The server as a shop runs it: started, asked by many at once, stopped."""

from __future__ import annotations

import json
import socket
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from api.serve import serve
from api.settings import Settings
from kb.errors import CatalogueError
from tests.support.running import Running, free_port

CATALOGUE = """
catalog: {name: Served}
vehicles:
  tern:
    name: Tern
    years: "2015"
    variants: {p12: {name: petrol, engine: a12}}
    places: {lamp: {}}
parts:
  lamp: {kind: item, name: Lamp, price: 5.00 EUR, takes: [lamp], fits: [{vehicles: [tern]}],
         requires: [{part: bulb, each: 2}]}
  bulb: {kind: item, name: Bulb, price: 1.00 EUR}
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("catalogue")
    (made / "all.yaml").write_text(CATALOGUE)
    return made


@pytest.fixture(scope="module")
def running(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    with Running(folder, log=tmp_path_factory.mktemp("log") / "log") as server:
        yield server.wait()


def test_many_questions_at_once_get_one_answer(running: Running) -> None:
    body = b'{"vehicle": "tern", "picks": [{"part": "lamp"}]}'
    with ThreadPoolExecutor(16) as many:
        answers = list(many.map(lambda _: running.ask("/v1/package", body), range(200)))
    assert {status for status, _ in answers} == {200}
    assert len({json.dumps(answer) for _, answer in answers}) == 1
    assert {line["part"]: line["qty"] for line in answers[0][1]["lines"]} == {
        "lamp": 1.0, "bulb": 2.0}


def test_a_body_of_no_stated_length_is_read(running: Running) -> None:
    assert b'"outcome":"complete"' in _chunked(running, b'{"vehicle": "tern"}', 1)


def test_a_body_of_no_stated_length_keeps_to_the_limit(running: Running) -> None:
    answer = _chunked(running, b" " * 0x10000, 5)
    assert answer.startswith(b"HTTP/1.1 413")
    assert b"body_too_large" in answer


def _chunked(running: Running, chunk: bytes, count: int) -> bytes:
    """The raw response to a body sent as `count` times the same chunk."""
    with socket.create_connection(("127.0.0.1", running.port), timeout=10) as raw:
        raw.sendall(
            b"POST /v1/package HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
            b"Transfer-Encoding: chunked\r\nConnection: close\r\n\r\n"
        )
        raw.sendall(b"%x\r\n%s\r\n" % (len(chunk), chunk) * count + b"0\r\n\r\n")
        return b"".join(iter(lambda: raw.recv(65536), b""))


def test_a_failure_is_problem_details_over_the_wire_too(running: Running) -> None:
    status, problem = running.ask("/v1/parts/lmap")
    assert (status, problem["code"]) == (404, "unknown_part")
    assert problem["errors"][0]["nearest"] == "lamp"


def test_it_says_what_it_serves_and_stops_at_once_when_told(folder: Path, tmp_path: Path) -> None:
    with Running(folder, log=tmp_path / "log") as server:
        server.wait()  # the first answer: the other worker may still be starting
        begun = time.monotonic()
        said = server.stop()
    assert time.monotonic() - begun < 10
    assert server.process.returncode == 0
    assert "Served" in said
    assert f"http://127.0.0.1:{server.port}" in said
    assert "workers=2" in said
    assert "Traceback" not in said


def test_it_is_set_by_the_environment_too(folder: Path, tmp_path: Path) -> None:
    secret = "a-token-that-nobody-knows"
    with Running(folder, log=tmp_path / "log", environment={"KITWRIGHT_TOKEN": secret}) as server:
        server.until(lambda: "token=(set)" in server.said, "the settings are printed")
        server.wait()
        assert secret not in server.stop()


def test_all_it_says_after_how_it_is_set_is_log_lines(folder: Path, tmp_path: Path) -> None:
    with Running(folder, log=tmp_path / "log") as server:
        server.wait()
        lines = server.stop().splitlines()
    assert [line.partition(":")[0] for line in lines[:2]] == ["kitwright", "kitwright"]
    said = [json.loads(line) for line in lines[2:]]
    assert {line["level"] for line in said} == {"info"}


def test_a_port_that_is_taken_is_not_shared(running: Running, folder: Path, tmp_path: Path) -> None:
    second = Running(folder, "--port", str(running.port), log=tmp_path / "log")
    assert second.process.wait(20) == 2
    assert "in use" in second.said
    assert "Traceback" not in second.said


def test_a_catalogue_that_is_not_sound_is_not_served(tmp_path: Path) -> None:
    (tmp_path / "bad.yaml").write_text("parts: {lamp: {kind: item}}")
    with pytest.raises(CatalogueError, match=r"bad\.yaml:1"):
        serve(tmp_path, Settings(port=free_port()))
