"""The graph holds every statement as a typed edge, and shows what is around a node."""

from __future__ import annotations

import json

import pytest

from kb.baseline import find_baseline
from kb.catalogue import Catalogue, load
from kb.errors import QuestionError
from kb.graph import Graph, graph_of, node_link
from tests.kb.helpers import EXAMPLE, PLOVER, catalogue


@pytest.fixture(scope="module")
def example() -> Catalogue:
    return load(EXAMPLE)


@pytest.fixture(scope="module")
def graph(example: Catalogue) -> Graph:
    return graph_of(example)


CORRIE = "part:wheel-corrie-15"


@pytest.mark.parametrize(
    ("start", "edge_type", "ends"),
    [
        (CORRIE, "is", ["kind:wheel"]),
        (CORRIE, "takes", ["place:front-wheel", "place:rear-wheel"]),
        (CORRIE, "clears", ["place:wheel-trim"]),
        (CORRIE, "fits", ["vehicle:plover", "vehicle:2048"]),
        (CORRIE, "supersedes", ["part:wheel-corrie-old"]),
        (CORRIE, "conflicts", ["part:trim-14"]),
        (CORRIE, "recommends", ["part:lock-set"]),
        (CORRIE, "requires", ["part:valve-rubber", f"need:{CORRIE}#1", f"need:{CORRIE}#2",
                              f"need:{CORRIE}#3", f"need:{CORRIE}#4", "step:move-front-hose",
                              f"need:{CORRIE}#work1"]),
        (f"need:{CORRIE}#1", "requires", ["kind:wheel-nut"]),
        (f"need:{CORRIE}#4", "requires", ["part:clip-hose", "part:clip-spare"]),
        (f"need:{CORRIE}#work1", "requires", ["step:roll-rear-lip", "step:move-front-hose"]),
        (CORRIE, "tried", ["trial:corrie-tried"]),
        ("part:911", "contents", ["part:clip-hose", "part:fluid-4"]),
        ("step:move-front-hose", "requires", ["part:clip-hose"]),
        ("step:move-front-hose", "conflicts", ["step:roll-rear-lip"]),
        ("vehicle:plover", "variant", ["variant:plover/p12", "variant:plover/p16"]),
        ("place:front-hose", "fitted", ["part:hose-f-early", "part:hose-f-late"]),
        ("kind:wheel", "when", ["rule:sensors-move-over"]),
        ("rule:sensors-move-over", "requires", ["kind:sensor-service"]),
        ("rule:one-fluid", "requires", ["part:fluid-4", "part:fluid-51"]),
    ],
)
def test_every_statement_is_an_edge(
    graph: Graph, start: str, edge_type: str, ends: list[str]
) -> None:
    assert [edge.node for edge in graph.out(start, edge_type)] == ends  # type: ignore[arg-type]


def test_edges_are_found_from_either_end_with_their_statement(
    example: Catalogue, graph: Graph
) -> None:
    [conflict] = graph.into("part:trim-14", "conflicts")
    assert conflict.node == CORRIE
    assert conflict.statement is example.parts["wheel-corrie-15"].conflicts[0]
    assert list(graph.out("part:no-such", "requires")) == []


def test_a_part_and_a_step_of_one_name_keep_their_needs_apart() -> None:
    same_name = graph_of(catalogue("""
parts:
  fold: {kind: item, name: Fold, requires: [{kind: bolt}]}
work:
  fold: {name: Fold, effect: e, minutes: 5 min, reversible: true, requires: [{kind: nut}]}
"""))
    for start, kind in (("part:fold", "kind:bolt"), ("step:fold", "kind:nut")):
        [need] = same_name.out(start, "requires")
        assert [edge.node for edge in same_name.out(need.node, "requires")] == [kind]


def test_a_fit_that_names_no_vehicle_hangs_on_a_name_no_vehicle_can_have() -> None:
    known = graph_of(catalogue(PLOVER, "parts: {a: {kind: item, name: A, fits: [{years: 2014-}]}}"))
    assert [edge.node for edge in known.out("part:a", "fits")] == ["vehicle:*"]


