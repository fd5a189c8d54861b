"""Answers that were given, kept as they are sent, so that the next caller need not wait for one.

They belong to one catalogue and go with it: what is looked up here is never of another.
"""

from __future__ import annotations

from dataclasses import dataclass
from threading import Lock

from cachetools import LRUCache

BESIDE = 200
"""Bytes that an answer takes beside its text, about."""


@dataclass(frozen=True, slots=True)
class Written:
    """An answer as it is sent, and the media type that it is of."""

    content: bytes
    sort: str


class KeptAnswers:
    """Answers by their entity tags, up to so many bytes; the least asked for go first."""

    def __init__(self, most_bytes: int) -> None:
        self._kept: LRUCache[str, Written] = LRUCache(most_bytes, getsizeof=_size)
        self._lock = Lock()

    def get(self, tag: str) -> Written | None:
        """The answer with this tag, if it is there."""
        with self._lock:
            return self._kept.get(tag)

    def keep(self, tag: str, answer: Written) -> None:
        """Keep an answer, unless it is larger than all that is kept may be."""
        if _size(answer) <= self._kept.maxsize:
            with self._lock:
                self._kept[tag] = answer


def _size(answer: Written) -> int:
    return len(answer.content) + BESIDE
