"""Jobs that wait for each other, against the laws of scheduling and an independent solver."""

from __future__ import annotations

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from rules.scheduling import critical_path, least_length, sections, share_out, tails


@st.composite
def jobs(draw: st.DrawFn, most: int = 9) -> tuple[nx.DiGraph, dict[str, float]]:
    """Random jobs; an edge leads from a lower to a higher number, so there is no circle."""
    many = draw(st.integers(1, most))
    net = nx.DiGraph()
    net.add_nodes_from(f"j{i}" for i in range(many))
    pairs = [(i, k) for i in range(many) for k in range(i + 1, many)]
    for i, k in draw(st.lists(st.sampled_from(pairs), max_size=12)) if pairs else ():
        net.add_edge(f"j{i}", f"j{k}")
    return net, {job: float(draw(st.integers(0, 12))) for job in net}


@given(jobs())
def test_every_job_waits_for_those_before_it_and_nobody_does_two_at_once(drawn) -> None:
    net, minutes = drawn
    slots = share_out(net, minutes, 2).slots
    assert set(slots) == set(net)
    for first, later in net.edges:
        assert slots[later].starts >= slots[first].ends
    for job, slot in slots.items():
        assert slot.ends - slot.starts == minutes[job]
        for other, beside in slots.items():
            if other != job and slot.person == beside.person:
                assert slot.ends <= beside.starts or beside.ends <= slot.starts


@given(jobs())
def test_one_person_takes_the_sum_and_many_take_the_longest_chain(drawn) -> None:
    net, minutes = drawn
    chain = sum(minutes[job] for job in critical_path(net, minutes))
    assert share_out(net, minutes, 1).length == sum(minutes.values())
    assert share_out(net, minutes, len(net)).length == chain
    assert chain == max(tails(net, minutes).values())
    assert chain <= share_out(net, minutes, 2).length <= sum(minutes.values())


@given(jobs())
def test_the_critical_path_is_a_path(drawn) -> None:
    net, minutes = drawn
    assert nx.is_path(net, critical_path(net, minutes))


@given(jobs())
def test_sections_part_the_jobs_and_follow_each_other(drawn) -> None:
    net, _ = drawn
    found = [set(section) for section in sections(net)]
    assert sorted(job for section in found for job in section) == sorted(net)
    for i, section in enumerate(found):
        for later in found[i + 1:]:
            assert all(nx.has_path(net, a, b) for a in section for b in later)


def shortest(net: nx.DiGraph, minutes: dict[str, float], people: int) -> float:
    """The shortest schedule there is, by OR-tools' CP-SAT, which shares no code with ours."""
    model = cp_model.CpModel()
    horizon = int(sum(minutes.values()))
    ends = model.new_int_var(0, horizon, "ends")
    starts = {job: model.new_int_var(0, horizon, job) for job in net}
    intervals = [
        model.new_fixed_size_interval_var(starts[job], int(minutes[job]), f"i{job}") for job in net
    ]
    model.add_cumulative(intervals, [1] * len(intervals), people)
    for first, later in net.edges:
        model.add(starts[later] >= starts[first] + int(minutes[first]))
    for job in net:
        model.add(ends >= starts[job] + int(minutes[job]))
    model.minimize(ends)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    return solver.objective_value


@settings(max_examples=60, deadline=None)
@given(jobs(8))
def test_two_people_are_between_the_bound_and_one_and_a_half_times_the_best(drawn) -> None:
    """Graham 1969, theorem 1: a schedule by list is at most 2 - 1/2 times the shortest."""
    net, minutes = drawn
    found, best = share_out(net, minutes, 2), shortest(net, minutes, 2)
    assert found.least <= best + 1e-9
    assert best <= found.length <= 1.5 * best + 1e-9
    if found.proven:
        assert found.length == pytest.approx(best)


def test_a_job_that_all_others_wait_for_makes_the_bound_tight() -> None:
    """5 and 5 beside each other, then 4 alone, then 3 and 7: 5 + 4 + 7, though the sum halves to
    12 and the longest chain is 16.
    """
    net = nx.DiGraph([("a", "m"), ("b", "m"), ("m", "c"), ("m", "d")])
    minutes = {"a": 5.0, "b": 5.0, "m": 4.0, "c": 3.0, "d": 7.0}
    found = share_out(net, minutes, 2)
    assert (found.length, found.least, found.proven) == (16.0, 16.0, True)
    assert least_length(net, minutes, 2) == 16.0


def test_a_list_can_miss_the_best_and_says_so() -> None:
    """Five jobs of 3, 3, 2, 2, 2 minutes: two people can do them in 6, longest first takes 7."""
    net = nx.DiGraph()
    net.add_nodes_from("abcde")
    minutes = dict(zip("abcde", (3.0, 3.0, 2.0, 2.0, 2.0), strict=True))
    found = share_out(net, minutes, 2)
    assert shortest(net, minutes, 2) == 6.0
    assert (found.length, found.least, found.proven) == (7.0, 6.0, False)


def test_nothing_to_do_takes_no_time() -> None:
    found = share_out(nx.DiGraph(), {}, 2)
    assert (found.length, found.least, found.proven) == (0.0, 0.0, True)
    assert critical_path(nx.DiGraph(), {}) == []