def test_a_neighbourhood_grows_with_depth_and_is_bounded(graph: Graph) -> None:
    assert set(graph.neighbourhood("part:lock-set", 0)) == {"part:lock-set"}
    assert set(graph.neighbourhood("part:lock-set", 1)) == {"part:lock-set", "kind:item", CORRIE}
    wider = set(graph.neighbourhood("part:lock-set", 2))
    assert {"place:front-wheel", "part:trim-14"} < wider
    assert len(graph.neighbourhood("part:lock-set", 2, most=5)) == 5


def test_an_unknown_node_is_a_wrong_question(graph: Graph) -> None:
    with pytest.raises(QuestionError, match="there is no node 'part:lock-sett'") as caught:
        graph.neighbourhood("part:lock-sett")
    assert caught.value.nearest == "part:lock-set"


def test_node_link_data_is_plain_json(graph: Graph) -> None:
    data = node_link(graph.neighbourhood(CORRIE))
    assert json.loads(json.dumps(data)) == data
    assert {edge["source"] for edge in data["edges"]} <= {node["id"] for node in data["nodes"]}
    [conflict] = [edge for edge in data["edges"] if edge["type"] == "conflicts"]
    assert conflict == {
        "source": CORRIE, "target": "part:trim-14", "type": "conflicts",
        "text": "the trim is made for steel wheels", "basis": "maker", "margin": None,
    }
    labels = {node["id"]: (node["label"], node["type"]) for node in data["nodes"]}
    assert labels[CORRIE] == ("Corrie 15 gravel wheel", "part")
    assert labels["place:front-wheel"] == ("front-wheel", "place")


def ends(graph: Graph, example: Catalogue, start: str, edge_type: str, *car: object) -> list[str]:
    """Where edges of a type lead from a node on one car."""
    data = node_link(graph.neighbourhood(start), find_baseline(example, *car))  # type: ignore[arg-type]
    return [e["target"] for e in data["edges"] if e["source"] == start and e["type"] == edge_type]


def test_with_a_car_only_what_holds_on_it_is_shown(graph: Graph, example: Catalogue) -> None:
    def on(start: str, edge_type: str, *car: object) -> list[str]:
        return ends(graph, example, start, edge_type, *car)

    early, late = ("plover", 2015, "p12"), ("plover", 2019, "p16")
    assert "part:valve-rubber" in on(CORRIE, "requires", *early)
    assert "part:valve-rubber" not in on(CORRIE, "requires", *late), "it has pressure sensors"
    assert on("place:front-hose", "fitted", *early) == ["part:hose-f-early"]
    assert on("place:front-hose", "fitted", *late) == ["part:hose-f-late"]
    assert on(CORRIE, "fits", *early) == ["vehicle:plover"]
    assert on("kind:wheel", "when", *early) == [], "the rule is for cars with sensors"
    assert on("kind:wheel", "when", *late) == ["rule:sensors-move-over"]
    assert on("vehicle:plover", "variant", *late) == ["variant:plover/p16"]


def test_stock_parts_of_another_vehicle_are_not_shown() -> None:
    van = PLOVER.replace("plover:", "dunlin:").replace("p12", "d12").replace("p16", "d16")
    parts = "parts:\n" + "".join(
        f"  {name}: {{kind: wheel, name: W, takes: [front-wheel]}}\n" for name in ("steel", "alloy")
    )
    known = catalogue(
        f"{PLOVER}    fitted: {{front-wheel: steel}}\n",
        f"{van}    fitted: {{front-wheel: alloy}}\n",
        parts,
    )
    graph = graph_of(known)
    assert ends(graph, known, "place:front-wheel", "fitted", "plover", 2012) == ["part:steel"]
    assert ends(graph, known, "place:front-wheel", "fitted", "dunlin", 2012) == ["part:alloy"]


def test_the_same_catalogue_gives_the_same_data_in_the_same_order(example: Catalogue) -> None:
    once = node_link(Graph(example).neighbourhood(CORRIE, 2))
    again = node_link(Graph(load(EXAMPLE)).neighbourhood(CORRIE, 2))
    assert json.dumps(once) == json.dumps(again)
    assert [n["id"] for n in once["nodes"]] == sorted(n["id"] for n in once["nodes"])


def test_the_graph_is_made_once_per_catalogue(example: Catalogue) -> None:
    assert graph_of(example) is graph_of(example)
    assert graph_of(example).net.graph["digest"] == example.digest
