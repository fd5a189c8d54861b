"""How work steps move what is in the way of a wheel, in the plane fixed to the hub.

The plane tells two directions apart: along the wheel's axis, and square to it. A part that goes
forward or back changes its distance from the axis by an amount that only measuring tells, so that
distance is what a catalogue states.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from kb.entries import Direction
from rules.checking import Sheet
from rules.engineering.sections import Points

_UNIT: dict[Direction, tuple[int, int]] = {
    "inboard": (-1, 0), "outboard": (1, 0), "away-from-axis": (0, 1), "towards-axis": (0, -1),
}


class Move(NamedTuple):
    """Where work leaves an obstacle, mm from where it was.

    `outboard` and `from_axis` as in an outline; `tolerance` is how far off it may be either way.
    """

    steps: tuple[str, ...]
    outboard: float = 0.0
    from_axis: float = 0.0
    tolerance: float = 0.0

    @property
    def reach(self) -> float:
        """No gap changes by more than this."""
        return abs(self.outboard) + abs(self.from_axis) + 2 * self.tolerance

    @property
    def said(self) -> str:
        """How far and which way, in words."""
        ways = (
            (self.outboard, "outboard" if self.outboard > 0 else "inboard"),
            (self.from_axis, "away from the axis" if self.from_axis > 0 else "towards the axis"),
        )
        return " and ".join(f"{abs(by):g} mm {way}" for by, way in ways if by)

    def then(self, other: Move) -> Move:
        """Both done, one after the other."""
        return Move(
            self.steps + other.steps, self.outboard + other.outboard,
            self.from_axis + other.from_axis, self.tolerance + other.tolerance,
        )

    def of(self, corners: Points) -> Points:
        """The corners after the work."""
        return tuple((x + self.outboard, y + self.from_axis) for x, y in corners)


STILL = Move(())
"""No work: everything stays where it is."""


def moves_of(sheet: Sheet, obstacle: str) -> Iterator[Move]:
    """How each work step possible on this car moves an obstacle, where that is stated in full."""
    for step, reliefs in sheet.reliefs(obstacle):
        outboard = from_axis = tolerance = 0.0
        for relief in reliefs:
            if relief.direction is None:
                break
            x, y = _UNIT[relief.direction]
            outboard += x * relief.by.value
            from_axis += y * relief.by.value
            tolerance = max(tolerance, relief.by.tolerance)
        else:
            yield Move((step,), outboard, from_axis, tolerance)


def without_direction(sheet: Sheet, obstacle: str) -> Iterator[str]:
    """The work steps of which it is not known which way they move an obstacle."""
    for step, reliefs in sheet.reliefs(obstacle):
        if any(relief.direction is None for relief in reliefs):
            yield step
