"""One source of chance for the makers of random catalogues: hypothesis, or a seeded generator.

With hypothesis a failing catalogue shrinks; with a seed a large sweep stays fast.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from typing import Any, Protocol, TypeVar

from hypothesis import strategies as st

T = TypeVar("T")


class Dice(Protocol):
    """Draws whole numbers; everything else is built on that."""

    def whole(self, low: int, high: int) -> int:
        """A whole number from `low` to `high`, both included."""
        ...


class DrawnDice:
    """Dice thrown by hypothesis."""

    def __init__(self, draw: Callable[[st.SearchStrategy[Any]], Any]) -> None:
        self.draw = draw

    def whole(self, low: int, high: int) -> int:
        number: int = self.draw(st.integers(low, high))
        return number


class SeededDice:
    """Dice thrown by a seeded generator: the same seed, the same throws."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)

    def whole(self, low: int, high: int) -> int:
        return self.random.randint(low, high)


def chance(dice: Dice, percent: int) -> bool:
    """True so often. Shrinks to False: the simplest catalogue has nothing special."""
    return dice.whole(0, 99) >= 100 - percent


def pick(dice: Dice, choices: Sequence[T]) -> T:
    """One of `choices`; the first is the simplest."""
    return choices[dice.whole(0, len(choices) - 1)]


def some(dice: Dice, choices: Sequence[T], most: int) -> list[T]:
    """One to `most` different members of `choices`."""
    count = dice.whole(1, min(most, len(choices)))
    found: list[T] = []
    for _ in range(count):
        rest = [choice for choice in choices if choice not in found]
        found.append(pick(dice, rest))
    return found
