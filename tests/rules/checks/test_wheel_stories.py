"""What the demo catalogue shows of wheels, tyres, calipers and studs."""

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

CAR = ("quernby", 2017, "q16")
VAN = ("haulwick", 2018, "h15d")


@cache
def demo() -> Catalogue:
    return load(Path(__file__).parents[3] / "demo_catalog")


def judged(
    car: tuple[str, int, str], check: str, *parts: str, axle: Axle = "front"
) -> dict[str, Verdict]:
    at = situation_of(demo(), find_baseline(demo(), *car))
    members = tuple(Member(part) for part in parts)
    return {v.aspect: v for v in at.verdicts(checks()[check], members, axle)}


def test_a_caliper_clears_its_wheel_by_a_hair() -> None:
    radial = judged(CAR, "caliper-in-wheel", "caliper-cairn", "wheel-corrie-15")["radial"]
    assert radial.verdict == "fits"
    assert radial.worst_case is not None
    assert radial.required is not None
    assert 0 <= radial.worst_case - radial.required < 0.2


def test_one_fails_only_in_the_worst_case_of_the_tolerances() -> None:
    radial = judged(VAN, "caliper-in-wheel", "caliper-cairn", "wheel-garth-15")["radial"]
    assert radial.verdict == "not_known"
    assert radial.measure == ("gap caliper to the barrel",)
    assert radial.margin is not None
    assert radial.worst_case is not None
    assert radial.required is not None
    assert radial.worst_case < radial.required <= radial.margin


def test_one_fits_after_work_front_and_rear() -> None:
    parts = ("tyre-wide-16", "wheel-corrie-16")
    front = judged(CAR, "tyre-room", *parts)
    assert front["tower-lip"].work == ("dress-tower-lip",)
    assert front["front-hose"].work == ("move-front-hose",)
    rear = judged(CAR, "tyre-room", *parts, axle="rear")
    assert rear["rear-flange"].work == ("fold-rear-flange", "trim-rear-flange")


def test_one_lacks_a_measurement() -> None:
    found = judged(VAN, "tyre-room", "tyre-load-15", "wheel-corrie-15", axle="rear")
    assert found["rear-pipe"].verdict == "not_known"
    assert "brake pipe clip" in found["rear-pipe"].measure[0]


def test_a_trial_fit_overrides_what_is_computed() -> None:
    axial = judged(CAR, "caliper-in-wheel", "caliper-tor", "wheel-rigg-16")["axial"]
    assert axial.verdict == "fits"
    assert axial.basis == "trial_fitted"
    assert axial.overrules is not None
    assert axial.overrules.verdict == "not_known"


def test_a_spacer_takes_the_spokes_off_the_caliper() -> None:
    parts = ("caliper-tor", "wheel-scarp-16")
    assert judged(CAR, "caliper-in-wheel", *parts)["axial"].verdict == "does_not_fit"
    assert judged(CAR, "caliper-in-wheel", *parts, "spacer-12")["axial"].verdict == "fits"


def test_a_spacer_asks_for_longer_studs() -> None:
    parts = ("nut-cone-12", "wheel-corrie-16", "stud-stock-12")
    assert judged(CAR, "nut-engagement", *parts)[""].verdict == "fits"
    assert judged(CAR, "nut-engagement", *parts, "spacer-5")[""].verdict == "does_not_fit"


def test_the_package_for_the_wide_tyre_holds_the_work_that_was_computed() -> None:
    question = Question(vehicle="quernby", year=2017, variant="q16", alternatives=False,
                        picks=(Item(part="tyre-wide-16"), Item(part="wheel-corrie-16")))
    answer: Package = package(demo(), question)
    assert answer.outcome == "complete"
    assert {"dress-tower-lip", "move-front-hose"} <= {step.step for step in answer.work}
    assert {"fold-rear-flange", "trim-rear-flange"} & {step.step for step in answer.work}
