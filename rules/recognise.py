"""Which part a line of somebody's list means. An id or a name is taken as it stands; anything else
is a question to the builder, with the nearest parts offered. Nothing is ever guessed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import NamedTuple

from rapidfuzz import fuzz, process, utils

from rules.gaps_models import Near
from rules.situation import Situation

ALIKE = 60.0
"""Likeness below which a part is not worth offering."""
OFFERED = 3


class Recognised(NamedTuple):
    """The part a text names; empty when it names none, or several."""

    part: str
    several: tuple[str, ...] = ()


class Recogniser:
    """Reads texts against the parts of a catalogue, as they stand to one car."""

    def __init__(self, at: Situation) -> None:
        self.at = at

    def read(self, text: str) -> Recognised:
        """The part that a text names by its id or by its whole name, in capitals or not."""
        if text in self.at.parts:
            return Recognised(text)
        found = self._named.get(_plain(text), ())
        return Recognised(found[0]) if len(found) == 1 else Recognised("", found)

    def nearest(self, text: str, among: Iterable[str] = ()) -> tuple[Near, ...]:
        """The parts most like a text, best first; those of other cars are not offered."""
        told = {key: self._told[key] for key in among} or self._told
        found = process.extract(
            text, told, scorer=fuzz.token_set_ratio, processor=utils.default_process,
            score_cutoff=0.0 if among else ALIKE, limit=4 * OFFERED,
        )
        ranked = sorted(
            (-round(score, 1), -fuzz.token_sort_ratio(text.lower(), said.lower()), key)
            for said, score, key in found
        )
        return tuple(
            Near(part=key, name=self.at.name(key), likeness=-score)
            for score, _, key in ranked[:OFFERED]
        )

    @cached_property
    def _named(self) -> dict[str, tuple[str, ...]]:
        """Ids and names without regard to capitals and blanks, with all parts so called."""
        found: dict[str, tuple[str, ...]] = {}
        for key in self.at.parts:
            for name in dict.fromkeys(_plain(said) for said in self._names(key)):
                found[name] = (*found.get(name, ()), key)
        return found

    def _names(self, key: str) -> Iterator[str]:
        part = self.at.parts[key]
        yield from (key, part.name)
        if part.maker:
            yield from (f"{part.maker} {part.name}", f"{part.name} {part.maker}")
            yield f"{part.name}, {part.maker}"

    @cached_property
    def _told(self) -> dict[str, str]:
        """The texts that a loose description is held against."""
        return {
            key: f"{part.name} {part.maker or ''} {key.replace('-', ' ')}"
            for key, part in self.at.parts.items() if not self.at.refusal(key)
        }


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())
