"""Worked examples from the published literature on configuration, in a catalogue's own words.

The car: Mittal and Falkenhainer, "Dynamic constraint satisfaction problems", Proceedings of AAAI
1990; its 198 solutions are the figure given in later work on conditional constraint problems. The
options of a family car: Junker, "QuickXPlain: preferred explanations and relaxations for
over-constrained problems", Proceedings of AAAI 2004. Both from memory; that the first comes to 198
again, counted by hand below, speaks for its constraints.
"""

from __future__ import annotations

from functools import cache
from itertools import product

import pytest

from kb.catalogue import Catalogue, load_texts
from rules import answers as a
from rules.asking import ask
from rules.options import options
from rules.resolve import package
from rules.sat import Sat

# -- the car ----------------------------------------------------------------------------------

CAR = """
catalog: {name: Worked car}
vehicles:
  tern:
    name: Tern
    years: 2015
    variants: {p: {name: P, engine: e}}
    places: {trim: {}, body: {}, power: {}, battery: {}, roof: {}, air: {}, glass: {}, opener: {}}
parts:
  luxury: {kind: item, name: Luxury trim, takes: [trim], fits: [{}], price: 30.00 EUR}
  deluxe: {kind: item, name: Deluxe trim, takes: [trim], fits: [{}], price: 20.00 EUR}
  standard: {kind: item, name: Standard trim, takes: [trim], fits: [{}], price: 10.00 EUR}
  convertible: {kind: item, name: Convertible, takes: [body], fits: [{}], price: 9.00 EUR}
  sedan: {kind: item, name: Sedan, takes: [body], fits: [{}], price: 3.00 EUR}
  hatchback: {kind: item, name: Hatchback, takes: [body], fits: [{}], price: 2.00 EUR}
  engine-s: {kind: item, name: Small engine, takes: [power], fits: [{}], price: 5.00 EUR}
  engine-m: {kind: item, name: Medium engine, takes: [power], fits: [{}], price: 6.00 EUR}
  engine-l: {kind: item, name: Large engine, takes: [power], fits: [{}], price: 8.00 EUR}
  battery-s: {kind: item, name: Small battery, takes: [battery], fits: [{}], price: 1.00 EUR}
  battery-m: {kind: item, name: Medium battery, takes: [battery], fits: [{}], price: 2.00 EUR}
  battery-l: {kind: item, name: Large battery, takes: [battery], fits: [{}], price: 4.00 EUR}
  sunroof-1: {kind: item, name: Sunroof one, takes: [roof], fits: [{}], price: 7.00 EUR}
  sunroof-2: {kind: item, name: Sunroof two, takes: [roof], fits: [{}], price: 5.00 EUR}
  air-1: {kind: item, name: Air conditioner one, takes: [air], fits: [{}], price: 4.00 EUR}
  air-2: {kind: item, name: Air conditioner two, takes: [air], fits: [{}], price: 6.00 EUR}
  tinted: {kind: item, name: Tinted glass, takes: [glass], fits: [{}], price: 2.00 EUR}
  clear: {kind: item, name: Clear glass, takes: [glass], fits: [{}], price: 1.00 EUR}
  auto: {kind: item, name: Automatic opener, takes: [opener], fits: [{}], price: 3.00 EUR}
  manual: {kind: item, name: Manual opener, takes: [opener], fits: [{}], price: 1.00 EUR}
rules:
  trim: {then_any: [{parts: [luxury, deluxe, standard]}]}
  body: {then_any: [{parts: [convertible, sedan, hatchback]}]}
  power: {then_any: [{parts: [engine-s, engine-m, engine-l]}]}
  luxury-roof: {when: [{part: luxury}], then_any: [{parts: [sunroof-1, sunroof-2]}]}
  luxury-air: {when: [{part: luxury}], then_any: [{parts: [air-1, air-2]}]}
  deluxe-roof: {when: [{part: deluxe}], then_any: [{parts: [sunroof-1, sunroof-2]}]}
  roof-2-opener: {when: [{part: sunroof-2}], then_any: [{parts: [auto, manual]}]}
  roof-1-air: {when: [{part: sunroof-1}], then_any: [{parts: [air-1, air-2]}]}
  roof-glass: {when: [{parts: [sunroof-1, sunroof-2]}], then_any: [{parts: [tinted, clear]}]}
  power-battery: {when: [{parts: [engine-s, engine-m, engine-l]}],
                  then_any: [{parts: [battery-s, battery-m, battery-l]}]}
  opener-roof: {when: [{parts: [auto, manual]}], then_any: [{parts: [sunroof-1, sunroof-2]}]}
  glass-roof: {when: [{parts: [tinted, clear]}], then_any: [{parts: [sunroof-1, sunroof-2]}]}
  roof-1-opener: {when: [{part: sunroof-1}, {parts: [auto, manual]}], then_any: []}
  convertible-roof: {when: [{part: convertible}, {parts: [sunroof-1, sunroof-2]}], then_any: []}
  small-air: {when: [{part: battery-s}, {part: engine-s}, {parts: [air-1, air-2]}], then_any: []}
  standard-air: {when: [{part: standard}, {part: air-2}], then_any: []}
  luxury-air-1: {when: [{part: luxury}, {part: air-1}], then_any: []}
  standard-convertible: {when: [{part: standard}, {part: convertible}], then_any: []}
  auto-air-1: {when: [{part: auto}, {part: air-1}], then_any: [{part: battery-m}]}
  auto-air-2: {when: [{part: auto}, {part: air-2}], then_any: [{part: battery-l}]}
  tinted-air: {when: [{part: sunroof-1}, {part: air-2}, {part: tinted}], then_any: []}
"""
ALWAYS = (
    ("luxury", "deluxe", "standard"), ("convertible", "sedan", "hatchback"),
    ("engine-s", "engine-m", "engine-l"),
)
OPTIONAL = (
    ("battery-s", "battery-m", "battery-l", ""), ("sunroof-1", "sunroof-2", ""),
    ("air-1", "air-2", ""), ("tinted", "clear", ""), ("auto", "manual", ""),
)
Built = frozenset[str]


