"""A page draws what is around a part."""

from __future__ import annotations

import json

import networkx as nx
import pytest

CAR = "vehicle=tern&year=2015&variant=p16"


def edges(answer, kind):
    return {(e["source"], e["target"]) for e in answer["edges"] if e["type"] == kind}


def test_the_neighbourhood_of_a_part_is_what_it_states(client):
    answer = client.get("/v1/graph?node=part:big-caliper").json
    assert ("part:big-caliper", "part:bolt") in edges(answer, "requires")
    assert ("part:big-caliper", "kind:wheel") in edges(answer, "conflicts")
    assert ("part:big-caliper", "vehicle:tern") in edges(answer, "fits")
    assert ("part:brake-kit", "part:big-caliper") in edges(answer, "contents")


def test_networkx_reads_the_answer_as_the_graph_it_is(client):
    answer = client.get("/v1/graph?node=part:big-caliper&depth=2").json
    graph = nx.node_link_graph(json.loads(json.dumps(answer)), edges="edges")
    assert graph.is_directed()
    assert graph.is_multigraph()
    lengths = nx.single_source_shortest_path_length(graph.to_undirected(), "part:big-caliper")
    assert set(lengths) == set(graph)
    assert max(lengths.values()) == 2


def test_depth_nought_is_the_node_alone(client):
    answer = client.get("/v1/graph?node=part:ring&depth=0").json
    assert [n["id"] for n in answer["nodes"]] == ["part:ring"]
    assert answer["edges"] == []


def test_on_a_car_the_graph_shows_what_the_checks_compute(client):
    answer = client.get(f"/v1/graph?node=part:wheel-15&{CAR}").json
    computed = {(e["check"], e["target"]): e for e in answer["edges"] if e["check"]}
    assert computed["wheel-bolt-circle", "vehicle:tern"]["verdict"] == "fits"
    tyre = computed["tyre-rim-diameter", "part:t-stock"]
    assert (tyre["verdict"], tyre["axle"], tyre["basis"]) == ("does_not_fit", "front", "computed")
    assert {e["target"] for e in answer["edges"]} <= {n["id"] for n in answer["nodes"]}
    assert not any(e["check"] for e in client.get("/v1/graph?node=part:wheel-15").json["edges"])


def test_parts_that_could_join_it_are_checked_too(client):
    answer = client.get(f"/v1/graph?node=part:tyre-15&{CAR}").json
    computed = [e for e in answer["edges"] if e["check"] == "tyre-rim-diameter"]
    verdicts = {e["target"]: e["verdict"] for e in computed}
    assert verdicts == {"part:w-stock": "does_not_fit", "part:wheel-15": "fits"}
    (new,) = (e for e in computed if e["verdict"] == "fits")
    assert new["margin"] is None or new["unit"]


def test_a_part_that_does_not_go_on_the_car_has_no_verdicts(client):
    answer = client.get("/v1/graph?node=part:tyre-15&vehicle=gannet").json
    assert not any(e["check"] for e in answer["edges"])


def test_too_many_parts_to_compare_with_are_cut_short_too(client, monkeypatch):
    monkeypatch.setattr("api.routes_graph.MOST_COMPARED", 0)
    answer = client.get(f"/v1/graph?node=part:tyre-15&{CAR}").json
    assert answer["truncated"] is True
    compared = {e["target"] for e in answer["edges"] if e["check"]}
    assert "part:w-stock" in compared
    assert "part:wheel-15" not in compared


def test_on_a_car_statements_for_other_cars_are_left_out(client):
    there = client.get("/v1/graph?node=part:big-caliper&vehicle=tern&variant=p12&year=2013").json
    early = client.get("/v1/graph?node=part:big-caliper&vehicle=tern&variant=p12&year=2012").json
    assert ("part:big-caliper", "vehicle:tern") in edges(there, "fits")
    assert ("part:big-caliper", "vehicle:tern") not in edges(early, "fits")


def test_an_unknown_node_is_refused_with_the_nearest(client, refused):
    body = refused(client.get("/v1/graph?node=part:rnig"), 422, "wrong_question", "node")
    assert body["errors"][0]["nearest"] == "part:ring"


@pytest.mark.parametrize(("query", "field"), [
    ("", "node"), ("node=part:ring&depth=9", "depth"), ("node=part:ring&depth=-1", "depth"),
])
def test_a_graph_question_of_the_wrong_form_is_refused(client, refused, query, field):
    refused(client.get(f"/v1/graph?{query}"), 422, "wrong_request", field)


@pytest.mark.parametrize(("query", "field"), [("year=2015", "year"), ("variant=p16", "variant")])
def test_what_says_which_car_goes_with_a_vehicle(client, refused, query, field):
    refused(client.get(f"/v1/graph?node=part:ring&{query}"), 422, "wrong_question", field)


def test_a_crowd_is_cut_short_and_says_so(client, monkeypatch):
    assert client.get("/v1/graph?node=kind:wheel&depth=3").json["truncated"] is False
    monkeypatch.setattr("api.routes_graph.MOST_NODES", 5)
    answer = client.get("/v1/graph?node=kind:wheel&depth=3").json
    assert answer["truncated"] is True
    assert len(answer["nodes"]) == 5
