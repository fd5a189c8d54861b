"""What a drawing is to those who show it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True, slots=True)
class Value:
    """A number that is written in a drawing."""

    name: str
    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing of a kit: `name` tells it apart, `alt` says all of it in words."""

    name: str
    title: str
    caption: str
    alt: str
    values: tuple[Value, ...]
    svg: str


class Sketch(Protocol):
    """A drawing that can be made."""

    name: str

    def drawing(self) -> Drawing:
        """Make it."""
