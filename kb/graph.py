"""The catalogue as one networkx graph: parts, vehicles, variants, places, needs, steps, rules,
joined by typed edges. What the problem builder asks about the catalogue, it asks here.

Nodes are texts such as "part:disc-258" or "place:front-disc"; edges carry `type`, the `statement`
they stand for and, where that statement does not say it itself, `on`: the cars it holds for. A
need of one named part is a single edge; any other need is a node of its own between the part and
what meets it. Parts of a kind hang on "kind:..." nodes, so that a statement about a kind costs
one edge however many parts there are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from heapq import merge
from typing import Any, Literal, NamedTuple

import networkx as nx

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.collection import no_collection, set_aside
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


FEW = 32
"""Edges into one node that are not worth sorting by car."""


class Graph:
    """The graph of one catalogue.

    Edges are kept by type, since hubs such as a washer in every part's list have many thousands;
    and those into a hub by the cars they can matter to. `net` is all of it as a networkx graph.
    """

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self._names: dict[str, str] = {}
        """Each node once: edges share its text."""
        self._labels: dict[str, str] = {}
        self._out: dict[EdgeType, dict[str, list[Edge]]] = {}
        self._in: dict[EdgeType, dict[str, list[Edge]]] = {}
        self._limited: dict[tuple[str, str, EdgeType, int], Applies] = {}
        """The cars that an edge holds for, where its statement does not say it."""
        self._by_car: dict[tuple[EdgeType, str], dict[str, list[tuple[int, Edge]]]] = {}
        self._into_car: dict[tuple[EdgeType, str, str], list[Edge]] = {}
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

    def out(self, name: str, edge_type: EdgeType) -> Sequence[Edge]:
        """What the edges of one type lead to from a node."""
        return self._out.get(edge_type, {}).get(name, ())

    def into(self, name: str, edge_type: EdgeType, car: str | None = None) -> Sequence[Edge]:
        """Where the edges of one type into a node come from.

        With a vehicle, edges from parts that are only for others may be left out.
        """
        edges = self._in.get(edge_type, {}).get(name, ())
        if car is None or len(edges) <= FEW:
            return edges
        key = (edge_type, name, car)
        if key not in self._into_car:
            by_car = self._sorted_by_car(edge_type, name, edges)
            both = merge(by_car.get(ANY, ()), by_car.get(car, ()), key=lambda found: found[0])
            self._into_car[key] = [edge for _, edge in both]
        return self._into_car[key]

    def _sorted_by_car(
        self, edge_type: EdgeType, name: str, edges: Sequence[Edge]
    ) -> dict[str, list[tuple[int, Edge]]]:
        if (edge_type, name) not in self._by_car:
            found = self._by_car[edge_type, name] = {}
            for i, edge in enumerate(edges):
                for car in self._cars_of(edge.node):
                    found.setdefault(car, []).append((i, edge))
        return self._by_car[edge_type, name]

    def parts_on(self, car: str) -> Iterator[str]:
        """The parts that can matter on a vehicle: all but those that are only for others."""
        yield from self.parts_on_any()
        yield from self._parts_by_car.get(car, ())

    def parts_on_any(self) -> Sequence[str]:
        """The parts that are for no vehicles in particular."""
        return self._parts_by_car.get(ANY, ())

    def rules_on(self, car: str) -> Iterator[str]:
        """The general rules that can hold on a vehicle: all but those that are only for others."""
        return (key for _, key in merge(*(self._rules_by_car.get(at, ()) for at in (ANY, car))))

    @cached_property
    def _rules_by_car(self) -> Mapping[str, list[tuple[int, str]]]:
        found: dict[str, list[tuple[int, str]]] = {}
        for number, (key, rule) in enumerate(self.catalogue.rules.items()):
            for car in dict.fromkeys(rule.on.vehicles or (ANY,)):
                found.setdefault(car, []).append((number, key))
        return found

    @cached_property
    def _parts_by_car(self) -> Mapping[str, list[str]]:
        found: dict[str, list[str]] = {}
        for key in self.catalogue.parts:
            for car in self._cars_of(node("part", key)):
                found.setdefault(car, []).append(key)
        return found

    def _cars_of(self, name: str) -> set[str]:
        """The vehicles on which a node can matter."""
        section, _, key = name.partition(":")
        fits = self.catalogue.parts[key].fits if section == "part" else ()
        if not fits or not all(fit.vehicles for fit in fits):
            return {ANY}
        return {car for fit in fits for car in fit.vehicles} | self._stock_on.get(key, set())

    @cached_property
    def _stock_on(self) -> Mapping[str, set[str]]:
        """Each stock part with the vehicles it is fitted to: it may not be listed for them."""
        found: dict[str, set[str]] = {}
        for key, vehicle in self.catalogue.vehicles.items():
            for choices in vehicle.fitted.values():
                for choice in choices:
                    found.setdefault(choice.part, set()).add(key)
        return found

    def __contains__(self, name: object) -> bool:
        return name in self._names

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def label(self, name: str) -> str:
        """What a node is called; an empty text where it has no name of its own."""
        section, _, key = name.partition(":")
        known = self.catalogue.parts.get(key) if section == "part" else None
        return known.name if known else self._labels.get(name, "")

    # -- as networkx ----------------------------------------------------------------------------

    @cached_property
    def net(self) -> nx.MultiDiGraph[str]:
        """The whole graph as a networkx graph."""
        return self._subgraph(self._names)

    def neighbourhood(self, name: str, depth: int = 1, most: int = 500) -> nx.MultiDiGraph[str]:
        """The subgraph within `depth` edges of a node, at most `most` nodes of it.

        Raises QuestionError when there is no such node.
        """
        if name not in self:
            near = nearest_name(name, self)
            raise QuestionError("node", f"there is no node {shown(name)}", near)
        seen, edge = {name: None}, [name]
        for _ in range(depth):
            edge = [
                other
                for near in edge
                for other in self._neighbours(near)
                if other not in seen and len(seen) < most and not seen.update({other: None})
            ]
        return self._subgraph(seen)

    def _neighbours(self, name: str) -> Iterator[str]:
        for side in (self._out, self._in):
            for by_node in side.values():
                for edge in by_node.get(name, ()):
                    yield edge.node

    def _subgraph(self, names: Mapping[str, Any]) -> nx.MultiDiGraph[str]:
        """These nodes with all edges between them."""
        net: nx.MultiDiGraph[str] = nx.MultiDiGraph(digest=self.catalogue.digest)
        net.add_nodes_from((name, {"label": self.label(name)}) for name in names)
        for edge_type, by_node in self._out.items():
            for name in names:
                for end, statement in by_node.get(name, ()):
                    if end in names:
                        on = self._limited.get((name, end, edge_type, id(statement)))
                        net.add_edge(name, end, type=edge_type, statement=statement, on=on)
        return net

    # -- building -------------------------------------------------------------------------------

    def _node(self, name: str, label: str = "") -> str:
        """The one text for a node, which is there from now on."""
        if label:
            self._labels[name] = label
        return self._names.setdefault(name, name)

    def _join(
        self, start: str, end: str, edge_type: EdgeType, statement: Any = None,
        on: Applies | None = None,
    ) -> None:
        start, end = self._node(start), self._node(end)
        self._out.setdefault(edge_type, {}).setdefault(start, []).append(Edge(end, statement))
        self._in.setdefault(edge_type, {}).setdefault(end, []).append(Edge(start, statement))
        if on is not None and on.model_fields_set:
            self._limited[start, end, edge_type, id(statement)] = on

    def _vehicle(self, key: str, vehicle: Vehicle) -> None:
        me = node("vehicle", key)
        self._node(me, vehicle.name)
        for name, variant in vehicle.variants.items():
            self._node(node("variant", f"{key}/{name}"), variant.name)
            on = Applies(vehicles=(key,), variants=(name,))
            self._join(me, node("variant", f"{key}/{name}"), "variant", variant, on)
        on = Applies(vehicles=(key,))
        for place, choices in vehicle.fitted.items():
            for choice in choices:
                self._join(node("place", place), node("part", choice.part), "fitted", choice, on)

    def _part(self, key: str, part: Part) -> None:
        me = node("part", key)
        self._node(me)
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
        self._node(me, work.name)
        self._needs(me, work.requires, work.on)
        self._conflicts(me, work.conflicts, work.on)

    def _needs(self, me: str, needs: tuple[Need, ...], on: Applies | None = None) -> None:
        for i, need in enumerate(needs):
            if need.part is not None:
                self._join(me, node("part", need.part), "requires", need, on)
                continue
            middle = node("need", f"{me}#{i}")
            self._node(middle, need.why or "")
            self._join(me, middle, "requires", need, on)
            self._select(middle, need, "requires", on)

    def _works(self, me: str, works: tuple[WorkNeed, ...]) -> None:
        for i, work in enumerate(works):
            start = me
            if len(work.listed) > 1:
                start = node("need", f"{me}#work{i}")
                self._node(start, work.why or "")
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
        self._node(me, rule.why or "")
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


def graph_of(catalogue: Catalogue) -> Graph:
    """The graph of a catalogue, made on first use and kept with it."""
    if "graph" not in catalogue.caches:
        with no_collection():
            catalogue.caches["graph"] = Graph(catalogue)
            set_aside(len(catalogue.parts))
    graph: Graph = catalogue.caches["graph"]
    return graph


def node_link(net: nx.MultiDiGraph[str], baseline: Baseline | None = None) -> dict[str, Any]:
    """A subgraph as node-link data: plain names, types, texts and bases, ready for JSON.

    With a baseline, edges whose statement is for other cars are left out.
    """
    nodes = [
        {
            "id": name, "label": net.nodes[name].get("label") or key_of(name),
            "type": name.partition(":")[0],
        }
        for name in sorted(net.nodes)
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
