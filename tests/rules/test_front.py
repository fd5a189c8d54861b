"""Offers side by side, against the money, minutes and mass of every package there is."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

import pytest

from kb.catalogue import load_texts
from rules import answers as a
from rules.front import front
from rules.resolve import package
from tests.support.dice import SeededDice, chance, some
from tests.support.oracle import Findings, TooLarge
from tests.support.small_catalogues import small_scenario
from tests.support.wishful import Wishful

Point = tuple[int, int, int]
"""Money in hundredths, time in seconds, mass on the car in grams."""


def weighed(seed: int) -> Wishful:
    """A random scenario in which every part has a mass and a time, and two needs leave a choice."""
    dice = SeededDice(seed)
    scenario = small_scenario(dice)
    sections = scenario.sections
    for part in sections["parts"].values():
        if part["kind"] not in ("kit", "oil"):  # of oil the oracle takes next to none
            part["mass"] = f"{dice.whole(1, 40) * 100} g"
            part["fitting_time"] = f"{dice.whole(1, 20)} min"
    added = [key for key in sections["parts"] if key.startswith("a")]
    for i in range(2):
        choice = [{"part": part} for part in some(dice, added, 4)]
        sections["rules"][f"choice{i}"] = {"when": [], "then_any": choice}
    return Wishful(seed, scenario, (), Fraction(6000) if chance(dice, 15) else None)


def at_least_as_good(one: Point, other: Point) -> bool:
    return all(mine <= theirs for mine, theirs in zip(one, other, strict=True))


def beats(one: Point, other: Point) -> bool:
    return one != other and at_least_as_good(one, other)


def points(findings: Findings, unpriced: int) -> set[Point]:
    """What the packages come to, those with as few unpriced parts as can be."""
    return {
        (int(c["money"]), int(c["minutes"]), int(c["mass"]))
        for _, ways in findings.packages for c in ways if c["unpriced"] == unpriced
    }


def offered(made: Wishful, answer: a.Front) -> list[Point]:
    """What the offers come to; the mass that stays is added to the change."""
    car, parts = made.oracle.car, made.catalogue.parts
    stock = sum(
        round(mass.value * 1000) * car.places[place].count
        for place, part in car.fitted.items() if (mass := parts[part].mass)
    )
    totals = [p.totals for p in answer.packages if p.totals is not None]
    return [
        (int(Decimal(t.price) * 100), round(t.minutes * 60), stock + round(t.mass_change * 1000))
        for t in totals
    ]


def compare(seeds: Iterable[int]) -> list[int]:
    """Hold the offers of a row of questions against every package; how many there were of each."""
    sizes = []
    for seed in seeds:
        made = weighed(seed)
        try:
            findings = made.findings(made.keys)
        except TooLarge:
            continue
        if not findings.possible:
            continue
        unpriced = int(findings.least(("unpriced",))[0])
        everything, lean = points(findings, unpriced), points(findings.irreducible(), unpriced)
        answer = front(made.catalogue, made.question(), 50)
        found = offered(made, answer)
        assert answer.complete, seed
        assert found == sorted(set(found)), seed
        assert set(found) <= everything, seed
        assert not any(beats(one, other) for one in found for other in found), seed
        # What nobody asks for is not added for its lightness alone, so only packages from which
        # nothing can be left out have to be matched.
        for point in lean:
            assert any(at_least_as_good(mine, point) for mine in found), (seed, point)
        least_of_all = min(everything)[:2]
        assert found[0][:2] == least_of_all, seed
        sizes.append(len(found))
    return sizes


def test_the_offers_are_those_that_no_package_beats() -> None:
    sizes = compare(range(220))
    assert sum(size > 1 for size in sizes) >= 10
    assert max(sizes) >= 3


@pytest.mark.slow
@pytest.mark.parametrize("start", range(260, 2260, 400))
def test_a_long_row_of_offers_agrees(start: int) -> None:
    compare(range(start, start + 400))


TRADE_OFF = """
catalog: {name: Wheels, labour_rate: "60.00 EUR"}
vehicles:
  tern: {name: Tern, years: 2015, variants: {p: {name: P, engine: e}}, places: {seat: {}}}
