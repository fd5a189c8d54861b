"""The order of work as an answer. Times in minutes, torque in N·m, angles in degrees."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from kb.stages import Stage
from rules import answers as a

Sort = Literal["take_off", "work", "fit", "fill"]


class Joint(a.Model):
    """How tight a joint is made, as the catalogue states it."""

    what: str
    torque: float = Field(description="N·m")
    turn: float | None = Field(None, description="then turned so many degrees further")
    text: str = Field(description="the value as the catalogue has it")
    basis: str
    source: str


class Used(a.Model):
    """What an operation uses up or is put together with."""

    part: str
    name: str
    qty: float
    unit: str
    renew: bool = Field(description="used once: always renewed when undone")


class Operation(a.Model):
    """One thing to do. Its id is stable: the sort, and the part or the work step."""

    id: str
    number: int = Field(description="place in the order for one person")
    sort: Sort
    text: str
    qty: float
    unit: str
    minutes: float
    timed: bool = Field(description="false: the catalogue does not say how long it takes")
    after: tuple[str, ...] = Field((), description="operations that have to be done before")
    with_parts: tuple[Used, ...] = ()
    tools: tuple[str, ...] = ()
    torque: tuple[Joint, ...] = ()
    cautions: tuple[str, ...] = ()
    because: str = ""
    critical: bool = Field(description="on the longest chain: a delay here delays the job")
    starts: float = Field(description="with two people, minutes from the start")
    ends: float
    person: int = Field(description="with two people, who does it: 1 or 2")


class StagePlan(a.Model):
    """The operations of one stage."""

    stage: Stage
    minutes: float
    operations: tuple[Operation, ...]


class Times(a.Model):
    """How long it all takes."""

    one_person: float
    two_people: float
    critical_path: float = Field(description="the longest chain, however many people help")
    two_people_least: float = Field(description="no way to share the work is shorter than this")
    two_people_proven: bool = Field(description="no shorter way to share the work exists")


class Todo(a.Model):
    """One line of a list to tick off."""

    text: str
    because: str
    source: str


class TodoList(a.Model):
    """What to see to at one point of time after the work."""

    name: str
    items: tuple[Todo, ...]


class Plan(a.Model):
    """The order of work of a package, or why there is none."""

    catalog: a.CatalogRef
    baseline: a.BaselineRef
    outcome: a.Outcome
    notes: tuple[str, ...]
    stages: tuple[StagePlan, ...] = ()
    times: Times | None = None
    critical_path: tuple[str, ...] = Field((), description="ids of operations")
    tools: tuple[str, ...] = ()
    renew: tuple[Used, ...] = Field((), description="fasteners and seals that are used once")
    untimed: tuple[str, ...] = Field((), description="operations whose time is not stated")
    measure_first: tuple[a.Measure, ...] = ()
    cautions: tuple[a.Caution, ...] = ()
    lists: tuple[TodoList, ...] = ()
    clashes: tuple[a.Clash, ...] = ()
    ways_out: tuple[a.WayOut, ...] = ()
    proof: a.Proof | None = Field(None, description="whether the package is proven least")
