"""How long the solvers searched for an answer, added up for whoever asks for the sum."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass


@dataclass(slots=True)
class SearchTime:
    """Seconds that solvers searched."""

    seconds: float = 0.0


_adding: ContextVar[SearchTime | None] = ContextVar("_adding", default=None)


@contextmanager
def search_time() -> Iterator[SearchTime]:
    """Add up how long the solvers search inside, in this thread."""
    found = SearchTime()
    before = _adding.set(found)
    try:
        yield found
    finally:
        _adding.reset(before)


def searched(seconds: float) -> None:
    """Say that a solver has searched for so long."""
    found = _adding.get()
    if found is not None:
        found.seconds += seconds
