"""Whatever questions and slow callers do, who asks for the health of the service is answered."""

from __future__ import annotations

import socket
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack

import pytest

from api.asking import demo_folder
from tests.support.running import Running

QUESTIONS, SLOW = 60, 100
WHERE = "/v1/package?vehicle=quernby&year=2017&variant=q16&pick=caliper-cairn&pick=paste-hub:"


@pytest.fixture
def running(tmp_path) -> Iterator[Running]:
    flags = ("--workers", "1", "--queue-seconds", "2")
    with Running(demo_folder(), *flags, log=tmp_path / "log") as server:
        yield server.wait()


def slow_caller(port: int) -> socket.socket:
    """Someone who begins a question and never ends it."""
    caller = socket.create_connection(("127.0.0.1", port), timeout=10)
    caller.sendall(b"POST /v1/package HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
                   b"Content-Length: 1000\r\n\r\n{")
    return caller


@pytest.mark.slow
def test_health_is_told_beside_more_questions_and_slow_callers_than_there_are_threads(running):
    with ExitStack() as slow, ThreadPoolExecutor(QUESTIONS) as many:
        for _ in range(SLOW):
            slow.enter_context(slow_caller(running.port))
        asked = [many.submit(running.ask, f"{WHERE}{n + 1}", None, 60) for n in range(QUESTIONS)]
        health = []
        while not all(each.done() for each in asked):
            health.append(running.ask("/healthz"))
            time.sleep(0.05)
        statuses = Counter(each.result()[0] for each in asked)
    assert set(statuses) <= {200, 429, 503}
    assert statuses[200] >= 1
    assert statuses[429] >= 1, "there were more questions than there is room for"
    assert len(health) >= 10
    assert all(status == 200 for status, _ in health)
