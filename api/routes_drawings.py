"""GET /v1/drawings: the drawings of a package, and each of them as SVG."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote, urlencode

from pydantic import Field

from api.answering import answered_with_or_without
from api.current import catalogue
from api.document import ANSWERS, answers, blueprint, picture
from api.drawings.all import drawing_names, drawing_of, drawings_of
from api.drawings.drawing import Drawing
from api.endpoint import Picture, endpoint
from api.problems import Refused, WrongField
from api.routes_questions import PackageQuery, fields_as_in_address, question_of
from api.views import DrawingRow, Drawings, DrawnValue
from kb.errors import nearest_name
from rules.answers import Model, Package, Question

routes = blueprint("drawings", ANSWERS, "/v1")


class DrawingPath(Model):
    """Which drawing."""

    name: str = Field(max_length=200, description="the name of a drawing of this package")


@routes.get("/drawings", responses=answers(Drawings, 500, 503))
@endpoint
def list_drawings(query: PackageQuery) -> Drawings:
    """The drawings of the package that answers a question, with the numbers written in them."""
    question, answer = _asked(query)
    found = drawings_of(catalogue(), question, answer)
    return Drawings(
        catalog=answer.catalog, baseline=answer.baseline, outcome=answer.outcome,
        items=tuple(_row(drawing, query) for drawing in found), proof=answer.proof,
    )


@routes.get("/drawings/<name>.svg", responses=picture(404, 500, 503))
@endpoint
def show_drawing(path: DrawingPath, query: PackageQuery) -> Picture:
    """One drawing of the package that answers a question."""
    question, answer = _asked(query)
    found = drawing_of(catalogue(), question, answer, path.name)
    if found is None:
        raise _no_such(path.name, drawing_names(catalogue(), question, answer))
    return Picture(svg=found.svg, proof=answer.proof)


def _asked(query: PackageQuery) -> tuple[Question, Package]:
    known = catalogue()
    with fields_as_in_address():
        question = question_of(known, query.model_copy(update={"alternatives": False}))
        return question, answered_with_or_without(known, question)


def _row(drawing: Drawing, query: PackageQuery) -> DrawingRow:
    return DrawingRow(
        name=drawing.name, title=drawing.title, caption=drawing.caption, alt=drawing.alt,
        href=f"/v1/drawings/{quote(drawing.name)}.svg?{_address(query)}",
        values=tuple(
            DrawnValue(name=v.name, value=v.value, unit=v.unit) for v in drawing.values
        ),
    )


def _address(query: PackageQuery) -> str:
    """The question as an address has it, without what makes no difference to a drawing."""
    given: dict[str, Any] = query.model_dump(exclude_defaults=True, exclude={"alternatives"})
    return urlencode({
        name: str(value).lower() if isinstance(value, bool) else value
        for name, value in given.items()
    }, doseq=True)


def _no_such(name: str, known: tuple[str, ...]) -> Refused:
    near = nearest_name(name[:100], known)
    wrong = WrongField(field="name", message=f"there is no drawing '{name}'", nearest=near)
    return Refused("unknown_drawing", wrong.message, [wrong])
