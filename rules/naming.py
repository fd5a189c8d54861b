"""Entries of a catalogue as they are named in answers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from rules import answers as a
from rules.checking import Verdict
from rules.combining import Combined
from rules.problem import Reason
from rules.situation import Member, Situation

GENERAL_CAUTION = (
    "This list helps to order parts. The vehicle maker's manual, local rules and a licensed "
    "workshop decide what is done to a car that goes on the road."
)


MOST_LINES = 2000
"""Lines of checks kept with a car, some 10 MB; then all are let go."""

def catalog_ref(catalogue: Catalogue) -> a.CatalogRef:
    """The catalogue as named in an answer."""
    header = catalogue.header
    return a.CatalogRef(name=header.name, digest=catalogue.digest, currency=header.currency)


def baseline_ref(baseline: Baseline) -> a.BaselineRef:
    """The car as named in an answer."""
    return a.BaselineRef(
        id=baseline.id, name=baseline.name, vehicle=baseline.vehicle_id,
        variant=baseline.variant_id, year=baseline.year,
        equipment=tuple(sorted(baseline.equipment)),
    )


def part_ref(
    situation: Situation, part: str, qty: Fraction | None = None, because: str = "",
    places: tuple[str, ...] = (),
) -> a.PartRef:
    """A part as named in an answer; `places` where it is in some of its places only."""
    stated = situation.parts[part]
    return a.PartRef(
        part=part, name=stated.name, kind=stated.kind,
        price=str(stated.price.value) if stated.price else None, pack=float(stated.pack.value),
        qty=None if qty is None else float(qty), unit=stated.pack.unit,
        places=places or tuple(p for p in stated.takes if p in situation.baseline.places),
        because=because,
    )


def money(cents: int) -> str:
    """Hundredths of the currency as a decimal text."""
    return str((Decimal(cents) / 100).quantize(Decimal("0.01")))


def measure_of(
    situation: Situation, members: Sequence[Member], verdict: Verdict
) -> a.Measure:
    """What has to be measured before a combination can be judged."""
    names = " with ".join(situation.name(member.part) for member in members)
    verb = "go together" if len(members) > 1 else "goes on"
    return a.Measure(what="; ".join(verdict.measure), because=f"to know whether {names} {verb}")


def known_check_line(situation: Situation, found: Combined) -> a.CheckLine:
    """As `check_line`, kept with the car: it is said in every package with these parts."""
    kept = situation.kept.setdefault("check lines", {})
    assert isinstance(kept, dict)
    key = (found.members, found.axle, id(found.verdict))
    if known := kept.get(key):
        line: a.CheckLine = known[1]
        return line
    if len(kept) >= MOST_LINES:
        kept.clear()
    line = check_line(situation, found)
    kept[key] = found.verdict, line  # with its verdict, so that no other one gets its id
    return line


def check_line(situation: Situation, found: Combined) -> a.CheckLine:
    """A judged combination as named in an answer."""
    verdict, parts = found.verdict, tuple(member.part for member in found.members)
    return a.CheckLine(
        check=verdict.check, parts=parts, names=tuple(map(situation.name, parts)),
        axle=found.axle, aspect=verdict.aspect, verdict=verdict.verdict, says=verdict.says,
        margin=verdict.margin, required=verdict.required, worst_case=verdict.worst_case,
        unit=verdict.unit,
        values=tuple(
            a.UsedValue(name=v.name, value=v.value, basis=v.basis) for v in verdict.values
        ),
        formula=verdict.formula, source=verdict.source, basis=verdict.basis,
    )


def cautions_of(
    situation: Situation, parts: Iterable[str], steps: Iterable[str], rules: Iterable[str]
) -> Iterable[a.Caution]:
    """Every caution of these parts, work steps and general rules, each said once."""
    about: dict[str, dict[str, None]] = {GENERAL_CAUTION: {}}
    for part in parts:
        stated = situation.parts[part]
        kind = type(stated.dimensions).caution
        for text in (*((kind,) if kind else ()), *stated.cautions):
            about.setdefault(text, {})[part] = None
    for step in steps:
        for text in situation.catalogue.work[step].cautions:
            about.setdefault(text, {})[step] = None
    for rule in rules:
        for text in situation.catalogue.rules[rule].cautions:
            about.setdefault(text, {})[rule] = None
    return [a.Caution(text=text, about=tuple(keys)) for text, keys in about.items()]


def clash_of(reasons: Iterable[Reason]) -> a.Clash:
    """A clash in the words of the catalogue: picks first."""
    order = ("pick", "wish", "contents", "need", "rule", "work")
    rank = {kind: i for i, kind in enumerate(order)}
    members = sorted(reasons, key=lambda r: rank.get(r.type, len(order)))
    return a.Clash(members=tuple(
        a.ClashMember(
            statement=r.key, type=r.type, text=r.text, basis=r.basis, source=r.source, also=r.also
        ) for r in members
    ))