@cache
def car() -> Catalogue:
    return load_texts({"car.yaml": CAR})


def allowed(trim: str, body: str, engine: str, battery: str, roof: str, air: str, glass: str,
            opener: str) -> bool:
    """The example's constraints, as plain conditions."""
    return (
        bool(battery)
        and (trim == "standard" or roof != "")
        and (trim != "luxury" or air == "air-2")
        and (roof != "sunroof-2" or opener != "")
        and (roof != "sunroof-1" or (air != "" and opener == ""))
        and (roof != "") == (glass != "")
        and (opener == "" or roof != "")
        and (body != "convertible" or (roof == "" and trim != "standard"))
        and not (battery == "battery-s" and engine == "engine-s" and air)
        and not (trim == "standard" and air == "air-2")
        and not (opener == "auto" and air == "air-1" and battery != "battery-m")
        and not (opener == "auto" and air == "air-2" and battery != "battery-l")
        and not (roof == "sunroof-1" and air == "air-2" and glass == "tinted")
    )


def asked_for(trim: str, _body: str, _engine: str, _battery: str, roof: str, air: str, _glass: str,
              opener: str) -> bool:
    """Whether nothing is there that no constraint calls for, as the example has it."""
    return (
        (air == "" or trim == "luxury" or roof == "sunroof-1")
        and (roof == "" or trim != "standard")
        and (opener == "" or roof == "sunroof-2")
    )


@cache
def solutions() -> frozenset[Built]:
    return frozenset(
        frozenset(filter(None, built)) for built in product(*ALWAYS, *OPTIONAL) if allowed(*built)
    )


def question(*picks: str, **more: object) -> a.Question:
    return a.Question.model_validate({
        "vehicle": "tern", "picks": [{"part": part} for part in picks], "alternatives": False,
        **more,
    })


def test_the_example_is_the_published_one() -> None:
    minimal = [
        built for built in product(*ALWAYS, *OPTIONAL) if allowed(*built) and asked_for(*built)
    ]
    assert len(minimal) == 198


