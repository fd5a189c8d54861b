"""The operations of a package: what is taken off, worked on, fitted and filled, and what waits
for what.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from itertools import islice

import networkx as nx

from kb.catalogue import Catalogue
from kb.entries import Part
from kb.order import done_after, stage_of_part
from kb.stages import STAGE_AFTER, STAGES, Order, Stage, Staged
from rules import answers as a
from rules.plan_models import Sort
from rules.situation import Situation
from rules.staging import Staging


@dataclass(frozen=True, slots=True)
class Job:
    """One operation before it is put in order. `key` is a part, or a work step for sort "work"."""

    id: str
    sort: Sort
    key: str
    stage: Stage
    stated: Staged
    minutes: float
    timed: bool
    qty: float
    unit: str
    places: tuple[str, ...] = ()
    lines: list[a.Line] = field(default_factory=list)
    """What it uses up or is put together with."""


class Operations:
    """The operations of one package as a graph whose edges lead to the later."""

    def __init__(self, catalogue: Catalogue, at: Situation, package: a.Package) -> None:
        self.catalogue, self.at, self.package = catalogue, at, package
        self.staging = Staging(catalogue, package)
        self.jobs: dict[str, Job] = {
            job.id: job for job in (*self._taken_off(), *self._steps(), *self._fitted())
        }
        self._hand_out()

    # -- jobs -----------------------------------------------------------------------------------

    def _taken_off(self) -> Iterator[Job]:
        places: dict[str, list[a.ComesOff]] = {}
        for off in self.package.comes_off:
            places.setdefault(off.part, []).append(off)
        for part, offs in places.items():
            # Its time is in the fitting time of what takes its place.
            yield Job(
                f"off:{part}", "take_off", part, "strip", Staged(), 0.0, True,
                float(sum(off.count for off in offs)), "", tuple(off.place for off in offs),
            )

    def _steps(self) -> Iterator[Job]:
        for work in self.package.work:
            yield Job(
                f"step:{work.step}", "work", work.step, self.staging.of_step(work.step),
                self.catalogue.work[work.step], work.minutes, True, 1.0, "",
            )

    def _fitted(self) -> Iterator[Job]:
        for line in self.new_lines:
            stated = self.catalogue.parts[line.part]
            if self._is_job(line, stated):
                stage, time = self.staging.of_part(line.part), stated.fitting_time
                # As the package counts it: per unit in its places, once for parts without.
                minutes = time.value * max(self.at.units(line.part), 1) if time else 0.0
                fills = stage == "fluids" and bool(line.unit)
                yield Job(
                    f"fit:{line.part}", "fill" if fills else "fit", line.part, stage, stated,
                    minutes, fills or time is not None, line.qty, line.unit, line.places,
                )

    @property
    def new_lines(self) -> tuple[a.Line, ...]:
        """The lines of the package that come onto the car."""
        return tuple(line for line in self.package.lines if line.status != "kept")

    def _is_job(self, line: a.Line, stated: Part) -> bool:
        """Whether a line is fitted in its own right, not merely used up in something else."""
        if stated.fitting_time:
            return True
        if stated.contents:
            return False
        if line.places:
            return True
        by_step = [s.asked_by.startswith("step:") for s in line.serves]
        return stage_of_part(stated) is not None and not (by_step and all(by_step))

    def _hand_out(self) -> None:
        """Give each line that is no job of its own to a job that asks for it: one in its own stage
        if there is one, else the first.
        """
        loose = [
            line for line in self.new_lines
            if f"fit:{line.part}" not in self.jobs
            and not self.catalogue.parts[line.part].contents
        ]
        hosts = {line.part: self._hosts(line, {line.part}) for line in loose}
        for line in loose:
            stage = self.staging.of_part(line.part)
            found = sorted(
                hosts[line.part], key=lambda job: (job.stage != stage, STAGES.index(job.stage))
            )
            if found:
                found[0].lines.append(line)
            else:
                self.jobs[f"fit:{line.part}"] = self._by_itself(line, stage)

    def _by_itself(self, line: a.Line, stage: Stage) -> Job:
        stated = self.catalogue.parts[line.part]
        return Job(
            f"fit:{line.part}", "fit", line.part, stage, stated, 0.0, False, line.qty, line.unit
        )

    def _hosts(self, line: a.Line, seen: set[str]) -> list[Job]:
        """The jobs that ask for a line, at first or second hand; else the nearest on its chain."""
        found: list[Job] = []
        for node in (serving.asked_by for serving in line.serves):
            section, _, key = node.partition(":")
            if job := self._job(section, key):
                found.append(job)
            elif section == "part" and key in self.staging.lines and key not in seen:
                found += self._hosts(self.staging.lines[key], seen | {key})
        chain = (link.node.partition(":") for link in reversed(line.because[:-1]))
        return found or list(islice(
            (job for section, _, key in chain if (job := self._job(section, key))), 1
        ))

    def _job(self, section: str, key: str) -> Job | None:
        return self.jobs.get(f"{'step' if section == 'step' else 'fit'}:{key}")

    # -- order ----------------------------------------------------------------------------------

    @cached_property
    def net(self) -> nx.DiGraph[str]:
        """Jobs and the milestones between stages ("begin:brakes"); edges lead to the later."""
        net: nx.DiGraph[str] = nx.DiGraph()
        for stage in STAGES:
            net.add_edge(f"begin:{stage}", f"end:{stage}")
            for earlier in STAGE_AFTER[stage]:
                net.add_edge(f"end:{earlier}", f"begin:{stage}")
        net.add_edges_from(self.stated)
        for job in sorted(self.jobs.values(), key=self._takes_its_stage_from_others):
            for first, later in ((f"begin:{job.stage}", job.id), (job.id, f"end:{job.stage}")):
                if not (self._takes_its_stage_from_others(job) and _leads(net, later, first)):
                    net.add_edge(first, later)
        return net

    def _takes_its_stage_from_others(self, job: Job) -> bool:
        """Such a job keeps to its stage as far as its own order allows. The catalogue, which is
        known to run in no circle, does not know the stage that it has in one package.
        """
        return job.sort in ("fit", "fill") and stage_of_part(self._part(job)) is None

    @cached_property
    def stated(self) -> tuple[tuple[str, str], ...]:
        """The order between jobs that parts, kinds and steps state, and that of taking off."""
        return tuple(dict.fromkeys((
            *self._fitting_order(), *self._stripping_order(), *self._exchange_order(),
        )))

    def _fitting_order(self) -> Iterator[tuple[str, str]]:
        jobs = [job for job in self.jobs.values() if job.sort != "take_off"]
        for job in jobs:
            for order in self._after(job):
                yield from ((first.id, job.id) for first in self._meant(order, job, jobs))
            for order in job.stated.before:
                yield from ((job.id, later.id) for later in self._meant(order, job, jobs))

    def _stripping_order(self) -> Iterator[tuple[str, str]]:
        """What was fitted last comes off first."""
        jobs = [job for job in self.jobs.values() if job.sort == "take_off"]
        for job in jobs:
            part = self.catalogue.parts[job.key]
            for order in done_after(part):
                yield from ((job.id, first.id) for first in self._meant(order, job, jobs))
            for order in part.before:
                yield from ((later.id, job.id) for later in self._meant(order, job, jobs))
            for inner in jobs:
                if self._is_later(stage_of_part(part), stage_of_part(self._part(inner))):
                    yield job.id, inner.id

    def _is_later(self, stage: Stage | None, other: Stage | None) -> bool:
        return stage is not None and other is not None and other in _before(stage)

    def _exchange_order(self) -> Iterator[tuple[str, str]]:
        """A place is empty before something new goes into it."""
        for old in self.jobs.values():
            for new in self.jobs.values():
                if (old.sort, new.sort) == ("take_off", "fit") and {*old.places} & {*new.places}:
                    yield old.id, new.id

    def _after(self, job: Job) -> tuple[Order, ...]:
        return job.stated.after if job.sort == "work" else done_after(self._part(job))

    def _part(self, job: Job) -> Part:
        return self.catalogue.parts[job.key]

    def _meant(self, order: Order, owner: Job, jobs: Iterable[Job]) -> Iterator[Job]:
        for job in jobs:
            if job is not owner and self._means(order, owner, job):
                yield job

    def _means(self, order: Order, owner: Job, job: Job) -> bool:
        if order.step is not None or job.sort == "work":
            return job.sort == "work" and job.key == order.step
        if order.at is not None and order.at not in self._part(job).takes:
            return False
        if order.kind is None:
            return any(name in order.listed for name in (job.key, *self.at.predecessors(job.key)))
        return self._part(job).kind == order.kind and (
            order.at is not None or self._same_axle(owner, job)
        )

    def _same_axle(self, one: Job, other: Job) -> bool:
        sides = [
            {axle for place in job.places if (axle := self.at.baseline.places[place].axle)}
            for job in (one, other)
        ]
        return not all(sides) or bool(sides[0] & sides[1])


def _before(stage: Stage) -> set[Stage]:
    """Every stage that is over before this one begins."""
    found: set[Stage] = set()
    for earlier in STAGE_AFTER[stage]:
        found |= {earlier, *_before(earlier)}
    return found


def _leads(net: nx.DiGraph[str], first: str, later: str) -> bool:
    """Whether a way leads from one node to the other."""
    return first in net and nx.has_path(net, first, later)
