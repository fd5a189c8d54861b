"""The order of work: laws over random catalogues, and stories from the demo."""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest
from hypothesis import HealthCheck, assume, given, settings

from kb.catalogue import Catalogue, load
from kb.errors import CatalogueError
from kb.stages import STAGE_AFTER, STAGES, Stage
from rules.answers import Item, Package, Question
from rules.plan import plan, plan_of
from rules.plan_models import Operation, Plan
from rules.resolve import package
from tests.kb.helpers import ROOT
from tests.support.small_catalogues import Scenario
from tests.support.staged import staged_scenarios

some_of_them = settings(
    deadline=None, max_examples=80, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)


def planned(scenario: Scenario) -> tuple[Catalogue, Package, Plan]:
    """A possible package of a random catalogue that loads, and its plan."""
    try:
        catalogue = scenario.catalogue()
    except CatalogueError:  # the order runs in a circle
        assume(False)
        raise
    answer = package(catalogue, scenario.question())
    assume(answer.outcome != "impossible")
    return catalogue, answer, plan_of(catalogue, answer)


def operations(found: Plan) -> dict[str, Operation]:
    return {o.id: o for stage in found.stages for o in stage.operations}


@cache
def before(stage: Stage) -> frozenset[Stage]:
    return frozenset(STAGE_AFTER[stage]).union(*map(before, STAGE_AFTER[stage]))


# -- laws -------------------------------------------------------------------------------------


@some_of_them
@given(staged_scenarios())
def test_everything_of_the_package_is_done_exactly_once(scenario: Scenario) -> None:
    catalogue, answer, found = planned(scenario)
    done = operations(found)
    fitted = Counter(key.removeprefix("fit:") for key in done if key.startswith("fit:"))
    fitted.update(used.part for o in done.values() for used in o.with_parts)
    timed_kits = {
        key for key in fitted if catalogue.parts[key].contents and catalogue.parts[key].fitting_time
    }
    lines = Counter(
        line.part for line in answer.lines
        if line.status != "kept"
        and (not catalogue.parts[line.part].contents or line.part in timed_kits)
    )
    assert fitted == lines
    assert {key[5:] for key in done if key.startswith("step:")} == {w.step for w in answer.work}
    assert {key[4:] for key in done if key.startswith("off:")} == {
        off.part for off in answer.comes_off
    }


@some_of_them
@given(staged_scenarios())
def test_every_order_is_kept_by_one_person_and_by_two(scenario: Scenario) -> None:
    catalogue, _, found = planned(scenario)
    done = operations(found)
    assert sorted(o.number for o in done.values()) == list(range(1, len(done) + 1))
    for operation in done.values():
        for first in map(done.__getitem__, operation.after):
            assert first.number < operation.number
            assert first.ends <= operation.starts
    for sort, entries in (("fit", catalogue.parts), ("step", catalogue.work)):
        for key, entry in entries.items():
            for order in entry.after:
                first = done.get(f"step:{order.step}" if order.step else f"fit:{order.part}")
                later = done.get(f"{sort}:{key}")
                if first and later and first is not later:
                    assert first.number < later.number
                    assert first.ends <= later.starts


@some_of_them
@given(staged_scenarios())
def test_a_stage_begins_when_those_before_it_are_over(scenario: Scenario) -> None:
    catalogue, _, found = planned(scenario)
    own = [
        (stage.stage, o) for stage in found.stages for o in stage.operations
        if not o.id.startswith("fit:") or catalogue.parts[o.id[4:]].stage
    ]
    for stage, first in own:
        for other, later in own:
            if stage in before(other):
                assert first.ends <= later.starts
                assert first.number < later.number


@some_of_them
@given(staged_scenarios())
def test_one_person_takes_the_time_that_the_package_states(scenario: Scenario) -> None:
    _, answer, found = planned(scenario)
    assert answer.totals is not None
    assert found.times is not None
    assert found.times.one_person == pytest.approx(answer.totals.minutes)
    assert sum(stage.minutes for stage in found.stages) == pytest.approx(answer.totals.minutes)
    assert found.times.critical_path <= found.times.two_people_least <= found.times.two_people
    assert found.times.two_people <= found.times.one_person
    assert sum(operations(found)[key].minutes for key in found.critical_path) == pytest.approx(
        found.times.critical_path)


# -- stories from the demo --------------------------------------------------------------------


@pytest.fixture(scope="module")
def demo() -> Catalogue:
    return load(ROOT / "demo_catalog")


def ask(demo: Catalogue, *picks: str, variant: str = "q10t") -> Plan:
    return plan(demo, Question(
        vehicle="quernby", year=2016, variant=variant, alternatives=False,
        picks=tuple(Item(part=pick) for pick in picks),
    ))


@pytest.fixture(scope="module")
def brakes(demo: Catalogue) -> Plan:
    return ask(demo, "caliper-cairn", "wheel-corrie-16")


