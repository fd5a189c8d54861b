"""GET /v1/search: parts by what people call them, each with its verdict on one car."""

from __future__ import annotations

from collections.abc import Sequence

from pydantic import Field

from api.current import catalogue
from api.document import ANSWERS, answers, blueprint
from api.endpoint import endpoint
from api.routes_questions import PackageQuery, fields_as_in_address, question_of
from api.searching import found_parts, rank, respelt
from kb.baseline import find_baseline
from kb.catalogue import Catalogue
from kb.errors import QuestionError, nearest_name
from rules.answers import Hit, Hits, Question
from rules.checking import FitVerdict
from rules.hits import hits

BEST_FIRST: Sequence[FitVerdict] = ("fits", "fits_with_work", "not_known", "does_not_fit")


class Found(Hits):
    """One page of the parts found: the likeliest first, of those what goes on the car."""

    meant: str = Field(description="the text taken where no part has the words; empty: as asked")
    total: int = Field(description="parts found, on all pages")
    next: int | None = Field(description="give it as `skip` for the next page; None: no more")


class Look(PackageQuery):
    """What is looked for, beside the question it is to go with."""

    find: str = Field("", max_length=200, description="words in name, id, maker, place or size")
    place: str | None = Field(None, max_length=200, description="only what goes in this place")
    skip: int = Field(0, ge=0, le=1_000_000, description="parts to pass over")
    limit: int = Field(20, ge=1, le=50, description="at most so many on one page")


routes = blueprint("search", ANSWERS, "/v1")


@routes.get("/search", responses=answers(Found, 503))
@endpoint
def search_for_parts(query: Look) -> Found:
    """Parts by name, id, maker, place or size, and whether each goes with the question."""
    with fields_as_in_address():
        return found(catalogue(), question_of(catalogue(), query), query)


def found(known: Catalogue, question: Question, look: Look) -> Found:
    """The parts found for a question, with their verdicts. Raises as `rules.hits.hits` does."""
    car = find_baseline(known, question.vehicle, question.year, question.variant)
    if look.place is not None and look.place not in car.places:
        raise QuestionError(
            "place", f"this car has no place '{look.place}'", nearest_name(look.place, car.places)
        )
    parts, meant = found_parts(known, car, look.find, look.place), ""
    if not parts and (near := respelt(known, look.find)) != look.find.casefold():
        parts, meant = found_parts(known, car, near, look.place), near
    end = look.skip + look.limit
    judged = hits(known, question, parts[look.skip:end])

    def likeliest(hit: Hit) -> tuple[int, int]:
        part = hit.ref.part
        near = rank(part, known.parts[part], meant or look.find)
        return near, BEST_FIRST.index(hit.verdict)

    return Found(
        **dict(judged) | {"items": tuple(sorted(judged.items, key=likeliest))},
        meant=meant, total=len(parts), next=end if end < len(parts) else None,
    )
