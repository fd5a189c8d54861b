"""Every drawing of a package."""

from __future__ import annotations

from collections.abc import Iterator

from api.drawings.balance import brake_balances
from api.drawings.because import because
from api.drawings.beside import besides
from api.drawings.drawing import Drawing, Sketch
from api.drawings.scene import Scene
from api.drawings.spring_travel import spring_travels
from api.drawings.wheel_room import wheel_rooms
from api.drawings.wheel_section import wheel_sections
from kb.catalogue import Catalogue
from rules import answers as a

_SORTS = (wheel_sections, wheel_rooms, spring_travels, brake_balances, besides, because)


def drawings_of(
    known: Catalogue, question: a.Question, package: a.Package
) -> tuple[Drawing, ...]:
    """The drawings of a package that answers a question.

    What lacks a measurement is left out: the package's `measure_first` says which. Of an impossible
    question, the picks are drawn on the car as asked for. The same question gives the same bytes.
    """
    return tuple(sketch.drawing() for _, sketch in _sketches(Scene(known, question, package)))


def drawing_of(
    known: Catalogue, question: a.Question, package: a.Package, name: str
) -> Drawing | None:
    """The drawing of that name alone; None where there is none."""
    for found, sketch in _sketches(Scene(known, question, package)):
        if found == name:
            return sketch.drawing()
    return None


def drawing_names(
    known: Catalogue, question: a.Question, package: a.Package
) -> tuple[str, ...]:
    """The names of the drawings there are of a package."""
    return tuple(name for name, _ in _sketches(Scene(known, question, package)))


def _sketches(scene: Scene) -> Iterator[tuple[str, Sketch]]:
    """Each drawing by its name; one that would have the name of another gets a number."""
    seen: dict[str, int] = {}
    for sort in _SORTS:
        for sketch in sort(scene):
            seen[sketch.name] = seen.get(sketch.name, 0) + 1
            if seen[sketch.name] > 1:
                sketch.name = f"{sketch.name}-{seen[sketch.name]}"
            yield sketch.name, sketch
