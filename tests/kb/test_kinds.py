"""A new kind of part is one new module, and nothing else changes."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from kb.dimensions import Dimensions, fact_groups, kinds
from kb.matching import sort_of
from kb.schema import catalogue_schema
from tests.kb.helpers import ROOT, problems

MODULE = '''
"""Roof racks, and the roof they sit on."""

from __future__ import annotations

from kb.dimensions import Dimensions, Facts
from kb.units import Length, Mass


class RoofRack(Dimensions, kind="roof-rack"):
    """Two bars and four feet."""

    caution = "Roof racks: never above the load the roof is rated for."
    spread: Length | None = None
    load: Mass | None = None


class Roof(Facts, group="roof"):
    """The roof."""

    spread: Length | None = None
'''

PROGRAM = '''
import sys

import kb.kinds

kb.kinds.__path__.append(sys.argv[1])

from kb.baseline import find_baseline
from kb.catalogue import load_texts
from kb.matching import matches
from kb.schema import catalogue_schema

known = load_texts({"x.yaml": """
vehicles:
  plover:
    name: Plover
    years: 2016
    variants: {p16: {name: "1.6", engine: kb16}}
    places: {roof: {}}
    facts: [{about: roof, spread: 1.1 m}]
parts:
  rack: {kind: roof-rack, name: Rack, takes: [roof], dimensions: {spread: 1100 mm, load: 75 kg}}
  box:
    kind: item
    name: Box
    requires:
      - kind: roof-rack
        match: {load: {at_least: 60 kg}, spread: {equals: {fact: roof.spread}}}
"""})
rack, need = known.parts["rack"], known.parts["box"].requires[0]
car = find_baseline(known, "plover")
fact = lambda name: car.fact(name).value
print(rack.dimensions.spread, rack.dimensions.caution)
print(matches(need.match, "roof-rack", rack.dimensions, None, fact))
print("RoofRackPart" in catalogue_schema()["$defs"], "RoofBlock" in catalogue_schema()["$defs"])
'''


def test_a_module_that_is_dropped_in_is_all_it_takes(tmp_path: Path) -> None:
    (tmp_path / "roof.py").write_text(MODULE)
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", PROGRAM, str(tmp_path)],
        capture_output=True, text=True, cwd=ROOT, check=False,
    )
    assert done.stderr == ""
    assert done.stdout.splitlines() == [
        "1100 mm Roof racks: never above the load the roof is rated for.",
        "(True, ())",
        "True True",
    ]


def test_an_unknown_kind_is_answered_with_all_there_are() -> None:
    assert problems("parts: {washer: {kind: qqqq, name: Washer}}") == [
        f"0.yaml:1: parts 'washer': unknown kind 'qqqq'; expected one of {', '.join(kinds())}"
    ]


def test_one_kind_cannot_be_declared_in_two_modules() -> None:
    with pytest.raises(TypeError, match=r"'wheel' is declared in kb\.kinds\.wheel and in"):
        type("OtherWheel", (Dimensions,), {"__module__": "elsewhere"}, kind="wheel")


@pytest.mark.parametrize("kind", sorted(kinds()))
def test_every_dimension_of_every_kind_may_be_missing(kind: str) -> None:
    assert problems(f"parts: {{a: {{kind: {kind}, name: A}}}}") == []


def test_every_dimension_and_fact_is_of_a_sort_that_can_be_compared() -> None:
    for model in (*kinds().values(), *fact_groups().values()):
        for name in model.model_fields:
            assert sort_of(model, name)


def test_the_schema_knows_every_kind() -> None:
    parts = catalogue_schema()["properties"]["parts"]["additionalProperties"]
    assert parts["properties"]["kind"]["enum"] == list(kinds())
