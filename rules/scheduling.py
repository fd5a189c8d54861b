"""Jobs that wait for each other, shared out between people: pure arithmetic on a graph.

Jobs are the nodes of a directed graph without circles; each edge leads to the later job. A job is
done by one person, in one go.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

import networkx as nx

NEAR = 1e-6
"""Minutes that do not matter."""


class Slot(NamedTuple):
    """When a job is done, in minutes from the start, and by whom (counted from 1)."""

    starts: float
    ends: float
    person: int


class Schedule(NamedTuple):
    """A way to share out the jobs. No schedule is shorter than `least`."""

    slots: Mapping[str, Slot]
    length: float
    least: float

    @property
    def proven(self) -> bool:
        """Whether no shorter schedule exists."""
        return self.length <= self.least + NEAR


def tails(net: nx.DiGraph[str], minutes: Mapping[str, float]) -> dict[str, float]:
    """For each job the longest chain of jobs from its beginning on, in minutes."""
    found: dict[str, float] = {}
    for job in reversed(list(nx.lexicographical_topological_sort(net))):
        found[job] = minutes[job] + max((found[later] for later in net.successors(job)), default=0)
    return found


def critical_path(net: nx.DiGraph[str], minutes: Mapping[str, float]) -> list[str]:
    """The longest chain of jobs: however many people help, the work takes no less than this."""
    left = tails(net, minutes)
    path: list[str] = []
    follow = [job for job in net if not net.in_degree(job)]
    while follow:
        path.append(min(follow, key=lambda job: (-left[job], job)))
        follow = list(net.successors(path[-1]))
    return path


def share_out(net: nx.DiGraph[str], minutes: Mapping[str, float], people: int) -> Schedule:
    """A schedule by list: whoever is free takes the ready job with the longest chain behind it.

    At most 2 - 1/people times as long as the shortest (R. L. Graham, Bounds on multiprocessing
    timing anomalies, SIAM Journal on Applied Mathematics 17, 1969, theorem 1).
    """
    left = tails(net, minutes)
    waiting = {job: net.in_degree(job) for job in net}
    ready = [job for job in net if not waiting[job]]
    free = [0.0] * people
    running: list[tuple[float, str]] = []
    slots: dict[str, Slot] = {}
    now = 0.0
    while ready or running:
        ready.sort(key=lambda job: (-left[job], job))
        while ready and min(free) <= now:
            person = free.index(min(free))
            job = ready.pop(0)
            free[person] = now + minutes[job]
            slots[job] = Slot(now, free[person], person + 1)
            running.append((free[person], job))
        now = min(running)[0]
        done = sorted(job for ends, job in running if ends <= now)
        running = [(ends, job) for ends, job in running if ends > now]
        for job in done:
            for later in net.successors(job):
                waiting[later] -= 1
                if not waiting[later]:
                    ready.append(later)
    length = max((slot.ends for slot in slots.values()), default=0.0)
    return Schedule(slots, length, least_length(net, minutes, people))


def least_length(net: nx.DiGraph[str], minutes: Mapping[str, float], people: int) -> float:
    """A length no schedule goes below: in each section of the work, its longest chain or its work
    shared evenly, whichever is more.
    """
    return sum(
        max(
            max(tails(section, minutes).values(), default=0.0),
            sum(minutes[job] for job in section) / people,
        )
        for section in sections(net)
    )


def sections(net: nx.DiGraph[str]) -> Iterator[nx.DiGraph[str]]:
    """The jobs between jobs that all others come before or after: each section waits for the one
    before it as a whole.
    """
    inside: list[str] = []
    for job in nx.lexicographical_topological_sort(net):
        if len(nx.ancestors(net, job)) + len(nx.descendants(net, job)) == len(net) - 1:
            yield net.subgraph(inside)
            yield net.subgraph([job])
            inside = []
        else:
            inside.append(job)
    yield net.subgraph(inside)
