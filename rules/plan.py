"""The order of work of a package: which operation comes when, for one person and for two."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import networkx as nx

from kb.baseline import find_baseline
from kb.catalogue import Catalogue
from kb.stages import STAGES, Staged, Tightening
from rules import answers as a
from rules.afterwards import todo_lists
from rules.naming import GENERAL_CAUTION
from rules.operations import Job, Operations
from rules.plan_models import Joint, Operation, Plan, StagePlan, Times, Used
from rules.resolve import package
from rules.scheduling import Schedule, critical_path, share_out
from rules.situation import situation_of

PEOPLE = 2
RANK: Mapping[str, int] = {stage: i for i, stage in enumerate(STAGES)}

_OFF_TIME = "taking a part off counts with the fitting time of what takes its place"
_ACCESS = (
    "what is only undone for access and goes back on is not listed: the vehicle maker's manual "
    "says what that is"
)


def plan(catalogue: Catalogue, question: a.Question) -> Plan:
    """The order of work of the least package for a question.

    Raises what `rules.resolve.package` raises.
    """
    return plan_of(catalogue, package(catalogue, question))


def plan_of(catalogue: Catalogue, answer: a.Package) -> Plan:
    """The order of work of a package that is there already."""
    found = Plan(
        catalog=answer.catalog, baseline=answer.baseline, outcome=answer.outcome,
        notes=answer.notes, measure_first=answer.measure_first, clashes=answer.clashes,
        ways_out=answer.ways_out, proof=answer.proof,
    )
    if answer.outcome == "impossible":
        return found
    car = answer.baseline
    at = situation_of(catalogue, find_baseline(catalogue, car.vehicle, car.year, car.variant))
    return _Planner(Operations(catalogue, at, answer)).complete(found)


class _Planner:
    def __init__(self, operations: Operations) -> None:
        self.found, self.jobs, self.net = operations, operations.jobs, operations.net
        self.minutes = {
            name: self.jobs[name].minutes if name in self.jobs else 0.0 for name in self.net
        }
        self.waits: nx.DiGraph[str] = nx.transitive_reduction(nx.DiGraph(operations.stated))
        self.critical = [n for n in critical_path(self.net, self.minutes) if n in self.jobs]
        self.schedule: Schedule = share_out(self.net, self.minutes, PEOPLE)

    def complete(self, plan: Plan) -> Plan:
        """The plan with everything in it."""
        stages = tuple(self._stages())
        operations = [operation for stage in stages for operation in stage.operations]
        return plan.model_copy(update={
            "notes": (*plan.notes, *self._notes()),
            "stages": stages,
            "times": self._times(),
            "critical_path": tuple(n for n in self.critical if self.minutes[n] > 0),
            "tools": tuple(sorted({tool for each in operations for tool in each.tools})),
            "renew": tuple(self._renewed()),
            "untimed": tuple(each.id for each in operations if not each.timed),
            "cautions": self.found.package.cautions,
            "lists": todo_lists(self.found),
        })

    def _notes(self) -> Iterator[str]:
        if any(job.sort == "take_off" for job in self.jobs.values()):
            yield _OFF_TIME
        if self.jobs:
            yield _ACCESS

    def _times(self) -> Times:
        return Times(
            one_person=_rounded(sum(self.minutes.values())),
            two_people=_rounded(self.schedule.length),
            critical_path=_rounded(sum(self.minutes[name] for name in self.critical)),
            two_people_least=_rounded(self.schedule.least),
            two_people_proven=self.schedule.proven,
        )

    # -- operations -----------------------------------------------------------------------------

    def _stages(self) -> Iterator[StagePlan]:
        order = [name for name in self._one_by_one() if name in self.jobs]
        numbers = {name: i for i, name in enumerate(order, 1)}
        for stage in STAGES:
            operations = tuple(
                self._operation(self.jobs[name], numbers[name])
                for name in order if self.jobs[name].stage == stage
            )
            if operations:
                minutes = sum(operation.minutes for operation in operations)
                yield StagePlan(stage=stage, minutes=_rounded(minutes), operations=operations)

    def _one_by_one(self) -> list[str]:
        """The order for one person: stage by stage, as far as what is stated allows."""
        sorts = ("take_off", "work", "fit", "fill")

        def key(name: str) -> tuple[int, int, str]:
            job = self.jobs.get(name)
            if job is None:
                return RANK[name.partition(":")[2]], -1, name
            return RANK[job.stage], sorts.index(job.sort), name

        return list(nx.lexicographical_topological_sort(self.net, key))

    def _operation(self, job: Job, number: int) -> Operation:
        slot = self.schedule.slots[job.id]
        return Operation(
            id=job.id, number=number, sort=job.sort, text=self._text(job), qty=job.qty,
            unit=job.unit, minutes=_rounded(job.minutes), timed=job.timed,
            after=tuple(sorted(self.waits.predecessors(job.id))) if job.id in self.waits else (),
            with_parts=tuple(map(self._used, job.lines)),
            tools=tuple(dict.fromkeys(tool for each in self._stated(job) for tool in each.tools)),
            torque=tuple(_joint(joint) for each in self._stated(job) for joint in each.torque),
            cautions=self._cautions(job), because=self._because(job),
            critical=job.id in self.critical and job.minutes > 0,
            starts=_rounded(slot.starts), ends=_rounded(slot.ends), person=slot.person,
        )

    def _stated(self, job: Job) -> Iterator[Staged]:
        """What is said of doing it: of the operation itself, then of what it is joined with."""
        yield job.stated
        yield from (self.found.catalogue.parts[line.part] for line in job.lines)

    def _text(self, job: Job) -> str:
        if job.sort == "work":
            return self.found.catalogue.work[job.key].name
        name = self.found.at.name(job.key)
        if job.sort == "take_off":
            return f"Take off {name} ({', '.join(map(self.found.at.place_name, job.places))})"
        return f"Fill in {name}" if job.sort == "fill" else f"Fit {name}"

    def _cautions(self, job: Job) -> tuple[str, ...]:
        return tuple(
            caution.text for caution in self.found.package.cautions
            if caution.text != GENERAL_CAUTION and job.sort != "take_off"
            and job.key in caution.about
        )

    def _because(self, job: Job) -> str:
        package = self.found.package
        chains = {
            "take_off": ((off.part, off.because) for off in package.comes_off),
            "work": ((work.step, work.because) for work in package.work),
        }.get(job.sort, ((line.part, line.because) for line in package.lines))
        chain = next((because for key, because in chains if key == job.key), ())
        return chain[-1].text if chain else ""

    def _used(self, line: a.Line) -> Used:
        return Used(
            part=line.part, name=line.name, qty=line.qty, unit=line.unit,
            renew=self.found.catalogue.parts[line.part].one_time_use,
        )

    def _renewed(self) -> Iterator[Used]:
        for line in self.found.new_lines:
            used = self._used(line)
            if used.renew:
                yield used


def _joint(stated: Tightening) -> Joint:
    return Joint(
        what=stated.what, torque=stated.value.value,
        turn=stated.turn.value if stated.turn else None,
        text=f"{stated.value}{f' and {stated.turn} further' if stated.turn else ''}",
        basis=stated.basis, source=stated.source,
    )


def _rounded(minutes: float) -> float:
    return round(minutes, 1)
