"""GET /v1/parts and GET /v1/parts/{id}."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import Field

from api.current import catalogue
from api.document import CATALOGUE, answers, blueprint
from api.endpoint import NoQuery, endpoint
from api.pages import PageQuery, page_of
from api.problems import Refused, WrongField
from api.saying import NO_CAR, statements
from api.views import ContentView, PartRow, PartsPage, PartView
from kb.catalogue import Catalogue
from kb.dimensions import kinds
from kb.entries import Part
from kb.errors import QuestionError, nearest_name
from rules.answers import Model
from rules.naming import catalog_ref
from rules.situation import Situation

routes = blueprint("parts", CATALOGUE, "/v1")


class PartsQuery(PageQuery):
    """Which parts to list; all that is given has to hold."""

    kind: str | None = Field(None, description="only parts of this kind")
    place: str | None = Field(None, description="only parts that fill this place")
    q: str | None = Field(
        None, max_length=200, description="only parts with all these words in id, name or maker"
    )


class PartPath(Model):
    """Which part."""

    part: str = Field(description="the id of a part")


@routes.get("/parts", responses=answers(PartsPage))
@endpoint
def list_parts(query: PartsQuery) -> PartsPage:
    """The parts that match, in the order of their ids, page by page."""
    known = catalogue()
    _check_names(known, query)
    ids = [key for key, part in known.parts.items() if _matches(key, part, query)]
    page, after = page_of(ids, query)
    at = Situation(known, NO_CAR)
    return PartsPage(
        catalog=catalog_ref(known), items=tuple(_row(at, key) for key in page), total=len(ids),
        next=after,
    )


@routes.get("/parts/<part>", responses=answers(PartView, 404))
@endpoint
def show_part(path: PartPath, query: NoQuery) -> PartView:
    """Everything known about a part."""
    known = catalogue()
    return part_view(known, listed_part(known, path.part))


def listed_part(known: Catalogue, part: str) -> str:
    """The id of a part that is there. Raises Refused with the nearest id otherwise."""
    if part in known.parts:
        return part
    detail = f"there is no part '{part}'"
    near = nearest_name(part, known.parts)
    hint = f"; did you mean '{near}'?" if near else ""
    raise Refused("unknown_part", detail + hint, [
        WrongField(field="part", message=detail, nearest=near)
    ])


def _check_names(known: Catalogue, query: PartsQuery) -> None:
    places = {place for vehicle in known.vehicles.values() for place in vehicle.places}
    for field, name, names in (("kind", query.kind, set(kinds())), ("place", query.place, places)):
        if name is not None and name not in names:
            raise QuestionError(field, f"there is no {field} '{name}'", nearest_name(name, names))


def _matches(key: str, part: Part, query: PartsQuery) -> bool:
    if query.kind is not None and part.kind != query.kind:
        return False
    if query.place is not None and query.place not in part.takes:
        return False
    text = f"{key} {part.name} {part.maker or ''}".casefold()
    return all(word in text for word in (query.q or "").casefold().split())


def _row(at: Situation, key: str) -> PartRow:
    return PartRow(**_basics(at, key))


def _basics(at: Situation, key: str) -> dict[str, Any]:
    """What a list and a single view of a part have in common."""
    part = at.parts[key]
    return {
        "part": key, "name": part.name, "kind": part.kind, "maker": part.maker,
        "price": f"{part.price.value:.2f}" if part.price else None,
        "pack": float(part.pack.value), "unit": part.pack.unit, "places": part.takes,
        "orderable": at.buyable(key),
    }


def part_view(known: Catalogue, key: str) -> PartView:
    """A part as the API shows it."""
    part, at = known.parts[key], Situation(known, NO_CAR)
    stated = dict(stated_dimensions(part))
    caution = type(part.dimensions).caution
    return PartView(
        catalog=catalog_ref(known), **_basics(at, key), clears=part.clears,
        one_time_use=part.one_time_use, mass=part.mass.value if part.mass else None,
        fitting_minutes=part.fitting_time.value if part.fitting_time else None,
        dimensions=stated,
        not_known=tuple(n for n in type(part.dimensions).model_fields if n not in stated),
        contents=tuple(_contents(known.parts, part)),
        supersedes=part.supersedes, superseded_by=at.successors(key),
        statements=tuple(statements(known, key)),
        cautions=((caution,) if caution else ()) + part.cautions, note=part.note,
    )


def stated_dimensions(part: Part) -> Iterator[tuple[str, str]]:
    """The dimensions that are known, as text."""
    for name in type(part.dimensions).model_fields:
        value = getattr(part.dimensions, name)
        if value is not None:
            yield name, ", ".join(map(str, value)) if isinstance(value, tuple) else str(value)


def _contents(parts: Mapping[str, Part], kit: Part) -> Iterator[ContentView]:
    for inner, amount in kit.contents.items():
        yield ContentView(
            part=inner, name=parts[inner].name, qty=float(amount.value), unit=amount.unit
        )
