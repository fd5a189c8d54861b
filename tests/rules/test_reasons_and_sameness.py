"""What holds of every answer: each line has its reason, and the same question its same answer."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kb.catalogue import Catalogue, load_texts
from rules import answers as a
from rules.answers import Preference
from rules.resolve import package
from tests.support.dice import SeededDice
from tests.support.mini import MINI, mini, mini_question
from tests.support.small_catalogues import Entry, Scenario, scenarios, small_scenario

quick = settings(
    deadline=None, max_examples=80, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)


@cache
def possible() -> tuple[tuple[Scenario, Catalogue, a.Package], ...]:
    """Scenarios that have a package, with their catalogue and answer."""
    made = [small_scenario(SeededDice(seed)) for seed in range(300)]
    asked = [(scenario, scenario.catalogue()) for scenario in made]
    found = [(s, catalogue, package(catalogue, s.question())) for s, catalogue in asked]
    return tuple(one for one in found if one[2].outcome != "impossible")


# -- reasons ------------------------------------------------------------------------------------


def chains(answer: a.Package) -> Iterator[tuple[str, tuple[a.Link, ...]]]:
    """What is explained, and its chain of reasons, of all but the stock parts that stay."""
    yield from ((f"part:{li.part}", li.because) for li in answer.lines if li.status != "kept")
    yield from ((f"step:{work.step}", work.because) for work in answer.work)


def begins_well(first: a.Link, answer: a.Package, catalogue: Catalogue) -> bool:
    """With a pick, a rule of every package, or what a stock part calls for."""
    picked = {f"part:{line.part}" for line in answer.lines if line.status == "picked"}
    return (
        (first.node in picked and first.text.startswith("you asked for"))
        or first.text.startswith("every package on this car needs")
        or any(name in first.text for name in stock_names(catalogue))
    )


def stock_names(catalogue: Catalogue) -> list[str]:
    fitted = catalogue.vehicles["tern"].fitted
    return [catalogue.parts[choice.part].name for choices in fitted.values() for choice in choices]


def test_every_line_has_a_chain_of_reasons_that_begins_with_the_question_or_the_car() -> None:
    explained = 0
    for scenario, catalogue, answer in possible():
        for what, chain in chains(answer):
            explained += 1
            assert chain, f"{what} of {scenario.picks}"
            assert chain[-1].node == what
            assert begins_well(chain[0], answer, catalogue), f"{what}: {chain[0].text}"
    assert explained >= 200


def test_a_chain_goes_from_thing_to_thing_in_the_package() -> None:
    for _, _, answer in possible():
        there = {what for what, _ in chains(answer)}
        for what, chain in chains(answer):
            nodes = [link.node for link in chain]
            assert len(set(nodes)) == len(nodes), what
            assert all(node in there or node.startswith("place:") for node in nodes), what


def test_a_stock_part_that_stays_says_who_relies_on_it() -> None:
    kept = [
        (line, answer) for _, _, answer in possible()
        for line in answer.lines if line.status == "kept"
    ]
    assert len(kept) >= 10
    for line, answer in kept:
        askers = {what for what, _ in chains(answer)} | {"rule:r0", "rule:r1"}
        askers |= {f"part:{other.part}" for other in answer.lines}
        assert line.because
        assert all(serving.asked_by in askers for serving in line.serves)


def test_the_chain_of_the_hand_made_kit_reads_from_pick_to_clip() -> None:
    answer = package(mini(), mini_question("k1"))
    clip = next(line for line in answer.lines if line.part == "clip")
    assert [link.node for link in clip.because] == [
        "part:k1", "part:big", "step:move-hose", "part:clip",
    ]


# -- sameness -----------------------------------------------------------------------------------


def dumped(answer: a.Package) -> str:
    return answer.model_dump_json()


def shuffled(scenario: Scenario, order: list[int]) -> dict[str, str]:
    """The same entries in another order, split over other files."""
    entries = [
        (section, key, entry) for section, body in scenario.sections.items()
        if section != "catalog" for key, entry in body.items()
    ]
    ranked = sorted(range(len(entries)), key=lambda i: (order[i % len(order)], -i))
    files: list[dict[str, Any]] = [{"catalog": scenario.sections["catalog"]}, {}, {}]
    for place, i in enumerate(ranked):
        section, key, entry = entries[i]
        body: dict[str, Entry] = files[place % 3].setdefault(section, {})
        body[key] = dict(reversed(entry.items()))
    names = ("z/parts.yaml", "a.yaml", "m/n/rest.yaml")
    return {name: json.dumps(body) for name, body in zip(names, files, strict=True)}


@quick
@given(scenarios(), st.lists(st.integers(0, 9), min_size=7, max_size=7))
def test_the_order_of_the_entries_and_their_files_change_nothing(
    scenario: Scenario, order: list[int]
) -> None:
    first = package(scenario.catalogue(), scenario.question(alternatives=True))
    other = load_texts(shuffled(scenario, order))
    second = package(other, scenario.question(alternatives=True))
    assert dumped(first) == dumped(second)


def test_asking_again_gives_the_same_bytes() -> None:
    for pick in ("k1", "big", "tyre15", "spacer"):
        question = mini_question(pick).model_copy(update={"alternatives": True})
        first = dumped(package(mini(), question))
        assert dumped(package(mini(), question)) == first
        assert dumped(package(load_texts({"again.yaml": MINI}), question)) == first


# -- what has nothing to do with the question ---------------------------------------------------

STRANGERS: dict[str, Entry] = {
    "x-pole": {"kind": "item", "name": "Pole", "takes": ["x-roof"], "price": "1.00 EUR",
               "fits": [{"vehicles": ["tern"]}], "requires": [{"part": "x-knob", "each": 2}]},
    "x-knob": {"kind": "item", "name": "Knob", "price": "0.50 EUR",
               "conflicts": [{"part": "x-flag"}]},
    "x-flag": {"kind": "item", "name": "Flag", "requires": [{"kind": "gasket"}]},
    "x-ring": {"kind": "gasket", "name": "Gasket", "price": "0.10 EUR"},
    "x-set": {"kind": "kit", "name": "Pole set", "contents": {"x-pole": 1, "x-knob": 2},
              "price": "1.50 EUR", "supersedes": ["x-flag"]},
}


def with_strangers(scenario: Scenario) -> Catalogue:
    """The catalogue with parts, a place, work and a rule that it does not mention."""
    car = scenario.sections["vehicles"]["tern"]
    places = {**car["places"], "x-roof": {"count": 1}}
    work = {"name": "Drill", "effect": "a hole", "reversible": False, "minutes": "9 min"}
    rule = {"when": [{"part": "x-pole"}], "then_any": [{"step": "x-drill"}]}
    more = {
        **scenario.sections,
        "vehicles": {"tern": {**car, "places": places}},
        "parts": {**scenario.sections["parts"], **STRANGERS},
        "work": {**scenario.sections["work"], "x-drill": work},
        "rules": {**scenario.sections["rules"], "x-rule": rule},
    }
    return load_texts({"all.yaml": json.dumps(more)})


@quick
@given(scenarios())
def test_parts_that_have_nothing_to_do_with_the_question_change_nothing(
    scenario: Scenario
) -> None:
    question = scenario.question(alternatives=True)
    first = package(scenario.catalogue(), question)
    second = package(with_strangers(scenario), question)
    # A way out of what is impossible may well be another part altogether.
    alike = {"catalog": first.catalog, "ways_out": ()}
    assert dumped(first.model_copy(update=alike)) == dumped(second.model_copy(update=alike))


def test_the_strangers_can_be_asked_for_themselves() -> None:
    """They are no empty ballast: a question about them does have an answer."""
    scenario = possible()[0][0]
    question = scenario.question().model_copy(update={"picks": (a.Item(part="x-pole"),)})
    answer = package(with_strangers(scenario), question)
    assert {"x-pole", "x-knob"} <= {line.part for line in answer.lines}
    assert [work.step for work in answer.work] == ["x-drill"]


@pytest.mark.parametrize("prefer", ["least_cost", "least_work", "fewest_parts"])
def test_the_order_of_the_picks_changes_no_cost(prefer: Preference) -> None:
    for scenario, catalogue, _ in possible()[:60]:
        question = scenario.question(prefer=prefer)
        turned = question.model_copy(update={"picks": question.picks[::-1]})
        one, other = package(catalogue, question), package(catalogue, turned)
        assert one.totals is not None
        assert other.totals is not None
        assert one.totals.price == other.totals.price
        assert one.totals.minutes == other.totals.minutes
        assert len(one.lines) == len(other.lines)


SAMPLE = """
from rules.resolve import package
from tests.support.dice import SeededDice
from tests.support.mini import mini, mini_question
from tests.support.small_catalogues import small_scenario

print(package(mini(), mini_question("k1")).model_dump_json())
for seed in range(40):
    scenario = small_scenario(SeededDice(seed))
    print(package(scenario.catalogue(), scenario.question(alternatives=True)).model_dump_json())
"""


def test_another_process_gives_the_same_bytes() -> None:
    """Sets of texts are walked in another order in each process; no answer may show it."""
    root = Path(__file__).parents[2]
    outputs = {
        subprocess.run(
            [sys.executable, "-c", SAMPLE], cwd=root, capture_output=True, check=True,
            env={**os.environ, "PYTHONHASHSEED": hash_seed, "PYTHONPATH": str(root)},
        ).stdout
        for hash_seed in ("1", "2")
    }
    assert len(outputs) == 1
    assert len(outputs.pop().splitlines()) == 41