parts:
  want: {kind: item, name: Want, price: 1.00 EUR, requires: [{kind: gasket}]}
  cheap: {kind: gasket, name: Cheap, price: 10.00 EUR, mass: 3 kg, fitting_time: 3 min}
  quick: {kind: gasket, name: Quick, price: 20.00 EUR, mass: 3 kg, fitting_time: 1 min}
  light: {kind: gasket, name: Light, price: 30.00 EUR, mass: 1 kg, fitting_time: 3 min}
  beaten: {kind: gasket, name: Beaten, price: 30.00 EUR, mass: 2 kg, fitting_time: 3 min}
  pair: {kind: gasket, name: Pair, price: 9.50 EUR, mass: 1 kg, fitting_time: 3 min,
         requires: [{part: half}]}
  half: {kind: item, name: Half, price: 0.50 EUR, mass: 1 kg}
"""


def trade_off(most: int) -> a.Front:
    question = a.Question(vehicle="tern", picks=(a.Item(part="want"),), prefer="least_work")
    return front(load_texts({"a.yaml": TRADE_OFF}), question, most)


def parts(answer: a.Front) -> list[set[str]]:
    return [{line.part for line in p.lines} - {"want"} for p in answer.packages]


def test_of_packages_that_cost_the_same_the_lighter_one_is_offered_though_it_has_more_parts(
) -> None:
    """Cheap: 10.00, 3 kg; pair and half: 9.50 + 0.50 = 10.00, 2 kg: both 3 minutes."""
    assert parts(trade_off(5)) == [{"pair", "half"}, {"quick"}, {"light"}]


def test_fewer_offers_than_there_are_say_so_and_no_fewer_say_that_they_are_all() -> None:
    assert not trade_off(2).complete
    assert len(trade_off(2).packages) == 2
    assert trade_off(3).complete


def test_only_the_first_offer_claims_to_be_the_least() -> None:
    claims = [p.proof.least for p in trade_off(5).packages if p.proof]
    assert claims == [True, False, False]


def test_an_impossible_question_has_no_offers_but_its_clashes() -> None:
    catalogue = load_texts({"a.yaml": TRADE_OFF})
    question = a.Question(vehicle="tern", picks=(a.Item(part="want"),), budget="5")
    answer = front(catalogue, question)
    assert answer.complete
    assert answer.packages == (package(catalogue, question),)
    assert answer.packages[0].outcome == "impossible"


CLEARED = """
catalog: {name: Cleared}
vehicles:
  tern:
    name: Tern
    years: 2015
    variants: {p: {name: P, engine: e}}
    places: {floor: {}, seat: {}}
    fitted: {floor: heavy}
parts:
  heavy: {kind: item, name: Heavy, takes: [floor], fits: [{}], orderable: false, mass: 9 kg}
  empty: {kind: item, name: Empty, clears: [floor], price: 1.00 EUR, mass: 1 kg}
  want: {kind: item, name: Want, price: 1.00 EUR, mass: 1 kg,
         requires: [{part: bolt, when: {present: [{parts: [heavy, want, empty]}]}}]}
  bolt: {kind: bolt, name: Bolt, price: 1.00 EUR, mass: 1 kg}
"""


def test_a_heavy_stock_part_is_not_cleared_away_where_that_settles_nothing() -> None:
    """The bolt is needed with the stock part or without: nobody asks for it to come off."""
    catalogue = load_texts({"a.yaml": CLEARED})
    question = a.Question(vehicle="tern", picks=(a.Item(part="want"),), prefer="least_mass")
    for answer in (package(catalogue, question), *front(catalogue, question).packages):
        assert {line.part for line in answer.lines} == {"want", "bolt"}
