"""Why parts are in no package: what is said rules them out, and no statement of it is idle."""

from __future__ import annotations

from collections.abc import Collection

from hypothesis import Phase, given, settings
from pysat.solvers import Solver

from kb.baseline import baselines, find_baseline
from kb.catalogue import load_texts
from rules.audit_reasons import reason_alone
from rules.audit_whole import Whole
from rules.cone import Cone
from rules.sat import clauses
from rules.situation import Situation, situation_of
from tests.bench.packages import package_texts
from tests.support.small_catalogues import Scenario, scenarios


def ruled_out(at: Situation, part: str, statements: Collection[str]) -> bool:
    """Whether a part is in no package by these statements alone.

    Such as `dead:k0` only says that another part is in none, which has reasons of its own.
    """
    cone = Cone(at, {}, {})
    cone.enter([part])
    stated = [
        clause.literals for clause in clauses(cone.problem, cone.say)
        if clause.reason is None or clause.reason.key in statements
    ]
    stated += [
        [-cone.problem.variables["new", key.removeprefix("dead:")]]
        for key in statements if key.startswith("dead:")
    ]
    with Solver(name="minisat22", bootstrap_with=stated) as solver:
        return not solver.solve([cone.problem.variables["new", part]])


def hold_as_reasons(at: Situation) -> int:
    """Check the reason of every dead part, and say how many there are."""
    whole = Whole(at)
    dead = [key for key, _ in whole.problem.new_parts()
            if at.buyable(key) and key not in whole.possible_parts]
    told = whole.why_not(dead)
    assert told.keys() == set(dead)
    for part, reasons in told.items():
        for found in (reasons, reason_alone(at, part)[0]):
            keys = [reason.key for reason in found]
            said_dead = {key.removeprefix("dead:") for key in keys if key.startswith("dead:")}
            assert said_dead.isdisjoint(whole.possible_parts)
            assert ruled_out(at, part, keys)
            for key in keys:
                assert not ruled_out(at, part, [other for other in keys if other != key])
    return len(dead)


@given(scenarios())
@settings(max_examples=150, deadline=None, phases=[Phase.reuse, Phase.generate])
def test_each_reason_rules_its_part_out_and_none_of_it_is_idle(scenario: Scenario) -> None:
    catalogue = scenario.catalogue()
    for car in baselines(catalogue):
        at = situation_of(catalogue, car)
        if Whole(at).empty_is_possible:
            hold_as_reasons(at)


def test_so_it_is_where_many_hang_on_one_cause() -> None:
    host = load_texts(package_texts(1500, seed=5))
    assert hold_as_reasons(situation_of(host, find_baseline(host, "host"))) > 5
