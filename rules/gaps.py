"""What a builder has beside what the build takes: missing, short, too much, wrong, in conflict.

It stands on `rules.resolve.package`: what is there is on hand, and the least package that uses it
says what is still needed. Nothing that a check or a statement rules out counts as there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from functools import cached_property
from time import monotonic

from kb.baseline import find_baseline
from kb.catalogue import Catalogue
from kb.errors import OutOfTime, QuestionError
from kb.stages import STAGES, Stage
from rules import answers as a
from rules.clashes import smallest_clashes
from rules.cone import Cone
from rules.gaps_list import read_list
from rules.gaps_models import (
    Gaps,
    GapsQuestion,
    InConflict,
    Lacking,
    StageGaps,
    Surplus,
    Verdict,
    Wrong,
)
from rules.naming import baseline_ref, catalog_ref, clash_of, part_ref
from rules.operations import Operations
from rules.reasons import Reasons
from rules.resolve import package
from rules.sat import Sat
from rules.situation import situation_of

NOTHING_TO_BUILD = (
    "nothing on the list takes a place on this car; say what is to be built, as picks"
)
CLASHES = 4
"""So many clashes are looked at for the shortest."""


def gaps(catalogue: Catalogue, question: GapsQuestion) -> Gaps:
    """What is missing for a build, and what of the list is of no use to it.

    Raises QuestionError for a car or a pick that is not there, or when nothing says what to build;
    OutOfTime past the deadline; FaultyAnswer when the package fails its re-check.
    """
    return _Survey(catalogue, question).answer()


class _Survey:
    def __init__(self, catalogue: Catalogue, question: GapsQuestion) -> None:
        self.catalogue, self.question = catalogue, question
        self.ends = monotonic() + question.deadline
        car = find_baseline(catalogue, question.vehicle, question.year, question.variant)
        self.at = situation_of(catalogue, car)
        self.read = read_list(self.at, question)
        self.wrong = {wrong.part: wrong for wrong in self._wrong()}
        self.conflicts: list[InConflict] = []
        self.picks = question.picks or tuple(self._from_list())

    def answer(self) -> Gaps:
        """The whole answer."""
        if not self.picks and not self.conflicts:
            raise QuestionError("picks", NOTHING_TO_BUILD)
        there = tuple(a.Item(part=part, qty=float(amount)) for part, amount in self.there.items())
        asked = self.question.question(self.picks, there)
        found = package(self.catalogue, asked.model_copy(update={"deadline": self._left()}))
        surplus = list(self._surplus(found)) if found.outcome != "impossible" else []
        stages = tuple(self._stages(found)) if found.outcome != "impossible" else ()
        return Gaps(
            catalog=catalog_ref(self.catalogue), baseline=baseline_ref(self.at.baseline),
            outcome=self._outcome(found, stages),
            notes=(*self.read.notes, *found.notes), from_list=not self.question.picks,
            building=tuple(
                part_ref(self.at, pick.part, None if pick.qty is None else Fraction(str(pick.qty)))
                for pick in self.picks
            ),
            stages=stages, surplus=tuple(surplus), wrong=tuple(self.wrong.values()),
            conflicts=tuple(self.conflicts), unread=tuple(self.read.unread),
            measure_first=found.measure_first,
            parts_price=found.totals.parts if found.totals else None,
            clashes=found.clashes, ways_out=found.ways_out, proof=found.proof,
        )

    def _outcome(self, found: a.Package, stages: Iterable[StageGaps]) -> Verdict:
        if found.outcome == "impossible":
            return "impossible"
        if not all(stage.ready for stage in stages) or (
            self.wrong or self.conflicts or self.read.unread
        ):
            return "gaps"
        return "ready_once_measured" if found.measure_first else "ready"

    def _left(self) -> float:
        """Seconds left. Raises OutOfTime when there are none."""
        left = self.ends - monotonic()
        if left <= 0:
            raise OutOfTime("the list is too long for the time given")
        return left

    # -- what of the list counts as there ---------------------------------------------------------

    @property
    def there(self) -> Mapping[str, Fraction]:
        """What is on hand and goes on this car."""
        return {p: amount for p, amount in self.read.amounts.items() if p not in self.wrong}

    def _wrong(self) -> Iterator[Wrong]:
        """Parts that no package on this car can hold, with the smallest reason."""
        for part in self.read.amounts:
            stated = self.at.parts[part]
            why = self.at.refusal(part)
            clash = None
            if not why and not stated.contents and part not in self.at.stock_places:
                clash = self._clash(part, {})
                why = "it is at odds with this car" if clash else ""
            if why:
                yield Wrong(
                    part=part, name=stated.name, rows=self.read.rows[part], because=why,
                    clash=clash,
                )

    def _own(self, part: str) -> Fraction:
        return Fraction(max(self.at.units(part), 1))

    def _clash(self, part: str, beside: Mapping[str, Fraction]) -> a.Clash | None:
        """Why a part cannot be on the car beside others, in few words; None when it can.

        Everything on the list counts as there, so that what is out of sale stays possible.
        """
        reasons = Reasons(self.at)
        if rival := self._rival(part, beside):
            return clash_of([reasons.pick(rival[0]), reasons.place(rival[1])])
        on_hand = {**self.read.amounts, **self._unpacked}
        cone = Cone(self.at, {**beside, part: self._own(part)}, on_hand)
        with Sat(cone.problem, reasons, self._left()) as sat:
            if sat.solve():
                return None
        found = min(smallest_clashes(cone.problem, reasons, CLASHES, self._left()), key=len)
        return clash_of(reason for reason in found if reason.key != reasons.pick(part).key)

    def _rival(self, part: str, beside: Iterable[str]) -> tuple[str, str] | None:
        """Another part that takes the same place, and that place."""
        for other in beside:
            for place in self.at.parts[part].takes:
                if other != part and place in self.at.parts[other].takes:
                    return other, place
        return None

    @cached_property
    def _unpacked(self) -> dict[str, Fraction]:
        """What is there of each part that a kit of the list holds, kits and singles together."""
        found: dict[str, Fraction] = {}
        for kit, count in self.read.amounts.items():
            for inner, amount in self.at.unpacked(kit).items():
                known = found.get(inner, self.read.amounts.get(inner, Fraction(0)))
                found[inner] = known + count * amount
        return found

    # -- what is to be built ----------------------------------------------------------------------

    def _from_list(self) -> Iterator[a.Item]:
        """The parts of the list that take places, as far as they go together, in its order."""
        together: dict[str, Fraction] = {}
        for part in self.read.amounts:
            if self._is_pick(part):
                if clash := self._clash(part, together):
                    self._note_conflict(part, clash)
                else:
                    together[part] = self._own(part)
        yield from (a.Item(part=part) for part in together)

    def _is_pick(self, part: str) -> bool:
        return (
            part not in self.wrong and part not in self.at.stock_places
            and bool(self.at.parts[part].takes)
        )

    def _note_conflict(self, part: str, clash: a.Clash) -> None:
        self.conflicts.append(InConflict(
            part=part, name=self.at.name(part), rows=self.read.rows[part], clash=clash
        ))

    # -- what is left over ------------------------------------------------------------------------

    def _surplus(self, found: a.Package) -> Iterator[Surplus]:
        """What the build leaves over; what it cannot stand beside is noted as a conflict."""
        left = {item.part: Fraction(str(item.qty or 0)) for item in found.unused}
        used = {part: self._total(part) - amount for part, amount in left.items()}
        told = {conflict.part for conflict in self.conflicts}
        picks = {x.part: self._own(x.part) for x in found.lines if x.status == "picked"}
        for kit in [part for part in left if self.at.parts[part].contents]:
            self._settle_kit(kit, left)
        for part, amount in left.items():
            if part in told or not amount:
                continue
            if used[part]:
                yield self._left_over(part, amount, "more than this build takes")
            elif clash := self._at_odds(part, picks):
                self._note_conflict(part, clash)
            else:
                yield self._left_over(part, amount, "this build does not use it")

    def _left_over(self, part: str, amount: Fraction, because: str) -> Surplus:
        stated = self.at.parts[part]
        return Surplus(
            part=part, name=stated.name, qty=float(amount), unit=stated.pack.unit, because=because
        )

    def _total(self, part: str) -> Fraction:
        return self._unpacked.get(part, self.read.amounts.get(part, Fraction(0)))

    def _settle_kit(self, kit: str, left: dict[str, Fraction]) -> None:
        """A kit is left over as a whole, or it was opened and only some of its parts are."""
        inside = {
            inner: amount * self.read.amounts.get(kit, Fraction(0))
            for inner, amount in self.at.unpacked(kit).items()
        }
        whole = all(left.get(inner, Fraction(0)) >= amount for inner, amount in inside.items())
        if kit in self.read.amounts and whole:
            for inner, amount in inside.items():
                left[inner] -= amount
        else:
            left[kit] = Fraction(0)

    def _at_odds(self, part: str, picks: Mapping[str, Fraction]) -> a.Clash | None:
        """Why a part of the list cannot be on the car beside what is to be built; None: it can.

        What only came out of a kit was not chosen for this car, and is merely left over.
        """
        if part in picks or part in self.at.stock_places or part not in self.read.rows:
            return None
        if self.at.parts[part].contents:
            return None
        return self._clash(part, picks)

    # -- what is lacking --------------------------------------------------------------------------

    def _stages(self, found: a.Package) -> Iterator[StageGaps]:
        jobs = Operations(self.catalogue, self.at, found).jobs.values()
        at_work: dict[str, Stage] = {
            key: job.stage for job in jobs if job.sort != "take_off"
            for key in (job.key, *(line.part for line in job.lines))
        }
        lacking = [
            (at_work[line.part], self._lacking(line)) for line in found.lines
            if line.qty > line.on_hand and line.part in at_work and line.status != "kept"
            and not self.at.parts[line.part].contents
        ]
        for stage in STAGES:
            if any(job.stage == stage for job in jobs):
                here = [lack for where, lack in lacking if where == stage]
                yield StageGaps(
                    stage=stage,
                    missing=tuple(lack for lack in here if not lack.have),
                    short=tuple(lack for lack in here if lack.have),
                )

    def _lacking(self, line: a.Line) -> Lacking:
        because = line.because[-1].text if line.because else ""
        why = next((serving.why for serving in line.serves if serving.why), because)
        return Lacking(
            part=line.part, name=line.name, kind=line.kind, need=line.qty, have=line.on_hand,
            short=round(line.qty - line.on_hand, 6), unit=line.unit, because=why,
            in_kit=line.in_kit, packs=line.packs, price=line.price,
        )
