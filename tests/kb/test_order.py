"""The order of work a catalogue states: what it may say, and that it runs in no circle."""

from __future__ import annotations

import json
from typing import Any

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.dimensions import kinds
from kb.order import OrderOfWork, done_after, stage_of_part, stage_of_step
from kb.stages import STAGE_AFTER, STAGES
from tests.kb.helpers import catalogue, problems

CAR = """
vehicles:
  plover:
    name: Plover
    years: 2016
    variants: {p16: {name: "1.6", engine: kb16}}
    places: {front-disc: {axle: front}, rear-disc: {axle: rear}, front-caliper: {axle: front}}
"""


def test_stages_lead_one_way_and_each_is_listed_after_those_before_it() -> None:
    assert set(STAGE_AFTER) == set(STAGES)
    for stage, earlier in STAGE_AFTER.items():
        assert all(STAGES.index(first) < STAGES.index(stage) for first in earlier)


def test_the_usual_order_of_the_kinds_names_kinds_and_runs_in_no_circle() -> None:
    parts = {kind: {"kind": kind, "name": kind} for kind in kinds()}
    for model in kinds().values():
        assert set(model.fitted_after) <= set(kinds())
    known = catalogue(json.dumps({"parts": parts}))
    assert list(OrderOfWork(known.parts, {}, ()).circles()) == []


def test_a_part_is_fitted_in_the_stage_of_its_kind_unless_it_states_another() -> None:
    parts = catalogue("""
parts:
  disc: {kind: brake-disc, name: Disc}
  late: {kind: brake-disc, name: Disc, stage: on-the-ground}
  tie: {kind: item, name: Tie}
""").parts
    assert [stage_of_part(parts[key]) for key in ("disc", "late", "tie")] == [
        "brakes", "on-the-ground", None]


def test_a_step_without_a_stage_modifies_the_car() -> None:
    work = catalogue("""
work:
  fold: {name: Fold, effect: room, minutes: 5 min, reversible: false}
  bleed: {name: Bleed, effect: no air, minutes: 5 min, reversible: true, stage: fluids}
""").work
    assert (stage_of_step(work["fold"]), stage_of_step(work["bleed"])) == ("modify", "fluids")


def test_what_a_part_states_stands_in_for_the_order_of_its_kind() -> None:
    parts = catalogue("""
parts:
  usual: {kind: brake-pad, name: Pads}
  own: {kind: brake-pad, name: Pads, after: [{part: usual}]}
  free: {kind: brake-pad, name: Pads, after: []}
""").parts
    assert [order.kind for order in done_after(parts["usual"])] == ["caliper", "parking-caliper"]
    assert [order.part for order in done_after(parts["own"])] == ["usual"]
    assert done_after(parts["free"]) == ()


def test_a_kind_means_the_same_axle() -> None:
    """The rear disc may wait for the front caliper, though a caliper waits for its disc."""
    text = """
parts:
  caliper: {kind: caliper, name: Caliper, takes: [front-caliper]}
  disc: {kind: brake-disc, name: Disc, takes: [rear-disc], after: [{part: caliper}]}
"""
    assert problems(CAR, text) == []
    front = text.replace("rear-disc", "front-disc")
    assert problems(CAR, front) == [
        "1.yaml:3: parts 'caliper': the order of work runs in a circle "
        "(part 'caliper', then part 'disc', and again)"
    ]


def test_an_order_of_an_old_part_falls_on_the_one_that_replaces_it() -> None:
    assert "runs in a circle (part 'new', then part 'tie'" in problems("""
parts:
  old: {kind: item, name: Old}
  new: {kind: item, name: New, supersedes: [old], after: [{part: tie}]}
  tie: {kind: item, name: Tie, after: [{part: old}]}
""")[0]


@pytest.mark.parametrize("order", ["after", "before"])
def test_nothing_is_done_before_or_after_itself(order: str) -> None:
    text = f"parts: {{a: {{kind: bolt, name: A, {order}: [{{kind: bolt}}]}}}}"
    assert "(part 'a', and again)" in problems(text)[0]


@given(st.lists(st.tuples(st.integers(0, 7), st.integers(0, 7)), max_size=12))
def test_a_catalogue_is_refused_exactly_when_its_order_has_a_circle(
    edges: list[tuple[int, int]],
) -> None:
    """networkx judges the plain graph of random orders; the catalogue says the same of its own."""
    parts: dict[str, Any] = {f"p{i}": {"kind": "item", "name": "P"} for i in range(8)}
    for i, (first, later) in enumerate(edges):
        field, owner, other = ("after", later, first) if i % 2 else ("before", first, later)
        parts[f"p{owner}"].setdefault(field, []).append({"part": f"p{other}"})
    plain = nx.is_directed_acyclic_graph(nx.DiGraph(edges))
    assert (problems(json.dumps({"parts": parts})) == []) == plain
