"""GET /v1/graph."""

from __future__ import annotations

from itertools import islice
from typing import Any

from pydantic import Field

from api.current import catalogue
from api.document import CATALOGUE, answers, blueprint
from api.endpoint import endpoint
from api.verdict_edges import comparable, verdict_edges
from api.views import GraphEdge, GraphNode, GraphView
from kb.baseline import Baseline, find_baseline
from kb.catalogue import Catalogue
from kb.errors import QuestionError, nearest_name
from kb.graph import graph_of, key_of, node_link
from rules.answers import Model
from rules.situation import situation_of

routes = blueprint("graph", CATALOGUE, "/v1")

MOST_NODES, MOST_COMPARED = 500, 200


class GraphQuery(Model):
    """Which node, how far around it, and on which car."""

    node: str = Field(description="such as part:some-id, vehicle:some-id, kind:wheel")
    depth: int = Field(1, ge=0, le=4, description="so many edges away")
    vehicle: str | None = Field(None, description="leave out what is for other cars, and add what "
                                "the checks compute about the part on this car")
    year: int | None = Field(None, ge=1900, le=2100)
    variant: str | None = None


@routes.get("/graph", responses=answers(GraphView))
@endpoint
def show_graph(query: GraphQuery) -> GraphView:
    """What is around a node of the catalogue's graph, as node-link data."""
    known = catalogue()
    car = _car(known, query)
    graph = graph_of(known)
    if query.node not in graph:
        near = nearest_name(query.node, graph)
        raise QuestionError("node", f"there is no node '{query.node}'", near)
    near_nodes = graph.neighbourhood(query.node, query.depth, MOST_NODES + 1)
    truncated = len(near_nodes) > MOST_NODES
    if truncated:
        near_nodes = graph.neighbourhood(query.node, query.depth, MOST_NODES)
    view = _view(known, car, node_link(near_nodes, car), truncated)
    section, _, key = query.node.partition(":")
    if car is not None and section == "part" and query.depth:
        return _with_verdicts(known, car, key, view)
    return view


def _car(known: Catalogue, query: GraphQuery) -> Baseline | None:
    if query.vehicle is not None:
        return find_baseline(known, query.vehicle, query.year, query.variant)
    for field in ("year", "variant"):
        if getattr(query, field) is not None:
            raise QuestionError(field, f"a {field} goes with a vehicle")
    return None


def _view(
    known: Catalogue, car: Baseline | None, data: dict[str, Any], truncated: bool
) -> GraphView:
    return GraphView(
        directed=True, multigraph=True,
        graph={"digest": known.digest, "car": car.id if car else ""},
        nodes=tuple(GraphNode(**each) for each in data["nodes"]),
        edges=tuple(GraphEdge(**each) for each in data["edges"]), truncated=truncated,
    )


def _with_verdicts(known: Catalogue, car: Baseline, part: str, view: GraphView) -> GraphView:
    """The view with what the checks compute: edges of their own, from the part."""
    at = situation_of(known, car)
    computed = tuple(verdict_edges(at, part, MOST_COMPARED))
    nodes = {each.id: each for each in view.nodes}
    for edge in computed:
        nodes.setdefault(edge.target, _node(known, edge.target))
    beyond = next(islice(comparable(at, part), MOST_COMPARED, None), None)
    return view.model_copy(update={
        "nodes": tuple(nodes[key] for key in sorted(nodes)), "edges": view.edges + computed,
        "truncated": view.truncated or beyond is not None,
    })


def _node(known: Catalogue, name: str) -> GraphNode:
    label = graph_of(known).label(name) or key_of(name)
    return GraphNode(id=name, label=label, type=name.partition(":")[0])
