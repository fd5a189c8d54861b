"""Packages that were worked out, the last few kept: looking at one kit asks for it many times."""

from __future__ import annotations

from threading import Lock

from cachetools import LRUCache

from api.outcomes import is_final
from kb.catalogue import Catalogue
from rules import answers as a
from rules.resolve import package

MOST_KEPT = 64
KEPT = "api:answering"


class _Kept:
    """The packages of one catalogue; the least asked for goes first."""

    def __init__(self) -> None:
        self._packages: LRUCache[a.Question, a.Package] = LRUCache(MOST_KEPT)
        self._lock = Lock()

    def get(self, question: a.Question) -> a.Package | None:
        with self._lock:
            return self._packages.get(question)

    def keep(self, question: a.Question, answer: a.Package) -> None:
        with self._lock:
            self._packages[question] = answer


def answered(catalogue: Catalogue, question: a.Question) -> a.Package:
    """The package for a question, as `rules.resolve.package` gives and raises.

    The best found when time ran out is not kept: asked again, it may come out better.
    """
    kept = _kept(catalogue)
    answer = kept.get(question)
    if answer is None:
        answer = package(catalogue, question)
        if is_final(answer):
            kept.keep(question, answer)
    return answer


def answered_with_or_without(catalogue: Catalogue, question: a.Question) -> a.Package:
    """The package for a question, whether or not what could be had instead is priced in it."""
    priced = _kept(catalogue).get(question.model_copy(update={"alternatives": True}))
    return priced or answered(catalogue, question.model_copy(update={"alternatives": False}))


def _kept(catalogue: Catalogue) -> _Kept:
    found: _Kept = catalogue.caches.setdefault(KEPT, _Kept())
    return found
