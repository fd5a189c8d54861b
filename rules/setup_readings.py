"""What a corner-weight plan needs to know: from the question, else from the catalogue, else asked.

What the question states wins. Nothing is assumed: what is known nowhere is named as missing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from kb.entries import Part
from kb.statements import Axle
from rules import answers as a
from rules.asking import known_part
from rules.engineering.corner_weights import CarOnScales, Corner
from rules.setup_models import CORNERS, CornerQuestion, CornerReading
from rules.situation import Situation

AXLES: tuple[Axle, ...] = ("front", "front", "rear", "rear")

_PARTS = {"spring_rate": ("spring", "rate"), "thread_pitch": ("damper", "perch_pitch")}
"""Values of a corner that a part on its axle may state: kind and dimension."""
_SAID = {
    "spring_rate": "spring rate", "motion_ratio": "spring travel over wheel travel",
    "thread_pitch": "thread pitch of the perch", "room_down": "thread left below the perch",
    "room_up": "thread left above the perch",
}
_WHY = "without it the turns cannot be worked out"


@dataclass
class Readings:
    """Collects the values of a question; notes where each came from, and what is missing."""

    question: CornerQuestion
    at: Situation
    values: list[a.UsedValue] = field(default_factory=list)
    missing: dict[str, list[str]] = field(default_factory=dict)
    """What is missing, and at which corners."""
    notes: list[str] = field(default_factory=list)

    def car(self) -> CarOnScales | None:
        """The car on its scales; None when something is missing or out of range.

        Raises QuestionError for a part that is not in the catalogue.
        """
        for i, part in enumerate(self.question.parts):
            known_part(self.at, part, f"parts.{i}")
        corners = [
            self._corner(name, axle, reading)
            for name, axle, reading in zip(
                CORNERS, AXLES, self.question.corners.each(), strict=True
            )
        ]
        sizes = (
            self._car_value("wheelbase", "layout.wheelbase", None),
            self._car_value("front_track", "stance.track", "front"),
            self._car_value("rear_track", "stance.track", "rear"),
        )
        bars = self._bars()
        if self.missing:
            return None
        try:
            first, second, third, fourth = (Corner(*values) for values in corners)
            return CarOnScales((first, second, third, fourth), *sizes, *bars)
        except ValueError as error:  # a value of the catalogue that no car has
            self.notes.append(str(error))
            return None

    def measures(self) -> Iterator[a.Measure]:
        """What has to be measured or asked first."""
        for what, corners in self.missing.items():
            where = f" ({', '.join(corners)})" if any(corners) else ""
            yield a.Measure(what=f"{what}{where}", because=_WHY)

    def _lack(self, what: str, corner: str = "") -> float:
        """Note something as missing; stands in as 0 until everything is known."""
        self.missing.setdefault(what, []).append(_words(corner))
        return 0.0

    def _corner(self, name: str, axle: Axle, given: CornerReading) -> tuple[float, ...]:
        if given.wanted_height is not None and given.height is None:
            self._lack("height of the body now", name)
        self._use(f"scale reading, {_words(name)}", f"{given.scale:g} kg", "question")
        return (
            given.scale,
            self._value("spring_rate", name, axle, given),
            self._value("motion_ratio", name, axle, given),
            self._value("thread_pitch", name, axle, given),
            self._value("room_down", name, axle, given),
            self._value("room_up", name, axle, given),
        )

    def _value(self, value: str, name: str, axle: Axle, given: CornerReading) -> float:
        """One value of a corner; 0, and noted as missing, when it is known nowhere."""
        stated: float | None = getattr(given, value)
        if stated is not None:
            return self._use(f"{_SAID[value]}, {_words(name)}", f"{stated:g}", "question", stated)
        if value == "motion_ratio":
            return self._fact(_SAID[value], "suspension.spring_motion_ratio", axle, name)
        if value in _PARTS:
            return self._of_part(value, axle, name)
        return self._lack(_SAID[value], name)

    def _of_part(self, value: str, axle: Axle, name: str) -> float:
        kind, dimension = _PARTS[value]
        part = self._part_on(kind, axle)
        if part is None:
            return self._lack(_SAID[value], name)
        found = getattr(part.dimensions, dimension)
        if found is None:
            return self._lack(f"{_SAID[value]} of {part.name}", name)
        label = f"{_SAID[value]}, {_words(name)}"
        return self._use(label, str(found), f"catalogue: {part.name}", found)

    def _part_on(self, kind: str, axle: Axle) -> Part | None:
        """The part of a kind on an axle: one that the question names, else the stock part."""
        places, fitted = self.at.baseline.places, self.at.baseline.fitted
        for key in self.question.parts:
            if self.at.parts[key].kind == kind and axle in self.at.axles(key):
                return self.at.parts[key]
        on_axle = (self.at.parts[p] for place, p in fitted.items() if places[place].axle == axle)
        return next((part for part in on_axle if part.kind == kind), None)

    def _car_value(self, name: str, fact: str, axle: Axle | None) -> float:
        stated: float | None = getattr(self.question, name)
        if stated is not None:
            return self._use(_words(name), f"{stated:g}", "question", stated)
        return self._fact(_words(name), fact, axle)

    def _bars(self) -> tuple[float, float]:
        """The rates of the anti-roll bars where they are connected, else none."""
        if not self.question.bars_connected:
            self.notes.append("worked out for disconnected anti-roll bars")
            return 0.0, 0.0
        return (
            self._car_value("front_bar", "stance.bar_rate", "front"),
            self._car_value("rear_bar", "stance.bar_rate", "rear"),
        )

    def _fact(self, what: str, name: str, axle: Axle | None, corner: str = "") -> float:
        found = self.at.baseline.fact(name, axle)
        if found is None:
            return self._lack(what, corner)
        basis = f"{found.basis}: {found.source}" if found.source else found.basis
        label = f"{what}, {_words(corner)}" if corner else what
        return self._use(label, str(found.value), basis, found.value)

    def _use(self, name: str, value: str, basis: str, number: Any = 0.0) -> float:
        """Note a value and give its number in canonical units."""
        self.values.append(a.UsedValue(name=name, value=value, basis=basis))
        return float(getattr(number, "value", number))


def _words(name: str) -> str:
    return name.replace("_", " ")
