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


def set_aside() -> None:
    """Take all that is there now out of later collections, which would walk a large catalogue in
    the middle of a question.

    What was set aside before is looked at once more, so that an old catalogue does not stay.
    """
    gc.unfreeze()
    gc.collect()
    gc.freeze()
