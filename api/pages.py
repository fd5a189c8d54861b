"""Lists given page by page, in the order of ids: each page says how to ask for the next."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

from pydantic import Field

from rules.answers import Model


class PageQuery(Model):
    """Which page of a list."""

    limit: int = Field(50, ge=1, le=500, description="at most so many on one page")
    after: str | None = Field(None, max_length=200, description="`next` of the page before")


def page_of(ids: Sequence[str], query: PageQuery) -> tuple[Sequence[str], str | None]:
    """The ids of one page, of ids in order, and what leads to the next; None when there is none."""
    first = bisect_right(ids, query.after) if query.after is not None else 0
    page = ids[first:first + query.limit]
    return page, page[-1] if first + query.limit < len(ids) else None