def test_what_was_fitted_last_comes_off_first(brakes: Plan) -> None:
    done = operations(brakes)
    order = ["off:nut-stock-12", "off:wheel-q-steel-15", "off:pad-f-late", "off:caliper-f-late",
             "off:disc-f-276"]
    assert sorted(order, key=lambda key: done[key].number) == order


def test_disc_and_bracket_then_caliper_then_pads_then_wheel_then_nuts(brakes: Plan) -> None:
    done = operations(brakes)
    assert {"fit:disc-284-slot", "fit:bracket-cairn-late"} <= set(done["fit:caliper-cairn"].after)
    assert "fit:caliper-cairn" in done["fit:pad-cairn-road"].after
    wheels = ["fit:tyre-hover-16", "step:balance-wheels", "fit:wheel-corrie-16",
              "fit:nut-cone-12-set"]
    assert sorted(wheels, key=lambda key: done[key].number) == wheels


def test_each_stage_has_its_work(brakes: Plan) -> None:
    stages = {stage.stage: {o.id for o in stage.operations} for stage in brakes.stages}
    assert "step:trim-front-shield" in stages["modify"]
    assert stages["fluids"] == {"step:bleed-brakes"}
    assert stages["road"] == {"step:bed-front-pads"}
    assert list(stages) == [stage for stage in STAGES if stage in stages]


def test_fasteners_go_with_what_they_hold_and_bring_their_torque(brakes: Plan) -> None:
    done = operations(brakes)
    caliper = done["fit:caliper-cairn"]
    bolts = next(used for used in caliper.with_parts if used.part == "bolt-caliper-10")
    assert (bolts.qty, bolts.renew) == (4, True)
    assert [(j.what, j.torque, j.source) for j in caliper.torque] == [
        ("caliper to bracket", 62.0, "Pindlefast sheet 10-60")]
    assert {used.part for used in done["step:bleed-brakes"].with_parts} >= {"fluid-dot4-1"}
    assert "bolt-bracket-12" in {used.part for used in brakes.renew}


def test_no_torque_is_ever_made_up(demo: Catalogue, brakes: Plan) -> None:
    stated = {
        (joint.what, joint.value.value, joint.source)
        for entry in (*demo.parts.values(), *demo.work.values()) for joint in entry.torque
    }
    joints = [j for o in operations(brakes).values() for j in o.torque]
    assert joints
    assert all((j.what, j.torque, j.source) in stated for j in joints)


def test_time_that_is_not_stated_is_said(brakes: Plan) -> None:
    assert "fit:disc-284-slot" in brakes.untimed
    assert "fit:caliper-cairn" not in brakes.untimed
    assert not any(key.startswith(("step:", "off:")) for key in brakes.untimed)


def test_the_engine_bay_goes_on_beside_the_brakes(demo: Catalogue) -> None:
    """One at the brakes, one at the radiator: neither waits for the other."""
    done = operations(ask(demo, "caliper-cairn", "radiator-1600", variant="q16"))
    caliper, radiator = done["fit:caliper-cairn"], done["fit:radiator-1600"]
    assert caliper.person != radiator.person
    assert min(caliper.ends, radiator.ends) > max(caliper.starts, radiator.starts)


def test_an_engine_goes_onto_its_mounts_and_the_torque_rod_onto_the_engine(demo: Catalogue) -> None:
    done = operations(ask(demo, "engine-p20", variant="q16"))
    off = ["off:torque-rod-stock", "off:engine-p16", "off:mount-right-stock"]
    fitted = ["fit:mount-right-p20", "fit:engine-p20", "fit:torque-rod-firm"]
    for order in (off, fitted):
        assert sorted(order, key=lambda key: done[key].number) == order
    assert done["fit:flywheel-p20-steel"].number < done["fit:engine-p20"].number
    assert done["step:join-body-plug"].number > done["fit:harness-p20-late"].number


def test_lists_follow_from_what_was_touched(demo: Catalogue, brakes: Plan) -> None:
    texts = {todo.name: " ".join(item.text for item in todo.items) for todo in brakes.lists}
    assert "Bleed the brakes" in texts["Before the wheels touch the ground"]
    assert "Bed in pads and discs" in texts["Before the road"]
    assert "torque of the wheel nuts" in texts["After 50 km, at the latest after 100 km"]
    assert "First start" not in texts
    assert all(item.source and item.because for todo in brakes.lists for item in todo.items)
    engine = ask(demo, "radiator-1600", variant="q16").lists
    assert {"First start"} == {todo.name for todo in engine} - set(texts)


def test_what_cannot_be_has_no_order_of_work(demo: Catalogue) -> None:
    found = ask(demo, "caliper-cairn", "caliper-tor")
    assert found.outcome == "impossible"
    assert found.clashes
    assert (found.stages, found.times) == ((), None)
