"""The catalogue as one networkx graph: parts, vehicles, variants, places, needs, steps, rules,
joined by typed edges. What the problem builder asks about the catalogue, it asks here.

Nodes are texts such as "part:disc-258" or "place:front-disc"; edges carry `type`, the `statement`
they stand for and, where that statement does not say it itself, `on`: the cars it holds for. A
need of one named part is a single edge; any other need is a node of its own between the part and
what meets it. Parts of a kind hang on "kind:..." nodes, so that a statement about a kind costs
one edge however many parts there are.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal, NamedTuple

import networkx as nx

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.entries import Part, Rule, Trial, Vehicle, Work
from kb.errors import QuestionError, nearest_name, shown
from kb.statements import Applies, Conflict, Known, Need, Selector, Sourced, WorkNeed

EdgeType = Literal[
    "is", "fits", "takes", "clears", "fitted", "variant",
    "requires", "conflicts", "contents", "supersedes", "recommends", "when", "tried",
]


ANY = "*"
"""Stands for every vehicle where a stated fit names none; no id is spelt so."""


class Edge(NamedTuple):
    """One edge as seen from a node: the node at the other end and the statement it stands for."""

    node: str
    statement: Any


def node(section: str, key: str) -> str:
    """The name of a node, such as node("part", "disc-258")."""
    return f"{section}:{key}"


def key_of(name: str) -> str:
    """The id inside a node name."""
    return name.partition(":")[2]


class Graph:
    """The graph of one catalogue. `net` is the networkx graph itself."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.net: nx.MultiDiGraph[str] = nx.MultiDiGraph(digest=catalogue.digest)
        for key, vehicle in catalogue.vehicles.items():
            self._vehicle(key, vehicle)
        for key, part in catalogue.parts.items():
            self._part(key, part)
        for key, work in catalogue.work.items():
            self._work(key, work)
        for key, rule in catalogue.rules.items():
            self._rule(key, rule)
        for key, trial in catalogue.trials.items():
            self._trial(key, trial)

    # -- walking --------------------------------------------------------------------------------

    def out(self, name: str, edge_type: EdgeType) -> Iterator[Edge]:
        """What the edges of one type lead to from a node."""
        return _edges(self.net._adj.get(name, {}), edge_type)

    def into(self, name: str, edge_type: EdgeType) -> Iterator[Edge]:
        """Where the edges of one type into a node come from."""
        return _edges(self.net._pred.get(name, {}), edge_type)

    def neighbourhood(self, name: str, depth: int = 1, most: int = 500) -> nx.MultiDiGraph[str]:
        """The subgraph within `depth` edges of a node, at most `most` nodes of it.

        Raises QuestionError when there is no such node.
        """
        if name not in self.net:
            near = nearest_name(name, self.net)
            raise QuestionError("node", f"there is no node {shown(name)}", near)
        seen, edge = {name: None}, [name]
        for _ in range(depth):
            edge = [
                other
                for near in edge
                for other in (*self.net.succ[near], *self.net.pred[near])
                if other not in seen and len(seen) < most and not seen.update({other: None})
            ]
        return self.net.subgraph(seen).copy()

    # -- building -------------------------------------------------------------------------------

    def _join(
        self, start: str, end: str, edge_type: EdgeType, statement: Any = None,
        on: Applies | None = None,
    ) -> None:
        self.net.add_edge(start, end, type=edge_type, statement=statement, on=on)

    def _vehicle(self, key: str, vehicle: Vehicle) -> None:
        me = node("vehicle", key)
        self.net.add_node(me, label=vehicle.name)
        for name, variant in vehicle.variants.items():
            self.net.add_node(node("variant", f"{key}/{name}"), label=variant.name)
            on = Applies(vehicles=(key,), variants=(name,))
            self._join(me, node("variant", f"{key}/{name}"), "variant", variant, on)
        on = Applies(vehicles=(key,))
        for place, choices in vehicle.fitted.items():
            for choice in choices:
                self._join(node("place", place), node("part", choice.part), "fitted", choice, on)

    def _part(self, key: str, part: Part) -> None:
        me = node("part", key)
        self.net.add_node(me, label=part.name)
        self._join(me, node("kind", part.kind), "is")
        for place in part.takes:
            self._join(me, node("place", place), "takes")
        for place in part.clears:
            self._join(me, node("place", place), "clears")
        for fits in part.fits:
            for vehicle in fits.vehicles or (ANY,):
                self._join(me, node("vehicle", vehicle), "fits", fits)
        for inner, amount in part.contents.items():
            self._join(me, node("part", inner), "contents", amount)
        for old in part.supersedes:
            self._join(me, node("part", old), "supersedes")
        for offer in part.recommends:
            self._join(me, node("part", offer.part), "recommends", offer)
        self._needs(me, part.requires)
        self._works(me, part.work)
        self._conflicts(me, part.conflicts)

    def _work(self, key: str, work: Work) -> None:
        me = node("step", key)
        self.net.add_node(me, label=work.name)
        self._needs(me, work.requires, work.on)
        self._conflicts(me, work.conflicts, work.on)

    def _needs(self, me: str, needs: tuple[Need, ...], on: Applies | None = None) -> None:
        for i, need in enumerate(needs):
            if need.part is not None:
                self._join(me, node("part", need.part), "requires", need, on)
                continue
            middle = node("need", f"{me}#{i}")
            self.net.add_node(middle, label=need.why or "")
            self._join(me, middle, "requires", need, on)
            self._select(middle, need, "requires", on)

    def _works(self, me: str, works: tuple[WorkNeed, ...]) -> None:
        for i, work in enumerate(works):
            start = me
            if len(work.listed) > 1:
                start = node("need", f"{me}#work{i}")
                self.net.add_node(start, label=work.why or "")
                self._join(me, start, "requires", work)
            for step in work.listed:
                self._join(start, node("step", step), "requires", work)

    def _conflicts(
        self, me: str, conflicts: tuple[Conflict, ...], on: Applies | None = None
    ) -> None:
        for conflict in conflicts:
            self._select(me, conflict, "conflicts", on)

    def _rule(self, key: str, rule: Rule) -> None:
        me = node("rule", key)
        self.net.add_node(me, label=rule.why or "")
        for selector in rule.when:
            for target in _targets(selector):
                self._join(target, me, "when", selector, rule.on)
        for selector in rule.then_any:
            self._select(me, selector, "requires", rule.on)

    def _trial(self, key: str, trial: Trial) -> None:
        for part in trial.parts:
            self._join(node("part", part), node("trial", key), "tried", trial, trial.on)

    def _select(
        self, start: str, selector: Selector, edge_type: EdgeType, on: Applies | None = None
    ) -> None:
        for target in _targets(selector):
            self._join(start, target, edge_type, selector, on)


