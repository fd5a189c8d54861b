"""Garbage collection put off while very many objects are made that all stay."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

MANY = 10_000
"""Parts that make a catalogue large enough to be worth setting aside."""


@contextmanager
def no_collection() -> Iterator[None]:
    """No garbage collection meanwhile: where next to none is dropped, each collection walks
    everything for nothing.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def set_aside(parts: int) -> None:
    """Take all that is there now out of later collections, if it is a large catalogue: they would
    walk it in the middle of a question.
    """
    if parts >= MANY:
        gc.freeze()


def look_again() -> None:
    """Collect what was set aside and is no longer used, such as a catalogue that was replaced."""
    if gc.get_freeze_count():
        gc.unfreeze()
        gc.collect()
