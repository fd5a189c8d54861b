"""What the demo catalogue shows of brakes and suspension."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from kb.baseline import find_baseline
from kb.catalogue import Catalogue, load
from kb.statements import Axle
from rules.answers import Item, Package, Question
from rules.checking import Verdict, checks
from rules.resolve import package
from rules.situation import Member, situation_of

PETROL = ("quernby", 2014, "q12")
DIESEL = ("quernby", 2014, "q15d")
VAN = ("haulwick", 2017, "h15d")


@cache
def demo() -> Catalogue:
    return load(Path(__file__).parents[3] / "demo_catalog")


def judged(
    car: tuple[str, int, str], check: str, *parts: str, axle: Axle | None = None
) -> dict[str, Verdict]:
    at = situation_of(demo(), find_baseline(demo(), *car))
    return {
        v.aspect: v for v in at.verdicts(checks()[check], tuple(map(Member, parts)), axle)
    }


def ordered(car: tuple[str, int, str], *picks: str) -> Package:
    vehicle, year, variant = car
    return package(demo(), Question(
        vehicle=vehicle, year=year, variant=variant, alternatives=False,
        picks=tuple(Item(part=part) for part in picks),
    ))


def test_the_large_caliper_brings_the_larger_master_cylinder() -> None:
    answer = ordered(PETROL, "caliper-tor")
    (master,) = (line for line in answer.lines if line.kind == "master-cylinder")
    assert master.part == "master-222"
    assert "12.8 mm" in master.because[-1].text
    (travel,) = (line for line in answer.checks if line.check == "pedal-travel")
    assert travel.verdict == "fits"


def test_the_smaller_caliper_does_not() -> None:
    answer = ordered(PETROL, "caliper-cairn")
    assert not [line for line in answer.lines if line.kind == "master-cylinder"]
    (travel,) = (line for line in answer.checks if line.check == "pedal-travel")
    assert (travel.verdict, travel.parts[-1]) == ("fits", "master-stock-206")


def test_a_stronger_rear_caliper_stays_in_balance_by_a_hair_and_is_to_be_measured() -> None:
    answer = ordered(DIESEL, "caliper-fold")
    assert answer.outcome == "complete_once_measured"
    assert [m.what for m in answer.measure_first] == [
        "brake force of each axle on a tester, as driven"
    ]
    order = next(line for line in answer.checks if line.check == "brake-balance")
    assert order.margin is not None
    assert order.worst_case is not None
    assert order.worst_case < 0.8 <= order.margin
    assert ordered(PETROL, "caliper-fold").outcome == "complete"


def test_one_spring_set_is_right_for_one_engine_and_wrong_for_the_other() -> None:
    parts = ("spring-f-40", "damper-grit-f", "engine-p12", "helper-f-60")
    light = judged(PETROL, "spring-on-damper-engine", *parts, axle="front")
    assert {verdict.verdict for verdict in light.values()} == {"fits"}
    heavy = judged(DIESEL, "spring-on-damper", *parts[:2], parts[3], axle="front")
    assert heavy["coil bind"].verdict == "does_not_fit"
    assert heavy["bump travel"].verdict == "fits"


def test_each_engine_gets_its_own_springs_with_the_same_damper() -> None:
    for car, spring in ((PETROL, "spring-f-40"), (DIESEL, "spring-f-48"), (VAN, "spring-f-56")):
        lines = ordered(car, "damper-grit-f").lines
        assert [line.part for line in lines if line.part.startswith("spring-f")] == [spring]


def test_the_diesel_van_clears_its_coils_by_a_hair() -> None:
    parts = ("spring-f-56", "damper-grit-f", "helper-f-60")
    bind = judged(VAN, "spring-on-damper", *parts, axle="front")["coil bind"]
    assert bind.verdict == "fits"
    assert bind.worst_case is not None
    assert bind.required is not None
    assert 0 <= bind.worst_case - bind.required < 0.5


def test_another_engine_asks_for_other_springs() -> None:
    rated = judged(PETROL, "spring-rating-engine", "spring-f-48", "engine-p20", axle="front")
    assert rated[""].verdict == "fits"
    soft = judged(PETROL, "spring-rating-engine", "spring-f-40", "engine-p20", axle="front")
    assert soft[""].verdict == "does_not_fit"


def test_the_van_with_drums_is_balanced_too() -> None:
    answer = ordered(VAN, "cylinder-h-222")
    found = {line.verdict for line in answer.checks if line.check == "brake-balance-drums"}
    assert found == {"fits"}
