"""What the asker does not want: places to leave alone, parts and makers to avoid, work refused."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from kb.entries import Part, Work


@dataclass(frozen=True, slots=True)
class Wishes:
    """The wishes of one question; each can be given up on its own."""

    keep: tuple[str, ...] = ()
    """Places whose stock part has to stay."""
    avoid: tuple[str, ...] = ()
    """Parts that are not wanted."""
    avoid_makers: tuple[str, ...] = ()
    refuse_work: tuple[str, ...] = ()
    """Work steps that are not to be done."""
    reversible_only: bool = False
    """No work that cannot be undone: a leased car."""
    certain_only: bool = False
    """Nothing is to be left to measure."""

    def against_part(self, part_id: str, part: Part) -> Iterator[tuple[str, str]]:
        """Every wish that speaks against a part, as kind and value."""
        if part_id in self.avoid:
            yield "avoid", part_id
        if part.maker is not None and part.maker in self.avoid_makers:
            yield "avoid_makers", part.maker

    def against_step(self, step: str, work: Work) -> Iterator[tuple[str, str]]:
        """Every wish that speaks against a work step, as kind and value."""
        if step in self.refuse_work:
            yield "refuse_work", step
        if self.reversible_only and not work.reversible:
            yield "reversible_only", ""
