"""What a package says line by line, held against the catalogue's own entries.

The part of the re-check that needs no search: each line describes its part as the catalogue does,
its sums are right, it has a reason, and no caution was lost on the way.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.entries import Part
from rules import answers as a
from rules.verify_amounts import NEARLY
from rules.verify_car import exact

GRAM = Fraction(1, 1000)
"""In kilograms: the mass of a package is given to the gram."""


def line_faults(catalogue: Catalogue, baseline: Baseline, answer: a.Package) -> Iterator[str]:
    """What is wrong with single lines, in words. The parts and steps named must be known."""
    off = {gone.place for gone in answer.comes_off}
    for line in answer.lines:
        part = catalogue.parts[line.part]
        yield from _described(line, part)
        if line.status == "kept":
            yield from _kept(line, baseline, off)
        else:
            yield from _summed(line, part)
    for gone in answer.comes_off:
        if baseline.fitted.get(gone.place) != gone.part or not gone.because:
            yield f"'{gone.part}' cannot come off '{gone.place}'"
    for work in answer.work:
        if not work.because:
            yield f"there is no reason for the work '{work.step}'"
    yield from _cautions(catalogue, answer)
    yield from _masses(catalogue, baseline, answer)
    if bool(answer.measure_first) != (answer.outcome == "complete_once_measured"):
        yield f"the outcome '{answer.outcome}' is not what is left to measure says"


def _masses(catalogue: Catalogue, baseline: Baseline, answer: a.Package) -> Iterator[str]:
    """Whether the change of mass is what comes on less what comes off, each part as stated."""
    change = Fraction(0)
    for line in answer.lines:
        part = catalogue.parts[line.part]
        if line.status != "kept" and part.mass and not part.contents:
            change += exact(part.mass.value) * exact(line.qty)
    for gone in answer.comes_off:
        part = catalogue.parts[gone.part]
        if part.mass and gone.place in baseline.places:
            count = baseline.places[gone.place].count
            change -= exact(part.mass.value) * count
    if answer.totals and abs(change - exact(answer.totals.mass_change)) > GRAM:
        yield f"the mass does not change by {answer.totals.mass_change:g} kg"


def _described(line: a.Line, part: Part) -> Iterator[str]:
    said = (line.name, line.kind, line.unit, exact(line.pack))
    if said != (part.name, part.kind, part.pack.unit, part.pack.value):
        yield f"'{line.part}' is not described as in the catalogue"
    if not line.because:
        yield f"there is no reason for '{line.part}'"


def _summed(line: a.Line, part: Part) -> Iterator[str]:
    qty, bought, spare, hand = (
        exact(n) for n in (line.qty, line.bought, line.spare, line.on_hand)
    )
    if hand + bought > qty + NEARLY:
        yield f"'{line.part}': more is supplied than the {line.qty:g} wanted"
    if abs(line.packs * part.pack.value - bought - spare) > NEARLY:
        yield f"'{line.part}': {line.packs} packs do not leave {line.spare:g} over"
    if part.price is None and line.packs and line.price is not None:
        yield f"'{line.part}' has no price in the catalogue"
    if (part.price is not None or not line.packs) and line.price is None:
        yield f"'{line.part}': the price is missing"
    if not line.packs and line.price is not None and Decimal(line.price):
        yield f"'{line.part}': nothing is bought, yet it has a price"


def _kept(line: a.Line, baseline: Baseline, off: set[str]) -> Iterator[str]:
    stay = [p for p, part in baseline.fitted.items() if part == line.part and p not in off]
    count = sum(baseline.places[place].count for place in stay)
    if not stay or set(line.places) != set(stay) or line.qty != count:
        yield f"'{line.part}' does not stay on the car as said"
    if line.bought or line.packs:
        yield f"'{line.part}' stays and is bought all the same"


def _cautions(catalogue: Catalogue, answer: a.Package) -> Iterator[str]:
    """What the parts added and the work done call for must be said."""
    said = {caution.text for caution in answer.cautions}
    for line in answer.lines:
        if line.status != "kept":
            part = catalogue.parts[line.part]
            kind = type(part.dimensions).caution
            if not said.issuperset((*part.cautions, *((kind,) if kind else ()))):
                yield f"a caution of '{line.part}' is missing"
    for work in answer.work:
        if not said.issuperset(catalogue.work[work.step].cautions):
            yield f"a caution of the work '{work.step}' is missing"