def _targets(selector: Selector) -> list[str]:
    if selector.kind is not None:
        return [node("kind", selector.kind)]
    if selector.step is not None:
        return [node("step", selector.step)]
    return [node("part", part) for part in selector.listed]


def _edges(neighbours: Any, edge_type: EdgeType) -> Iterator[Edge]:
    for other, parallel in neighbours.items():
        for data in parallel.values():
            if data["type"] == edge_type:
                yield Edge(other, data["statement"])


def graph_of(catalogue: Catalogue) -> Graph:
    """The graph of a catalogue, made on first use and kept with it."""
    if "graph" not in catalogue.caches:
        catalogue.caches["graph"] = Graph(catalogue)
    graph: Graph = catalogue.caches["graph"]
    return graph


def node_link(net: nx.MultiDiGraph[str], baseline: Baseline | None = None) -> dict[str, Any]:
    """A subgraph as node-link data: plain names, types, texts and bases, ready for JSON.

    With a baseline, edges whose statement is for other cars are left out.
    """
    nodes = [
        {"id": name, "label": data.get("label") or key_of(name), "type": name.partition(":")[0]}
        for name, data in sorted(net.nodes(data=True))
    ]
    edges = [
        _plain_edge(start, end, data)
        for start, end, data in net.edges(data=True)
        if baseline is None or _holds(data, baseline)
    ]
    edges.sort(key=lambda e: (e["source"], e["target"], e["type"], e["text"]))
    return {"directed": True, "multigraph": True, "nodes": nodes, "edges": edges}


def _holds(data: dict[str, Any], baseline: Baseline) -> bool:
    """Whether an edge is there on that car: as built, whatever else may be in a package."""
    statement = data["statement"]
    limits = (data.get("on"), statement, getattr(statement, "when", None))
    return all(baseline.applies(where) for where in limits if isinstance(where, Applies))


def _plain_edge(start: str, end: str, data: dict[str, Any]) -> dict[str, Any]:
    statement = data["statement"]
    text = statement.why or "" if isinstance(statement, Known) else ""
    return {
        "source": start,
        "target": end,
        "type": data["type"],
        "text": text,
        "basis": statement.basis if isinstance(statement, Sourced) else None,
        "margin": data.get("margin"),
    }
