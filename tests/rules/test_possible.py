"""Which parts can be in any package: asked of all at once as when each is asked of alone."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import product
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.asking import demo_folder
from kb.baseline import baselines, find_baseline
from kb.catalogue import Catalogue, load, load_texts
from kb.graph import graph_of
from rules.alike import alike
from rules.audit_whole import Whole
from rules.checking import checks
from rules.clearing import can_hold
from rules.combining import judge
from rules.cone import Cone
from rules.decisions import decisions_of
from rules.everywhere import dead_everywhere
from rules.outcomes import yes_or_no
from rules.plain_parts import PlainParts
from rules.possible import impossible_parts, never_possible
from rules.sat import Sat
from rules.situation import Situation, situation_of
from rules.teams import Teams
from tests.bench.packages import package_texts
from tests.bench.shop import dead_parts, shop_texts
from tests.support.dice import SeededDice
from tests.support.random_shops import random_shop
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


def never_one_by_one(catalogue: Catalogue) -> set[str]:
    """The parts that no car has a package with, also compared car by car."""
    expected = set(catalogue.parts)
    for car in baselines(catalogue):
        on_car = impossible_one_by_one(catalogue, situation_of(catalogue, car))
        assert impossible_parts(catalogue, car) == on_car
        expected &= on_car
    return expected


@pytest.mark.parametrize("seed", [
    *range(25), *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(25, 150)),
])
def test_in_shops_of_several_cars_too(seed: int) -> None:
    """What is shared between cars, and found without a search, is as each part asked alone."""
    shop = random_shop(SeededDice(seed)).catalogue()
    assert never_possible(shop, baselines(shop)) == never_one_by_one(shop)


def test_random_shops_show_what_they_are_for() -> None:
    """What the maker never makes would not be tested."""
    shown: Counter[str] = Counter()
    for seed in range(40):
        shop = random_shop(SeededDice(seed)).catalogue()
        dead = dead_everywhere(shop, graph_of(shop).parts_on_any())
        plain = PlainParts(shop, dead)
        for group in alike(shop):
            at = yes_or_no(shop, group[0])
            on_car = list(at.graph.parts_on(at.car))
            harmless = plain.harmless(at, on_car)
            shown += Counter({
                "group": 1, "harmless": len(harmless), "car": len(group),
                "team": len(Teams(plain, at, harmless).members(on_car)),
            })
        never_possible(shop, baselines(shop))
        shown += Counter({"dead everywhere": len(dead), "shared": decisions_of(shop).shared})
    assert shown["group"] < shown["car"]
    wanted = ("harmless", "team", "dead everywhere", "shared")
    assert min(shown[key] for key in wanted) > 20, shown


@pytest.mark.parametrize("step", [9, pytest.param(1, marks=pytest.mark.slow)])
def test_on_the_demo_checks_decide_as_with_their_words(step: int) -> None:
    demo = load(demo_folder())
    for group in alike(demo)[::step]:
        whole = Whole(situation_of(demo, group[0]))
        impossible = impossible_parts(demo, group[0])
        for part, _ in whole.problem.new_parts():
            if whole.at.buyable(part):
                assert (part in impossible) == (part not in whole.possible_parts), part


def test_checks_that_inform_say_no_more_than_that_it_fits() -> None:
    """They are left out where only is asked what is possible."""
    demo, judged = load(demo_folder()), Counter[str]()
    for group in alike(demo)[::9]:
        at = situation_of(demo, group[0])
        by = [check for check in checks().values() if check.informs]
        parts = [part for part in demo.parts if at.for_sale(part)]
        for found in judge(at, parts, (), by):
            judged[found.check.name] += 1
            said = found.verdict.overrules or found.verdict  # what a trial fit says stands above
            assert (said.verdict, said.needs) == ("fits", ())
    assert len(judged) > 8, judged


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


def test_what_is_dead_on_every_car_serves_nobody() -> None:
    """The hook needs the bolt and bars it; so it is dead, and so is what needs the hook."""
    cars = ", ".join(f"{car}: {{name: {car}, years: 2015, variants: {{p: {{name: P, engine: e}}}}}}"
                     for car in ("tern", "knot"))
    shop = load_texts({"all.yaml": f"""
vehicles: {{{cars}}}
parts:
  hook: {{kind: item, name: Hook, requires: [{{part: bolt}}], conflicts: [{{part: bolt}}]}}
  tow: {{kind: item, name: Tow, requires: [{{part: hook}}], fits: [{{vehicles: [tern]}}]}}
  bolt: {{kind: item, name: Bolt}}
  cap: {{kind: item, name: Cap, requires: [{{part: bolt}}]}}
"""})
    assert dead_everywhere(shop, shop.parts) >= {"hook"}
    assert never_possible(shop, baselines(shop)) == {"hook", "tow"}


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
