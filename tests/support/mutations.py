"""Every way to spoil a package a little, with the tracks covered.

After each change the prices, the totals and what comes off the car are put right again, so that
only a re-check that understands the package can tell.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from math import ceil
from typing import Any

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from rules import answers as a

CENT = Decimal("0.01")


@dataclass(frozen=True)
class Mutant:
    """A spoiled package and what was done to it."""

    what: str
    package: a.Package

    @property
    def new(self) -> frozenset[str]:
        """The parts it adds."""
        return frozenset(line.part for line in self.package.lines if line.status != "kept")

    @property
    def steps(self) -> frozenset[str]:
        """The work it does."""
        return frozenset(work.step for work in self.package.work)


@dataclass(frozen=True)
class Spoiler:
    """Spoils one package."""

    catalogue: Catalogue
    car: Baseline
    good: a.Package

    # -- leaving out ----------------------------------------------------------------------------

    def dropped_lines(self) -> Iterator[Mutant]:
        """One part too few."""
        for gone in self.good.lines:
            if gone.status != "kept":
                yield self._with(f"without {gone.part}", [li for li in self._lines if li != gone])

    def dropped_kept_lines(self) -> Iterator[Mutant]:
        """A stock part that is relied on is not said."""
        for gone in self.good.lines:
            if gone.status == "kept":
                yield self._with(f"unsaid {gone.part}", [li for li in self._lines if li != gone])

    def dropped_work(self) -> Iterator[Mutant]:
        """One work step too few."""
        for gone in self.good.work:
            left = tuple(work for work in self.good.work if work != gone)
            yield self._with(f"without the work {gone.step}", self._lines, work=left)

    def dropped_reasons(self) -> Iterator[Mutant]:
        """A line that no longer says why it is there."""
        for line in self.good.lines:
            yield self._with(f"no reason for {line.part}", self._changed(line, because=()))

    def dropped_cautions(self) -> Iterator[Mutant]:
        """Only the caution that every package has is left."""
        if len(self.good.cautions) > 1:
            kept = self.good.cautions[:1]
            yield Mutant("cautions lost", self.good.model_copy(update={"cautions": kept}))

    # -- other amounts --------------------------------------------------------------------------

    def fewer(self) -> Iterator[Mutant]:
        """One unit too few, bought and paid for accordingly."""
        for line in self._lines:
            if line.status != "kept" and line.qty > 1:
                yield self._with(f"one {line.part} fewer", self._amount(line, -1))

    def more_than_supplied(self) -> Iterator[Mutant]:
        """A line says a unit more than is bought or on hand."""
        inside = {key for line in self._lines for key in self._unpacked(line.part)}
        for line in self._lines:
            if line.status != "kept" and line.part not in inside:
                changed = self._changed(line, qty=line.qty + 1)
                yield self._with(f"one {line.part} more, bought by nobody", changed)

    def more(self) -> Iterator[Mutant]:
        """One unit too many, bought and paid for accordingly."""
        for line in self._lines:
            if line.status != "kept" and not self.catalogue.parts[line.part].contents:
                yield self._with(f"one {line.part} more", self._amount(line, 1))

    def _amount(self, line: a.Line, change: int) -> Sequence[a.Line]:
        bought = max(line.bought + change, 0)
        packs = ceil(Fraction(str(bought)) / Fraction(str(line.pack)))
        return self._changed(
            line, qty=line.qty + change, on_hand=min(line.on_hand, line.qty + change),
            bought=bought, packs=packs, spare=packs * line.pack - bought,
        )

    # -- other parts ----------------------------------------------------------------------------

    def swapped(self) -> Iterator[Mutant]:
        """Another part in a line, described and priced as that other part."""
        there = {line.part for line in self.good.lines}
        for line in self._lines:
            for other in self.catalogue.parts:
                if line.status != "kept" and other not in there:
                    lines = [self._as(line, other) if li == line else li for li in self._lines]
                    yield self._with(f"{other} for {line.part}", lines)

    def added(self) -> Iterator[Mutant]:
        """A part more, on whatever line there is as its pattern."""
        there = {line.part for line in self.good.lines}
        pattern = next((line for line in self._lines if line.status != "kept"), None)
        for other in self.catalogue.parts if pattern else ():
            if other not in there and pattern:
                yield self._with(f"{other} as well", [*self._lines, self._as(pattern, other)])

    def renamed(self) -> Iterator[Mutant]:
        """Another part in a line that keeps all else it said."""
        for line in self._lines:
            other = next(key for key in self.catalogue.parts if key != line.part)
            yield self._with(f"{other} named for {line.part}", self._changed(line, part=other))

    def _as(self, line: a.Line, other: str) -> a.Line:
        part = self.catalogue.parts[other]
        places = [self.car.places[p].count for p in part.takes if p in self.car.places]
        qty = Fraction(max(sum(places), 1)) if not part.pack.unit else part.pack.value
        packs = ceil(qty / part.pack.value)
        return line.model_copy(update={
            "part": other, "name": part.name, "kind": part.kind, "unit": part.pack.unit,
            "pack": float(part.pack.value), "packs": packs, "qty": float(qty),
            "bought": float(qty), "on_hand": 0.0, "in_kit": None,
            "spare": float(packs * part.pack.value - qty),
        })

    # -- sums and places ------------------------------------------------------------------------

    def false_sums(self) -> Iterator[Mutant]:
        """A sum that is a cent off, on one line or in the totals."""
        totals = self.good.totals
        assert totals is not None
        for name in ("parts", "labour", "price"):
            wrong = str(Decimal(getattr(totals, name)) + CENT)
            changed = totals.model_copy(update={name: wrong})
            yield Mutant(f"total {name}", self.good.model_copy(update={"totals": changed}))
        for line in self._lines:
            if line.price is not None and line.status != "kept":
                lines = self._changed(line, price=str(Decimal(line.price) + CENT))
                yield Mutant(f"price of {line.part}",
                             self.good.model_copy(update={"lines": tuple(lines)}))

    def put_back(self) -> Iterator[Mutant]:
        """A stock part stays although something else takes its place."""
        for gone in self.good.comes_off:
            left = tuple(off for off in self.good.comes_off if off != gone)
            yield Mutant(f"{gone.part} back", self.good.model_copy(update={"comes_off": left}))

    # -- putting right what follows from a change -----------------------------------------------

    @property
    def _lines(self) -> Sequence[a.Line]:
        return self.good.lines

    def _changed(self, line: a.Line, **values: Any) -> Sequence[a.Line]:
        changed = line.model_copy(update=values)
        return [changed if li == line else li for li in self._lines]

    def _with(
        self, what: str, lines: Sequence[a.Line], work: tuple[a.WorkLine, ...] | None = None
    ) -> Mutant:
        lines = [self._priced(line) for line in lines]
        done = self.good.work if work is None else work
        return Mutant(what, self.good.model_copy(update={
            "lines": tuple(lines), "work": done, "comes_off": self._off(lines),
            "totals": self._totals(lines, done), "cautions": self._cautions(lines, done),
        }))

    def _unpacked(self, kit: str) -> set[str]:
        contents = self.catalogue.parts[kit].contents
        return {*contents, *(deeper for inner in contents for deeper in self._unpacked(inner))}

    def _priced(self, line: a.Line) -> a.Line:
        price = self.catalogue.parts[line.part].price
        text = str((price.value * line.packs).quantize(CENT)) if price else None
        return line.model_copy(update={"price": text if line.packs else "0.00"})

    def _off(self, lines: Sequence[a.Line]) -> tuple[a.ComesOff, ...]:
        new = [self.catalogue.parts[line.part] for line in lines if line.status != "kept"]
        taken = {place for part in new for place in (*part.takes, *part.clears)}
        known: Mapping[str, a.ComesOff] = {gone.place: gone for gone in self.good.comes_off}
        because = next((gone.because for gone in self.good.comes_off), lines[0].because) \
            if lines else ()
        return tuple(
            known.get(place) or a.ComesOff(
                part=part, name=self.catalogue.parts[part].name, place=place, place_name=place,
                count=self.car.places[place].count, because=because,
            )
            for place, part in sorted(self.car.fitted.items()) if place in taken
        )

    def _totals(self, lines: Sequence[a.Line], work: Sequence[a.WorkLine]) -> a.Totals:
        minutes = [self.catalogue.work[done.step].minutes.value for done in work]
        for line in lines:
            part = self.catalogue.parts[line.part]
            if line.status != "kept" and part.fitting_time:
                places = [self.car.places[p].count for p in part.takes if p in self.car.places]
                minutes.append(part.fitting_time.value * max(sum(places), 1))
        rate = self.catalogue.header.labour_rate
        assert rate is not None
        labour = sum(
            ((Decimal(str(m)) * rate.value / 60).quantize(CENT, ROUND_HALF_UP) for m in minutes),
            Decimal(0),
        )
        parts = sum((Decimal(line.price or 0) for line in lines), Decimal(0))
        assert self.good.totals is not None
        return self.good.totals.model_copy(update={
            "parts": str(parts), "labour": str(labour), "price": str(parts + labour),
            "minutes": round(sum(minutes), 1),
        })

    def _cautions(
        self, lines: Sequence[a.Line], work: Sequence[a.WorkLine]
    ) -> tuple[a.Caution, ...]:
        parts = [self.catalogue.parts[line.part] for line in lines]
        texts = {text for part in parts for text in part.cautions}
        texts |= {kind for part in parts if (kind := type(part.dimensions).caution)}
        texts |= {text for done in work for text in self.catalogue.work[done.step].cautions}
        more = sorted(texts - {caution.text for caution in self.good.cautions})
        return (*self.good.cautions, *(a.Caution(text=text, about=()) for text in more))
