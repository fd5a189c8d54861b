"""The catalogue that answers. A reload swaps one reference; a request takes it once and keeps it.

So an answer, its digest and its entity tag always come from one catalogue, whatever is swapped
meanwhile.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from time import monotonic

from flask import Flask, current_app, request

from api.notice import Refusal
from api.replies import Replies
from kb.catalogue import Catalogue

KEY = "kitwright"
SERVED = "kitwright.served"


@dataclass(frozen=True, slots=True, eq=False)
class Served:
    """A catalogue with what an app made of it: the OpenAPI document as JSON, replies sent.

    `taken` is when, by the clock `monotonic`, which nobody sets.
    """

    catalogue: Catalogue
    document: str
    replies: Replies
    taken: float = field(default_factory=monotonic)


class Current:
    """What answers from now on, and what was refused since it was taken."""

    def __init__(self, served: Served) -> None:
        self.served = served
        self.refused: Refusal | None = None

    def swap(self, served: Served) -> None:
        """Answer from this one from now on; requests in hand keep theirs."""
        self.served, self.refused = served, None


def current_of(app: Flask) -> Current:
    """What an app answers from."""
    found: Current = app.extensions[KEY]
    return found


def served() -> Served:
    """What answers the request at hand: the same from its start to its end."""
    found: Served = request.environ.setdefault(SERVED, current_of(current_app).served)
    return found


def catalogue() -> Catalogue:
    """The catalogue that answers the request at hand."""
    return served().catalogue
