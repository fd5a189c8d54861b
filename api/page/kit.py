"""A package as the page shows it: lines under their titles, each with what can be done to it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from api.page.changes import Changes
from api.text_order import groups_of, in_short, ordered, price_of
from api.text_package import off_together
from rules import answers as a


@dataclass(frozen=True, slots=True)
class Swap:
    """Another part for a line, with the difference it makes to the whole."""

    part: str
    name: str
    difference: str
    href: str


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the order."""

    line: a.Line
    amounts: Sequence[str]
    price: str
    short: Sequence[str]
    swaps: Sequence[Swap]
    cautions: Sequence[int]
    """Numbers in the list of cautions that are about this part and said nowhere above."""
    avoid: str
    """The address under which this part is not wanted; empty beside a pick."""


@dataclass(frozen=True, slots=True)
class Group:
    """Lines that came to be on the order in the same way."""

    title: str
    rows: Sequence[Row]


@dataclass(frozen=True, slots=True)
class Off:
    """A stock part that comes off, in one or several places."""

    part: str
    name: str
    where: str
    qty: int
    because: Sequence[a.Link]
    keep: str
    """The address under which it stays."""
    beside: a.Beside | None


@dataclass
class Kit:
    """A package with the addresses that change it."""

    answer: a.Package
    changes: Changes
    _cautioned: set[int] = field(default_factory=set)

    @cached_property
    def names(self) -> dict[str, str]:
        """The name of each part and work step of the package."""
        return {
            **{line.part: line.name for line in self.answer.lines},
            **{work.step: work.name for work in self.answer.work},
        }

    @cached_property
    def groups(self) -> list[Group]:
        """The lines of the order under their titles."""
        return [
            Group(title, [self._row(line) for line in lines])
            for title, lines in groups_of(self.answer.lines, self.names)
        ]

    @property
    def kept(self) -> list[a.Line]:
        """The stock parts that stay and are relied upon."""
        return [line for line in self.answer.lines if line.status == "kept"]

    @cached_property
    def off(self) -> list[Off]:
        """The stock parts that come off."""
        return [self._off(places) for places in off_together(self.answer.comes_off)]

    def _off(self, places: Sequence[a.ComesOff]) -> Off:
        first, names = places[0], [each.place for each in places]
        beside = (
            pair for pair in self.answer.beside
            if pair.old == first.part and pair.rows and set(names).intersection(pair.places)
        )
        return Off(
            part=first.part, name=first.name, where=", ".join(each.place_name for each in places),
            qty=sum(each.count for each in places), because=first.because,
            keep=self.changes.keeping(names), beside=next(beside, None),
        )

    def cautions_of(self, key: str) -> list[int]:
        """The numbers of the cautions about a part or step that no line above has said."""
        numbers = [
            i for i, caution in enumerate(self.answer.cautions, 1)
            if key in caution.about and i not in self._cautioned
        ]
        self._cautioned.update(numbers)
        return numbers

    def _row(self, line: a.Line) -> Row:
        picked = line.status == "picked"
        return Row(
            line=line, amounts=ordered(line), price=price_of(line),
            short=in_short(line, self.answer.lines), swaps=list(self._swaps(line)),
            cautions=self.cautions_of(line.part),
            avoid="" if picked else self.changes.avoiding(line.part),
        )

    def _swaps(self, line: a.Line) -> Iterator[Swap]:
        for instead in line.instead:
            yield Swap(
                instead.part, instead.name, _said(instead.difference),
                self.changes.picking(instead.part),
            )


def _said(difference: str | None) -> str:
    if difference is None:
        return "difference not worked out"
    return "same total" if float(difference) == 0 else difference
