"""What changes for people between two catalogues: packages, not texts.

Asked in both: every part that can be ordered, by itself, on every car, and every remembered kit.
Cars that are alike in both catalogues are asked once, and a problem that was solved before, on
another car or in the other catalogue, is not solved again. Only answers that are not the same are
re-checked and put into words. Many questions are shared out to all processors.
"""

from __future__ import annotations

import gc
import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from multiprocessing import get_context
from typing import Literal

from pydantic import Field

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.collection import no_collection
from kb.entries import Part
from rules import answers as a
from rules.alike import Cars, alike, said
from rules.answers import CatalogRef, Model
from rules.audit_kits import question_of
from rules.compare_answers import Answers, Brief
from rules.compare_reads import altered
from rules.naming import catalog_ref
from rules.sameness import Solved

What = Literal[
    "impossible", "possible", "dearer", "cheaper", "other_lines", "to_measure", "measured",
]
ORDER: tuple[What, ...] = (
    "impossible", "possible", "dearer", "cheaper", "to_measure", "measured", "other_lines",
)
Progress = Callable[[int, int], None]
"""Told how many parts and kits are done, of how many."""

FEW = 600
"""Questions that are answered sooner than other processes have started."""


class Change(Model):
    """One question whose answer is another."""

    what: tuple[What, ...]
    picks: tuple[str, ...]
    names: tuple[str, ...]
    kit: str | None = Field(description="the remembered kit it is")
    cars: str = Field(description="where the change is the same")
    before: str | None = Field(description="price of the whole package")
    after: str | None = Field(description="price of the whole package")
    gained: tuple[str, ...] = Field(description="lines, as part or part with amount")
    lost: tuple[str, ...] = Field(description="lines, as part or part with amount")
    because: tuple[str, ...] = Field(description="altered entries it reads; why it is impossible")


class Comparison(Model):
    """What changes for people from one catalogue to the next."""

    old: CatalogRef
    new: CatalogRef
    altered: tuple[str, ...] = Field(description="entries that are not the same, and how")
    questions: int = Field(description="how many there are, cars that are alike counted once")
    asked_again: int = Field(description="of these, the ones whose problem is not the same")
    changes: tuple[Change, ...]

    @property
    def worse(self) -> bool:
        """Whether a package became impossible, or a remembered kit is not what it was."""
        return any("impossible" in change.what for change in self.changes)


@dataclass(frozen=True)
class _Found:
    """What came of the questions about one part, or of one kit."""

    questions: int
    again: int
    changes: tuple[Change, ...]


def compare(
    old: Catalogue, new: Catalogue, progress: Progress = lambda done, of: None,
    *, newest: bool = False, deadline: float = 10.0, processes: int | None = None,
) -> Comparison:
    """Every question whose answer is another in the new catalogue, with the reason.

    `newest`: only the newest car of each variant, which is quicker. `processes`: how many share
    the work; as many as there are processors where it is worth it. Raises OutOfTime when a
    question takes longer than `deadline` seconds, FaultyAnswer when a package fails its re-check.
    """
    both = _Both(old, new, newest, deadline)
    found: list[_Found] = []
    if both.what.entries or both.what.whole or old.kits != new.kits:
        jobs = both.jobs
        for done, one in enumerate(_shared_out(both, jobs, processes)):
            progress(done, len(jobs))
            found.append(one)
    return Comparison(
        old=catalog_ref(old), new=catalog_ref(new),
        questions=sum(one.questions for one in found), asked_again=sum(one.again for one in found),
        altered=tuple(both.what.all_said()),
        changes=tuple(sorted(
            (change for one in found for change in one.changes),
            key=lambda c: (ORDER.index(c.what[0]), c.kit or "~", c.picks, c.cars, c.before or ""),
        )),
    )


# -- sharing the work out -------------------------------------------------------------------------

Job = tuple[Literal["part", "kit"], str]


def _shared_out(both: _Both, jobs: Sequence[Job], processes: int | None) -> Iterator[_Found]:
    """What comes of every job, in any order."""
    if processes is None:
        worth = len(jobs) * len(both.groups) > FEW
        processes = (os.cpu_count() or 1) if worth else 1
    if processes == 1:
        with no_collection():
            yield from map(both.found, jobs)
        return
    pool = ProcessPoolExecutor(
        processes, get_context("spawn"), _start, (both.old.catalogue, both.new.catalogue,
                                                  both.newest, both.old.deadline),
    )
    with pool:
        try:
            for done in as_completed([pool.submit(_work, job) for job in jobs]):
                yield done.result()
        finally:
            pool.shutdown(cancel_futures=True)


_mine: list[_Both] = []
"""What this process works with, when it was started to share the work."""


def _start(old: Catalogue, new: Catalogue, newest: bool, deadline: float) -> None:
    _mine[:] = [_Both(old, new, newest, deadline)]
    gc.disable()


def _work(job: Job) -> _Found:
    found = _mine[0].found(job)
    gc.collect()  # between jobs, and only what this one left: not what is kept for the next
    gc.freeze()
    return found


# -- the questions --------------------------------------------------------------------------------


