"""What to measure next: the measurements whose absence leaves the most questions open.

A question is a combination of parts on a car that no check can judge, or a need of which nobody
can tell whether a part meets it, for want of that measurement. Checks of the whole car, which
compare both axles, are not counted: they are looked at package by package.
"""

from __future__ import annotations

from pydantic import Field

from rules.alike import said
from rules.answers import Model
from rules.audit_base import Scene
from rules.audit_survey import Question

MOST = 10


class ToMeasure(Model):
    """A measurement that would settle open questions."""

    what: str
    vehicle: str | None = Field(description="where it is to be taken on the car itself")
    questions: int = Field(description="combinations on cars that wait for it")
    cars: str
    parts: tuple[str, ...] = Field(description="parts in those combinations, a few of them")


def to_measure(scene: Scene, most: int = MOST) -> tuple[ToMeasure, ...]:
    """The measurements worth most, first; those equal in worth by name."""
    open_: dict[tuple[str, str | None], set[tuple[str, Question]]] = {}
    for group, unmeasured in scene.survey.unmeasured:
        for what, question in unmeasured:
            of_car = "the car" in what or what.startswith(("gap ", "trial fit"))
            key = (_without_name(what, group[0].name), group[0].vehicle_id if of_car else None)
            open_.setdefault(key, set()).update((car.id, question) for car in group)
    ranked = sorted(open_.items(), key=lambda item: (-len(item[1]), item[0][0], item[0][1] or ""))
    return tuple(_ranked(scene, *item) for item in ranked[:most])


def _without_name(what: str, car: str) -> str:
    """Trial fits name the car and its year; one trial serves all that are alike."""
    return what.replace(f" on {car}", "")


def _ranked(
    scene: Scene, key: tuple[str, str | None], questions: set[tuple[str, Question]]
) -> ToMeasure:
    ids = {car for car, _ in questions}
    parts = sorted({part for _, question in questions for part in question})
    return ToMeasure(
        what=key[0], vehicle=key[1], questions=len(questions),
        cars=said(car for car in scene.cars if car.id in ids), parts=tuple(parts[:5]),
    )
