"""The server as a shop runs it: started, asked by many at once, stopped."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from urllib.error import HTTPError, URLError
from urllib.request import Request, urlopen

import pytest

import api
from api.serve import serve
from kb.errors import CatalogueError

ROOT = Path(api.__file__).parent.parent
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


class Running:
    """A server process on a port of its own."""

    def __init__(self, folder: Path) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port: int = free.getsockname()[1]
        code = f"from pathlib import Path; from api.serve import serve; " \
               f"serve(Path({str(folder)!r}), '127.0.0.1', {self.port}, 2)"
        self.process = subprocess.Popen(
            [sys.executable, "-c", code], cwd=folder, env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )

    def __enter__(self) -> Running:
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.stop()

    def ask(self, path: str, body: bytes | None = None) -> tuple[int, dict]:
        """Status and JSON of one request."""
        request = Request(f"http://127.0.0.1:{self.port}{path}", data=body)
        request.add_header("Content-Type", "application/json")
        try:
            with urlopen(request, timeout=10) as response:
                return response.status, json.load(response)
        except HTTPError as error:
            return error.code, json.load(error)

    def wait(self) -> None:
        """Until the first answer."""
        ends = time.monotonic() + 20
        while time.monotonic() < ends:
            try:
                assert self.ask("/readyz")[0] == 200
            except (URLError, OSError):
                assert self.process.poll() is None, self.process.communicate()
                time.sleep(0.05)
            else:
                return
        pytest.fail("the server does not answer")

    def stop(self) -> tuple[str, str]:
        """Ask it to stop as a supervisor does; what it printed."""
        self.process.send_signal(signal.SIGTERM)
        return self.process.communicate(timeout=20)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("catalogue")
    (made / "all.yaml").write_text(CATALOGUE)
    return made


@pytest.fixture(scope="module")
def running(folder: Path) -> Iterator[Running]:
    with Running(folder) as server:
        server.wait()
        yield server


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


def test_it_says_what_it_serves_and_stops_at_once_when_told(folder: Path) -> None:
    with Running(folder) as server:
        server.wait()  # the first answer: the other worker may still be starting
        begun = time.monotonic()
        _, errors = server.stop()
    assert time.monotonic() - begun < 10
    assert server.process.returncode == 0
    assert "Served" in errors
    assert f"http://127.0.0.1:{server.port} workers=2" in errors
    assert "Traceback" not in errors


def test_a_catalogue_that_is_not_sound_is_not_served(tmp_path: Path) -> None:
    (tmp_path / "bad.yaml").write_text("parts: {lamp: {kind: item}}")
    with pytest.raises(CatalogueError, match=r"bad\.yaml:1"):
        serve(tmp_path, "127.0.0.1", 0, 1)
