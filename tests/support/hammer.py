"""Constant load on a server from a few threads, each on a connection that it keeps."""

from __future__ import annotations

import itertools
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException
from threading import Event, Thread


@dataclass(frozen=True)
class Ask:
    """One request."""

    method: str
    path: str
    body: str | None = None


@dataclass(frozen=True)
class Got:
    """What came of it."""

    ask: Ask
    status: int
    tag: str
    body: bytes


class Hammer:
    """Sends requests one after the other until it is told to stop; counts what comes back.

    A request without an answer is in `lost`; the thread then goes on with a new connection.
    """

    def __init__(
        self, port: int, asks: Sequence[Ask], threads: int = 4, pause: float = 0.005
    ) -> None:
        self.port, self.asks, self.pause = port, asks, pause
        self.got: Counter[Got] = Counter()
        self.lost: list[str] = []
        self._stop = Event()
        self._threads = [Thread(target=self._run, args=(i,)) for i in range(threads)]

    def __enter__(self) -> Hammer:
        for thread in self._threads:
            thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._stop.set()
        for thread in self._threads:
            thread.join()

    @property
    def count(self) -> int:
        """Answers so far."""
        return sum(self.got.values())

    def _run(self, first: int) -> None:
        connection = HTTPConnection("127.0.0.1", self.port, timeout=60)
        for ask in itertools.islice(itertools.cycle(self.asks), first, None):
            if self._stop.wait(self.pause):
                break
            try:
                self.got[_send(connection, ask)] += 1
            except (OSError, HTTPException) as error:
                self.lost.append(f"{ask.method} {ask.path}: {error!r}")
                connection.close()
                time.sleep(0.02)
        connection.close()


def _send(connection: HTTPConnection, ask: Ask) -> Got:
    headers = {"Content-Type": "application/json"} if ask.body else {}
    connection.request(ask.method, ask.path, ask.body, headers)
    response = connection.getresponse()
    return Got(ask, response.status, response.headers.get("ETag", ""), response.read())
