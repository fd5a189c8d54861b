"""The order of work: who comes after whom, as parts, kinds and work steps state it.

What holds for one package is a part of what holds for the whole catalogue; a catalogue whose order
runs in no circle therefore gives no package whose order does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

import networkx as nx

from kb.entries import Part, Vehicle, Work
from kb.stages import ORDERING, STAGE_AFTER, Order, Stage, Staged

Node = tuple[str, ...]
"""("part", id), ("step", id); ("begin" or "end", stage); ("in" or "out", *group of parts)."""

STEP_STAGE: Stage = "modify"
"""The stage of a work step that states none."""
ANYWHERE = "none"
"""Stands for the axle of what has none."""


def stage_of_part(part: Part) -> Stage | None:
    """The stage in which a part is fitted: its own, else its kind's; None when neither says."""
    return part.stage or type(part.dimensions).stage


def stage_of_step(work: Work) -> Stage:
    """The stage in which a work step is done."""
    return work.stage or STEP_STAGE


def done_after(part: Part) -> tuple[Order, ...]:
    """What a part is fitted after. What it states, even nothing, stands in for its kind's order."""
    if "after" in part.model_fields_set:
        return part.after
    return tuple(Order(kind=kind) for kind in type(part.dimensions).fitted_after)


def axles_of(parts: Mapping[str, Part], vehicles: Iterable[Vehicle]) -> dict[str, frozenset[str]]:
    """The axles each part sits on, on any vehicle."""
    of_place: dict[str, set[str]] = {}
    for vehicle in vehicles:
        for place, stated in vehicle.places.items():
            of_place.setdefault(place, set()).update([stated.axle] if stated.axle else [])
    return {
        key: frozenset().union(*(of_place.get(place, ()) for place in part.takes))
        for key, part in parts.items()
    }


def successors_of(parts: Mapping[str, Part]) -> dict[str, frozenset[str]]:
    """Each part that was replaced, with all that replace it."""
    older: nx.DiGraph[str] = nx.DiGraph(
        (old, key) for key, part in parts.items() for old in part.supersedes
    )
    return {old: frozenset(nx.descendants(older, old)) for old in older}


class OrderOfWork:
    """The order that a whole catalogue states, as one directed graph: an edge leads to the later.

    Parts of a kind hang on group nodes, so that a statement costs one edge however many they are.
    """

    def __init__(
        self, parts: Mapping[str, Part], work: Mapping[str, Work], vehicles: Iterable[Vehicle]
    ) -> None:
        self.parts, self.work = parts, work
        self.axles = axles_of(parts, vehicles)
        self.successors = successors_of(parts)
        self.net: nx.DiGraph[Node] = nx.DiGraph()
        for stage, earlier in STAGE_AFTER.items():
            self.net.add_edge(("begin", stage), ("end", stage))
            self.net.add_edges_from((("end", first), ("begin", stage)) for first in earlier)
        for key, part in parts.items():
            self._part(("part", key), part)
        for key, step in work.items():
            self._staged(("step", key), step, stage_of_step(step), step.after, (ANYWHERE,))

    def _part(self, node: Node, part: Part) -> None:
        axles = self.axles[node[1]]
        seen_from = (*axles, ANYWHERE) if axles else ("front", "rear", ANYWHERE)
        groups: list[Node] = [(part.kind, axle) for axle in seen_from]
        groups += [(part.kind, "at", place) for place in part.takes]
        for group in groups:
            self.net.add_edge(("in", *group), node)
            self.net.add_edge(node, ("out", *group))
        self._staged(
            node, part, stage_of_part(part), done_after(part), tuple(axles) or (ANYWHERE,)
        )

    def _staged(
        self, node: Node, staged: Staged, stage: Stage | None, after: tuple[Order, ...],
        axles: tuple[str, ...],
    ) -> None:
        if stage is not None:
            self.net.add_edge(("begin", stage), node)
            self.net.add_edge(node, ("end", stage))
        for order in after:
            self.net.add_edges_from((first, node) for first in self._ends("out", order, axles))
        for order in staged.before:
            self.net.add_edges_from((node, later) for later in self._ends("in", order, axles))

    def _ends(self, side: str, order: Order, axles: tuple[str, ...]) -> Iterator[Node]:
        """The nodes an order leads to; for a kind, the side of its group that the edge joins."""
        if order.step is not None:
            yield "step", order.step
        elif order.kind is not None and order.at is not None:
            yield side, order.kind, "at", order.at
        elif order.kind is not None:
            yield from ((side, order.kind, axle) for axle in axles)
        for key in order.listed:
            for name in (key, *sorted(self.successors.get(key, ()))):
                yield "part", name

    def circles(self) -> Iterator[tuple[Node, ...]]:
        """Each circle, a shortest way round: parts, steps and the stages that begin on the way.

        Circles without the stages come first; where stages close one, one way round is told.
        """
        among = self.net.subgraph([node for node in self.net if node[0] not in ("begin", "end")])
        for group in nx.strongly_connected_components(among):
            first = min(group)
            if len(group) > 1 or among.has_edge(first, first):
                yield _round(among.subgraph(group), first)
        for group in nx.strongly_connected_components(self.net):
            stages = sorted(node for node in group if node[0] == "begin")
            if stages and len(group) > 1:
                yield _round(self.net.subgraph(group), stages[0])


def _round(net: nx.DiGraph[Node], first: Node) -> tuple[Node, ...]:
    """The shortest way from a node back to itself, told from its first part or step on."""
    ways = (nx.shortest_path(net, later, first) for later in sorted(net.successors(first)))
    told = [node for node in min(ways, key=len) if node[0] in ("part", "step", "begin")]
    start = told.index(min(node for node in told if node[0] != "begin"))
    return (*told[start:], *told[:start])


def order_circles(
    parts: Mapping[str, Part], work: Mapping[str, Work], vehicles: Iterable[Vehicle]
) -> Iterator[tuple[Node, ...]]:
    """Each circle in the order of work of a catalogue.

    The order of the kinds themselves has none, so nothing is looked for where nothing is stated.
    """
    entries: Iterable[Staged] = (*parts.values(), *work.values())
    if any(not ORDERING.isdisjoint(entry.model_fields_set) for entry in entries):
        yield from OrderOfWork(parts, work, vehicles).circles()
