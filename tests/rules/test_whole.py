"""One problem for all parts of a car answers as one problem for each part would."""

from __future__ import annotations

from fractions import Fraction

import pytest

from api.asking import demo_folder
from kb.baseline import find_baseline
from kb.catalogue import Catalogue, load
from rules.audit_reasons import reason_alone
from rules.audit_whole import Whole
from rules.cone import Cone
from rules.reasons import Reasons
from rules.sat import Sat
from rules.situation import Situation, situation_of

CARS = (("quernby", 2017, "q16"), ("haulwick", 2016, "h15d"))


@pytest.fixture(scope="module")
def demo() -> Catalogue:
    return load(demo_folder())


def alone(at: Situation, part: str) -> Cone:
    return Cone(at, {part: Fraction(max(at.units(part), 1))}, {})


@pytest.mark.parametrize(("vehicle", "year", "variant"), CARS)
def test_a_part_is_possible_among_all_as_it_is_alone(
    demo: Catalogue, vehicle: str, year: int, variant: str
) -> None:
    at = situation_of(demo, find_baseline(demo, vehicle, year, variant))
    whole = Whole(at)
    parts = sorted(key for key, _ in whole.problem.new_parts() if at.buyable(key))[::4]
    assert len(parts) > 40
    for part in parts:
        with Sat(alone(at, part).problem, Reasons(at)) as sat:
            assert sat.solve() == (part in whole.possible_parts), part
        assert bool(reason_alone(at, part)[0]) == (part not in whole.possible_parts)
