"""Looks for parts by what people say: name, id, maker, kind, place or size."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from api.routes_parts import stated_dimensions
from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.entries import Part
from rules.asking import current
from rules.situation import situation_of

KEPT = "api:searching"


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
        and all(word in texts[key] for word in words)
    )
    return sorted(
        (key for key in meant if at.buyable(key)),
        key=lambda key: (bool(at.refusal(key)), _rank(key, at.name(key), text), at.name(key), key),
    )


def _rank(key: str, name: str, text: str) -> int:
    """How near a part is to a text: 0 is the very part."""
    wanted, name = " ".join(text.casefold().split()), name.casefold()
    if wanted in (key.casefold(), name):
        return 0
    if name.startswith(wanted):
        return 1
    return 2 if all(word in f"{name} {key}" for word in wanted.split()) else 3


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
