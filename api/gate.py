"""The gate before the work: so many questions in hand at a time, so many waiting, no more.

It is passed with the request read and checked, and before anything is worked out. Health checks
and metrics do not pass it, and a worker has more threads than the gate lets in or lets wait, so
that they are answered whatever questions are in hand.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from math import ceil
from threading import BoundedSemaphore

from api.problems import Refused


class Gate:
    """Lets `questions` in at a time and `queue` more wait, each at most `seconds`."""

    def __init__(self, questions: int, queue: int, seconds: float) -> None:
        self.seconds = seconds
        self._room = BoundedSemaphore(questions + queue)
        self._slots = BoundedSemaphore(questions)

    @contextmanager
    def passed(self) -> Iterator[None]:
        """Hold one of the slots. Raises Refused when the queue is full or the wait too long."""
        if not self._room.acquire(blocking=False):
            raise self._refusal("too_many_questions", "the queue is full")
        try:
            if not self._slots.acquire(timeout=self.seconds):
                raise self._refusal("busy", f"the question waited {self.seconds:g} s for its turn")
            try:
                yield
            finally:
                self._slots.release()
        finally:
            self._room.release()

    def _refusal(self, code: str, detail: str) -> Refused:
        """By the time a question in the queue has had its turn or is refused, there is room."""
        return Refused(code, detail, headers={"Retry-After": str(max(1, ceil(self.seconds)))})
