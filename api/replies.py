"""Replies that were sent, kept whole for the next who asks the same.

They belong to one catalogue and go with it: what is found here is never of another.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from threading import Lock

from cachetools import LRUCache

BESIDE = 1500
"""Bytes that a reply takes beside its body: headers, and the request it is kept under. About."""


@dataclass(frozen=True, slots=True)
class Reply:
    """A reply as it is sent, but for the id of its request; and what is counted of it."""

    status: str
    headers: tuple[tuple[str, str], ...]
    body: bytes
    route: str


class Replies:
    """The replies of one catalogue, up to so many bytes; the least asked for go first."""

    def __init__(self, most_bytes: int) -> None:
        self._kept: LRUCache[Hashable, Reply] = LRUCache(most_bytes, getsizeof=_size)
        self._lock = Lock()

    def get(self, key: Hashable) -> Reply | None:
        """The reply to a request, if it is there."""
        with self._lock:
            return self._kept.get(key)

    def keep(self, key: Hashable, reply: Reply) -> None:
        """Keep a reply, unless it is larger than all that is kept may be."""
        if _size(reply) <= self._kept.maxsize:
            with self._lock:
                self._kept[key] = reply


def _size(reply: Reply) -> int:
    return len(reply.body) + BESIDE