def test_the_statements_allow_exactly_the_solutions_of_the_example() -> None:
    asked = ask(car(), question())
    parts = dict(asked.problem.new_parts())
    found: set[Built] = set()
    with Sat(asked.problem, asked.reasons) as sat:
        while sat.solve():
            model = sat.model()
            found.add(frozenset(part for part, variable in parts.items() if variable in model))
            sat.solver.add_clause([-v if v in model else v for v in parts.values()])
    assert found == solutions()


@pytest.mark.parametrize("picks", [
    (), ("luxury",), ("deluxe",), ("standard",), ("engine-s", "air-1"), ("auto", "air-2"),
    ("sunroof-1", "tinted"),
])
def test_what_is_forced_possible_and_out_is_what_the_solutions_say(picks: tuple[str, ...]) -> None:
    left = [built for built in solutions() if built.issuperset(picks)]
    places = ("trim", "body", "power", "battery", "roof", "air", "glass", "opener")
    answer = options(car(), question(*picks), places)
    states = {o.ref.part: o.state for place in answer.places for o in place.parts}
    assert len(states) == 20
    for part, state in states.items():
        share = sum(part in built for built in left)
        expected = "forced" if share == len(left) else "possible" if share else "out"
        assert state == expected, part


def test_no_convertible_can_be_built_and_why() -> None:
    """Luxury and deluxe call for a sunroof, which it cannot have; standard is not for it."""
    answer = package(car(), question("convertible"))
    (clash,) = answer.clashes
    assert {member.statement for member in clash.members} == {
        "pick:convertible", "rule:trim", "rule:luxury-roof", "rule:deluxe-roof",
        "rule:convertible-roof", "rule:standard-convertible",
    }
    texts = [way.changes[0].text for way in answer.ways_out]
    assert texts == [
        "leave out Convertible", "take Hatchback in place of Convertible",
        "take Sedan in place of Convertible",
    ]


@pytest.mark.parametrize("pick", ["luxury", "deluxe", "auto", "air-2", "engine-l"])
def test_the_least_package_is_the_cheapest_solution(pick: str) -> None:
    prices = {key: part.price.cents for key, part in car().parts.items() if part.price}
    costs = {built: sum(prices[part] for part in built) for built in solutions() if pick in built}
    answer = package(car(), question(pick))
    assert answer.totals is not None
    assert round(float(answer.totals.price) * 100) == min(costs.values())
    assert costs[frozenset(line.part for line in answer.lines)] == min(costs.values())


# -- the options of a family car --------------------------------------------------------------

FAMILY = """
catalog: {name: Family car}
vehicles: {tern: {name: Tern, years: 2015, variants: {p: {name: P, engine: e}}}}
parts:
  roof-rack: {kind: item, name: Roof rack, price: 500.00 EUR}
  player: {kind: nut, name: Player, price: 500.00 EUR}
  extra-seat: {kind: bolt, name: Extra seat, price: 800.00 EUR}
  metal-paint: {kind: oil, name: Metal paint, pack: 1 L, price: 500.00 EUR}
  luxury: {kind: seal, name: Luxury version, price: 2600.00 EUR}
"""
OPTIONS = ("roof-rack", "player", "extra-seat", "metal-paint", "luxury")


def test_a_budget_of_3000_leaves_the_luxury_version_or_all_the_rest() -> None:
    """The relaxations of the example: without the luxury version 500 + 500 + 800 + 500 = 2300;
    with it nothing else goes, since 2600 + 500 is more than 3000. All of them cost 4900."""
    answer = package(load_texts({"a.yaml": FAMILY}), question(*OPTIONS, budget="3000"))
    ways = {frozenset(c.part or c.type for c in way.changes): way.price for way in answer.ways_out}
    assert ways == {
        frozenset({"luxury"}): "2300.00", frozenset({"raise_budget"}): "4900.00",
        frozenset(OPTIONS) - {"luxury"}: "2600.00",
    }


def test_the_conflict_of_the_example_is_the_luxury_version_with_one_other_option() -> None:
    """Its minimal conflicts are the pairs of the luxury version with each of the others."""
    answer = package(load_texts({"a.yaml": FAMILY}), question(*OPTIONS, budget="3000"))
    (clash,) = answer.clashes
    picks = {m.statement for m in clash.members if m.type == "pick"}
    assert "pick:luxury" in picks
    assert len(picks) == 2
    assert len(clash.members) == 3
