"""Which parts can be in any package: asked of all at once as when each is asked of alone."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from kb.baseline import baselines, find_baseline
from kb.catalogue import Catalogue, load_texts
from rules.cone import Cone
from rules.possible import can_hold, impossible_parts, never_possible
from rules.sat import Sat
from rules.situation import Situation, situation_of
from tests.bench.packages import package_texts
from tests.bench.shop import dead_parts, shop_texts
from tests.support.small_catalogues import Scenario, scenarios


def possible_alone(at: Situation, part: str) -> bool:
    cone = Cone(at, {part: Fraction(max(at.units(part), 1))}, {})
    with Sat(cone.problem, cone.say) as sat:
        return sat.solve()


def impossible_one_by_one(catalogue: Catalogue, at: Situation) -> set[str]:
    return {part for part in catalogue.parts if not possible_alone(at, part)}


@given(scenarios())
@settings(max_examples=250, deadline=None)
def test_all_at_once_is_as_one_by_one(scenario: Scenario) -> None:
    catalogue = scenario.catalogue()
    for baseline in baselines(catalogue):
        at = situation_of(catalogue, baseline)
        expected = impossible_one_by_one(catalogue, at)
        assert impossible_parts(catalogue, baseline) == expected


@given(scenarios())
@settings(max_examples=60, deadline=None)
def test_never_possible_is_impossible_on_each_car(scenario: Scenario) -> None:
    catalogue = scenario.catalogue()
    cars = list(baselines(catalogue))
    expected = set(catalogue.parts)
    for car in cars:
        expected &= impossible_parts(catalogue, car)
    assert never_possible(catalogue, cars) == expected


def test_every_dead_part_of_a_shop_is_found() -> None:
    shop = load_texts(shop_texts(600, seed=3))
    for baseline in baselines(shop):
        found = impossible_parts(shop, baseline)
        assert found >= set(dead_parts(600))
        assert found == impossible_one_by_one(shop, situation_of(shop, baseline))


def test_every_dead_part_among_packages_is_found() -> None:
    host = load_texts(package_texts(1500, seed=5))
    baseline = find_baseline(host, "host")
    found = impossible_parts(host, baseline)
    assert found == impossible_one_by_one(host, situation_of(host, baseline))
    assert 0 < len(found) < 300


def test_on_a_car_that_allows_no_package_no_part_is_possible() -> None:
    broken = load_texts({"all.yaml": """
vehicles: {tern: {name: Tern, years: 2015, variants: {p: {name: P, engine: e}}}}
parts: {a: {kind: item, name: A}, b: {kind: item, name: B, orderable: false}}
rules: {always: {then_any: [{part: b}]}}
"""})
    assert impossible_parts(broken, find_baseline(broken, "tern")) == {"a", "b"}


CLAUSE = st.lists(
    st.integers(1, 7).flatmap(lambda v: st.sampled_from((v, -v))), min_size=1, max_size=3
)


@given(st.lists(CLAUSE, max_size=25))
@settings(max_examples=300, deadline=None)
def test_what_can_hold_is_what_some_assignment_shows(clauses: list[list[int]]) -> None:
    shown: set[int] = set()
    for truth in product((False, True), repeat=7):
        if all(any(truth[abs(lit) - 1] is (lit > 0) for lit in clause) for clause in clauses):
            shown |= {variable for variable in range(1, 8) if truth[variable - 1]}
    assert can_hold(clauses, range(1, 8)) == shown


def test_many_rivals_are_told_apart() -> None:
    """Of a hundred that exclude each other in groups, each can be there, but for the refused."""
    random = Random(7)
    group = {variable: random.randrange(12) for variable in range(1, 101)}
    rivals = [[-a, -b] for a in group for b in group if a < b and group[a] == group[b]]
    refused = {13, 77}
    assert can_hold([*rivals, *([-v] for v in refused)], group) == set(group) - refused
