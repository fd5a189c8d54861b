"""What the asker does not want: places to leave alone, parts and makers to avoid, work refused."""

from __future__ import annotations

from dataclasses import dataclass, replace

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

    def against_part(self, part_id: str, part: Part) -> tuple[str, str] | None:
        """The wish that speaks against a part, as kind and value."""
        if part_id in self.avoid:
            return "avoid", part_id
        if part.maker is not None and part.maker in self.avoid_makers:
            return "avoid_makers", part.maker
        return None

    def against_step(self, step: str, work: Work) -> tuple[str, str] | None:
        """The wish that speaks against a work step, as kind and value."""
        if step in self.refuse_work:
            return "refuse_work", step
        if self.reversible_only and not work.reversible:
            return "reversible_only", ""
        return None

    def without(self, kind: str, value: str) -> Wishes:
        """The same wishes less one."""
        if kind == "reversible_only":
            return replace(self, reversible_only=False)
        if kind == "certain_only":
            return replace(self, certain_only=False)
        if kind == "keep":
            return replace(self, keep=_less(self.keep, value))
        if kind == "avoid":
            return replace(self, avoid=_less(self.avoid, value))
        if kind == "avoid_makers":
            return replace(self, avoid_makers=_less(self.avoid_makers, value))
        return replace(self, refuse_work=_less(self.refuse_work, value))


def _less(values: tuple[str, ...], value: str) -> tuple[str, ...]:
    return tuple(other for other in values if other != value)
