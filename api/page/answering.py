"""Answers for the page, the last few kept: looking at one kit asks for it many times."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from kb.catalogue import Catalogue
from rules import answers as a
from rules.resolve import package

MOST_KEPT = 64
KEPT = "page:answers"


class _BestSoFar(Exception):
    """An answer not proven least, which is not kept: asked again, it may come out better."""

    def __init__(self, answer: a.Package) -> None:
        self.answer = answer
        super().__init__("not proven least")


def answered(catalogue: Catalogue, question: a.Question) -> a.Package:
    """The package for a question, as `rules.resolve.package` gives and raises."""
    try:
        found: a.Package = _kept(catalogue)(question)
    except _BestSoFar as best:
        return best.answer
    return found


def _kept(catalogue: Catalogue) -> Any:
    if KEPT not in catalogue.caches:
        @lru_cache(MOST_KEPT)
        def proven(question: a.Question) -> a.Package:
            answer = package(catalogue, question)
            if answer.proof is not None and not answer.proof.least:
                raise _BestSoFar(answer)
            return answer

        catalogue.caches[KEPT] = proven
    return catalogue.caches[KEPT]
