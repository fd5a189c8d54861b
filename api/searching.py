"""Looks for parts by what people say: name, id, maker, kind, place or size."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rapidfuzz import fuzz, process

from api.routes_parts import stated_dimensions
from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.entries import Part
from rules.asking import current
from rules.situation import situation_of

KEPT, WORDS = "api:searching", "api:searching words"
ALIKE = 70.0
"""Likeness of 100 below which one word is not taken for another."""


def found_parts(
    catalogue: Catalogue, car: Baseline, text: str, place: str | None = None
) -> list[str]:
    """The parts for sale in which all words of a text occur, the likeliest first.

    With `place`, only those that go in it or clear it. Parts of other cars come last: somebody may
    have asked for one of them.
    """
    at, words = situation_of(catalogue, car), text.casefold().split()
    texts = _texts(catalogue)
    meant = dict.fromkeys(
        current(at, key) for key, part in catalogue.parts.items()
        if (place is None or place in part.takes or place in part.clears)
        and all(_occurs(word, texts[key]) for word in words)
    )
    return sorted(
        (key for key in meant if at.buyable(key)),
        key=lambda key: (
            bool(at.refusal(key)), rank(key, catalogue.parts[key], text), at.name(key), key,
        ),
    )


def respelt(catalogue: Catalogue, text: str) -> str:
    """A text with each word that no part has replaced by the nearest that some part has."""
    texts, known = _texts(catalogue).values(), _words(catalogue)
    return " ".join(
        word if any(_occurs(word, said) for said in texts) else _nearest(word, known)
        for word in text.casefold().split()
    )


def _words(catalogue: Catalogue) -> frozenset[str]:
    """Every word that some part is found by, worked out once."""
    if WORDS not in catalogue.caches:
        catalogue.caches[WORDS] = frozenset(
            word for said in _texts(catalogue).values() for word in said.split()
        )
    words: frozenset[str] = catalogue.caches[WORDS]
    return words


def _nearest(word: str, known: Iterable[str]) -> str:
    found = process.extractOne(word, known, scorer=fuzz.ratio, score_cutoff=ALIKE)
    return found[0] if found else word


def _occurs(word: str, text: str) -> bool:
    """Whether a text has a word; of several things, one will do."""
    return word in text or (word.endswith("s") and word[:-1] in text)


def rank(key: str, part: Part, text: str) -> int:
    """How near a part is to a text: the very part, one of that kind, one called so, others."""
    wanted, name = " ".join(text.casefold().split()), part.name.casefold()
    kind = part.kind.replace("-", " ")
    if wanted in (key.casefold(), name):
        return 0
    if wanted in (kind, f"{kind}s"):
        return 1
    return 2 if all(word in f"{name} {key.casefold()}" for word in wanted.split()) else 3


def _texts(catalogue: Catalogue) -> dict[str, str]:
    """What each part is found by, in small letters, worked out once."""
    if KEPT not in catalogue.caches:
        catalogue.caches[KEPT] = {
            key: " ".join(_said(key, part)).casefold() for key, part in catalogue.parts.items()
        }
    texts: dict[str, str] = catalogue.caches[KEPT]
    return texts


def _said(key: str, part: Part) -> Iterator[str]:
    yield from (key, part.name, part.maker or "", part.kind, *part.takes)
    yield from _spaced((part.kind, *part.takes))
    yield from (value for _, value in stated_dimensions(part))


def _spaced(codes: Iterable[str]) -> Iterator[str]:
    for code in codes:
        yield code.replace("-", " ")