class _Both:
    """Two catalogues, side by side."""

    def __init__(self, old: Catalogue, new: Catalogue, newest: bool, deadline: float) -> None:
        self.old, self.new = Answers(old, deadline), Answers(new, deadline)
        self.newest = newest
        self.what = altered(old, new)

    @property
    def jobs(self) -> list[Job]:
        """Every part and every kit of either, what takes longest first if it can be told."""
        parts = {**self.old.catalogue.parts, **self.new.catalogue.parts}
        kits = {**self.old.catalogue.kits, **self.new.catalogue.kits}
        return [*(("kit", key) for key in sorted(kits)), *(("part", key) for key in sorted(parts))]

    @cached_property
    def groups(self) -> list[Cars]:
        """Cars that are alike in both catalogues."""
        where: dict[str, list[int]] = {}
        cars: dict[str, Baseline] = {}
        for side in (self.old, self.new):
            for number, group in enumerate(alike(side.catalogue)):
                for car in group:
                    cars[car.id] = car
                    where.setdefault(car.id, [-1, -1])[side is self.new] = number
        found: dict[tuple[int, ...], list[Baseline]] = {}
        for key, car in cars.items():
            found.setdefault(tuple(where[key]), []).append(car)
        if not self.newest:
            return [tuple(group) for group in found.values()]
        last = {(car.vehicle_id, car.variant_id): car.id for car in cars.values()}
        newest = set(last.values())
        return [tuple(g) for g in found.values() if any(car.id in newest for car in g)]

    def found(self, job: Job) -> _Found:
        """What comes of one part or one kit."""
        solved = Solved()
        questions = list(self._of_part(job[1]) if job[0] == "part" else self._of_kit(job[1]))
        near = [q for q in questions if q.kit or self.what.near(q.question.vehicle)]
        compared = [(question.cars, self._compared(question, solved)) for question in near]
        changes = [(cars, found) for cars, found in compared if isinstance(found, Change)]
        again = sum(found is not None for _, found in compared)
        return _Found(len(questions), again, tuple(_merged(changes)))

    def _of_part(self, part: str) -> Iterator[_Question]:
        for cars in self.groups:
            if any(side.sells(part, cars[0].id) for side in (self.old, self.new)):
                yield _Question(cars, _single(cars[0], part))

    def _of_kit(self, key: str) -> Iterator[_Question]:
        kit = self.new.catalogue.kits.get(key) or self.old.catalogue.kits[key]
        cars = tuple(
            group[0] for group in self.groups for car in group if car.vehicle_id == kit.vehicle
            and kit.variant in (None, car.variant_id) and kit.year in (None, car.year)
        )
        yield _Question(cars[:1], question_of(kit), key)

    # -- the answers ------------------------------------------------------------------------------

    def _compared(self, question: _Question, solved: Solved) -> Change | Literal["same"] | None:
        """The change; "same" where the answer is the same to another problem, None where even the
        problem is.
        """
        asked = self.old.ask(question.question)
        was = self.old.find(asked, solved) if asked else None
        if asked and self.what.passes_by(asked.cone):
            return None
        asked_now = self.new.ask(question.question)
        now = self.new.find(asked_now, solved) if asked_now else None
        before, after = self.old.brief(asked, was), self.new.brief(asked_now, now)
        kinds = tuple(_kinds(before, after))
        if not kinds:
            return "same" if was is not now else None
        whys = [self.old.recheck(asked, was), self.new.recheck(asked_now, now)]
        met = {entry for one in (asked, asked_now) if one for entry in self.what.met_by(one.cone)}
        parts = {**self.old.catalogue.parts, **self.new.catalogue.parts}
        return _change(question, parts, before, after, kinds, sorted(met), whys[1] or whys[0])


@dataclass(frozen=True)
class _Question:
    """One question in both catalogues, and the cars it stands for."""

    cars: Cars
    question: a.Question
    kit: str | None = None


def _single(car: Baseline, part: str) -> a.Question:
    return a.Question(
        vehicle=car.vehicle_id, variant=car.variant_id, year=car.year, alternatives=False,
        picks=(a.Item(part=part),),
    )


def _kinds(was: Brief, now: Brief) -> Iterator[What]:
    """How an answer differs, gravest first."""
    if "impossible" in (was.outcome, now.outcome):
        if was.outcome != now.outcome:
            yield "impossible" if now.outcome == "impossible" else "possible"
        return
    if was.price and now.price and was.price != now.price:
        yield "dearer" if Decimal(now.price) > Decimal(was.price) else "cheaper"
    if was.measures != now.measures:
        yield "measured" if now.measures < was.measures else "to_measure"
    if was.lines != now.lines:
        yield "other_lines"


def _change(
    question: _Question, parts: Mapping[str, Part], was: Brief, now: Brief,
    kinds: tuple[What, ...], met: Sequence[str], why: str,
) -> Change:
    picks = tuple(item.part for item in question.question.picks)
    both = was.outcome != "impossible" and now.outcome != "impossible"
    return Change(
        what=kinds, picks=picks, names=tuple(parts[p].name for p in picks), kit=question.kit,
        cars="", before=was.price, after=now.price,
        gained=_lines(now.lines - was.lines) if both else (),
        lost=_lines(was.lines - now.lines) if both else (),
        because=(
            *met, *([why] if why else []),
            *(f"to measure: {what}" for what in sorted(now.measures - was.measures) if both),
        ),
    )


def _lines(lines: Iterable[tuple[str, float, str]]) -> tuple[str, ...]:
    return tuple(f"{qty:g} {unit} {part}".replace("  ", " ") for part, qty, unit in sorted(lines))


def _merged(changes: Iterable[tuple[Cars, Change]]) -> Iterator[Change]:
    """Changes that are the same on several groups of cars, as one."""
    found: dict[str, list[tuple[Cars, Change]]] = {}
    for cars, change in changes:
        found.setdefault(change.model_dump_json(), []).append((cars, change))
    for same in found.values():
        on = said(car for group, _ in same for car in group)
        yield same[0][1].model_copy(update={"cars": on})
