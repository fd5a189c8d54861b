"""Stories about the health of a catalogue: each fault is found where it is, and only there."""

# ruff: noqa: E501 - one part a line reads best here

from __future__ import annotations

from dataclasses import dataclass, field

import pytest

from api.asking import demo_folder
from kb.catalogue import load
from rules.alike import alike, said
from rules.audit import FINDERS, Audit, audit
from rules.audit_figures import outliers
from tests.support.sound import sound


@dataclass(frozen=True)
class Fault:
    """Entries that bring one fault, and the fault as it is told."""

    code: str
    severity: str
    entry: str
    more: str = ""
    """More entries."""
    says: str = ""
    replaced: tuple[str, str] = ("", "")
    """A text of the sound catalogue and what stands in its place."""
    others: frozenset[str] = field(default_factory=frozenset)
    """Findings of other finders that the same fault brings."""


FAULTS = (
    Fault("dead-part", "error", "parts/lamp", """
parts:
  lamp: {kind: item, name: Lamp, price: 5.00 EUR, requires: [{part: seat-stock, fitted: false}]}
""", "'lamp' can be in no package"),
    Fault("dead-part", "error", "parts/hook", """
parts:
  hook: {kind: item, name: Hook, price: 5.00 EUR, requires: [{part: strap}], conflicts: [{part: strap}]}
""", "Hook cannot be combined with Strap"),
    Fault("fit-contradicted", "warning", "parts/rim-odd", """
parts:
  rim-odd:
    kind: wheel
    name: Odd rim
    takes: [front-wheel]
    price: 95.00 EUR
    fits: [{variants: [t16]}, {variants: [t12]}]
    requires: [{part: strap, when: {variants: [t12]}}]
    conflicts: [{part: strap, when: {variants: [t12]}}]
    dimensions: {rim: 6 J x 14, bolt_circle: 4 x 100, centre_bore: 56.1 mm, offset: 38 mm}
""", "stated to fit tern/t12 2014-2016"),
    Fault("fit-too-wide", "note", "parts/rim-five", """
vehicles:
  gull:
    name: Gull
    years: "2015"
    variants: {g: {name: g, engine: g}}
    places: {front-wheel: {count: 2, axle: front}}
    facts: [{about: hub, axle: front, bolt_circle: 5 x 100, spigot: 56.0 mm}]
parts:
  rim-five:
    kind: wheel
    name: Rim for five
    takes: [front-wheel]
    price: 95.00 EUR
    fits: [{vehicles: [tern, gull]}]
    dimensions: {rim: 6 J x 14, bolt_circle: 5 x 100, centre_bore: 56.1 mm, offset: 38 mm}
""", "the wheel has 5 holes, the hub 4 studs"),
    Fault("unmet-need", "note", "parts/hook", """
parts:
  hook:
    kind: item
    name: Hook
    price: 5.00 EUR
    requires: [{part: strap, when: {variants: [t12]}}]
    conflicts: [{part: strap, when: {variants: [t12]}}]
""", "can be in no package on tern/t12 2014-2016"),
    Fault("impossible-car", "error", "vehicles/tern", """
rules:
  ghost: {then_any: [{part: seat-stock, fitted: false}]}
""", "no package at all is possible", others=frozenset({"kit-changed"})),
    Fault("dead-step", "warning", "work/weld", """
work:
  weld: {name: Weld, effect: a seam, minutes: 5 min, reversible: false, requires: [{part: seat-stock, fitted: false}]}
parts:
  strap-2: {kind: item, name: Strap two, price: 9.00 EUR, work: [{steps: [weld, drill]}]}
""", "'weld' can be in no package"),
    Fault("rule-never-fires", "warning", "rules/both", """
parts:
  shell-2: {kind: item, name: Shell two, takes: [seat], price: 210.00 EUR, fits: [{vehicles: [tern]}]}
rules:
  both: {when: [{part: seat-new}, {part: shell-2}], then_any: [{part: strap}]}
""", "can never fire"),
    Fault("rule-always-holds", "note", "rules/again", """
rules:
  again: {when: [{part: seat-new}], then_any: [{part: bolt}]}
""", "always holds"),
    Fault("stock-conflict", "error", "parts/tray-odd", """
parts:
  tray-odd: {kind: item, name: Odd tray, orderable: false, takes: [tray], conflicts: [{part: seat-stock}]}
""", "the factory fitted both on tern/t12 2014-2016, tern/t16 2014-2016",
          ("tray: tray-stock", "tray: tray-odd"), frozenset({"idle-part"})),
    Fault("stock-misfit", "note", "parts/rim-stock", "", "the wheel has 5 holes, the hub 4 studs",
          ("dimensions: {rim: 5 J x 14, bolt_circle: 4 x 100",
           "dimensions: {rim: 5 J x 14, bolt_circle: 5 x 100")),
    Fault("unknown-check", "error", "trials/typo", """
trials:
  typo: {parts: [rim-new], check: wheel-bolt-cicle, verdict: fits}
""", "that does not exist"),
    Fault("trial-disagrees", "note", "trials/five", """
parts:
  rim-five:
    kind: wheel
    name: Rim for five
    takes: [front-wheel]
    price: 95.00 EUR
    dimensions: {rim: 6 J x 14, bolt_circle: 5 x 100, centre_bore: 56.1 mm, offset: 38 mm}
trials:
  five: {parts: [rim-five], check: wheel-bolt-circle, verdict: fits}
""", "the wheel has 5 holes, the hub 4 studs; the trial counts"),
    Fault("trial-disagrees", "note", "trials/loose", """
trials:
  loose: {parts: [rim-new], check: wheel-centre-bore, verdict: does_not_fit}
""", "is a fit by wheel-centre-bore", others=frozenset({"dead-part"})),
    Fault("trial-unheard", "warning", "trials/strap", """
trials:
  strap: {parts: [strap, bolt], verdict: fits}
""", "changes nothing"),
    Fault("trials-disagree", "warning", "trials/rim-on-tern-2", """
trials:
  rim-on-tern-2: {parts: [rim-new], on: {variants: [t12]}, verdict: fits_with_work, work: [drill]}
""", "tried the same on tern/t12 2014-2016"),
    Fault("trial-unlisted", "warning", "trials/other", """
parts:
  rim-listed:
    kind: wheel
    name: Listed rim
    takes: [front-wheel]
    price: 95.00 EUR
    fits: [{variants: [t16]}]
    dimensions: {rim: 6 J x 14, bolt_circle: 4 x 100, centre_bore: 56.1 mm, offset: 38 mm}
trials:
  other: {parts: [rim-listed], on: {variants: [t12]}, verdict: fits}
""", "is not listed for it", others=frozenset({"trial-unheard"})),
    Fault("trial-forbidden", "warning", "trials/hook", """
parts:
  hook: {kind: item, name: Hook, price: 5.00 EUR, conflicts: [{part: rim-new}]}
trials:
  hook: {parts: [hook, rim-new], verdict: fits}
""", "states that they do not go together", others=frozenset({"trial-unheard"})),
    Fault("never-applies", "warning", "parts/hook", """
parts:
  hook: {kind: item, name: Hook, price: 5.00 EUR, requires: [{part: strap, when: {years: 2020-}}]}
""", "a need of 'hook' holds for no car"),
    Fault("idle-step", "warning", "work/weld", """
work:
  weld: {name: Weld, effect: a seam, minutes: 5 min, reversible: false}
""", "nothing calls for"),
    Fault("relieves-nothing", "warning", "work/drill", "",
          "relieves 'lip', which stands around no wheel of any car",
          ("reversible: false}", "reversible: false, relieves: [{obstacle: lip, by: 5 mm}]}")),
    Fault("relief-without-direction", "warning", "work/bend", """
vehicles:
  gull:
    name: Gull
    years: "2015"
    variants: {g: {name: g, engine: g}}
    facts: [{about: room, axle: rear, obstacles: {lip: {name: lip}}}]
work:
  bend: {name: Bend the lip, effect: room, minutes: 5 min, reversible: false, relieves: [{obstacle: lip, by: 5 mm}]}
""", "without a direction, so no answer counts on it"),
    Fault("idle-part", "warning", "parts/ghost", """
parts:
  ghost: {kind: item, name: Ghost, orderable: false}
""", "neither for sale nor fitted"),
    Fault("two-successors", "warning", "parts/strap", """
parts:
  strap-2: {kind: item, name: Strap two, price: 9.00 EUR, supersedes: [strap]}
  strap-3: {kind: item, name: Strap three, price: 9.00 EUR, supersedes: [strap]}
""", "replaced by 'strap-2' and by 'strap-3'"),
    Fault("successor-not-sold", "warning", "parts/strap-2", """
parts:
  strap-2: {kind: item, name: Strap two, orderable: false, supersedes: [strap]}
""", "neither can be ordered", others=frozenset({"idle-part"})),
    Fault("successor-differs", "warning", "parts/strap-2", """
parts:
  strap-2: {kind: item, name: Strap two, takes: [tray], price: 9.00 EUR, supersedes: [strap], fits: [{vehicles: [tern]}]}
""", "not the same in places"),
    Fault("long-chain", "note", "parts/strap-4", """
parts:
  strap-2: {kind: item, name: Strap two, supersedes: [strap]}
  strap-3: {kind: item, name: Strap three, supersedes: [strap-2]}
  strap-4: {kind: item, name: Strap four, price: 9.00 EUR, supersedes: [strap-3]}
""", "3 older parts in a row: strap, strap-2, strap-3"),
    Fault("no-price", "warning", "parts/gift", """
parts:
  gift: {kind: item, name: Gift}
""", "for sale without a price"),
    Fault("odd-price", "note", "parts/bolt-6", """
parts:
  bolt-1: {kind: bolt, name: Bolt, price: 1.10 EUR}
  bolt-2: {kind: bolt, name: Bolt, price: 0.90 EUR}
  bolt-3: {kind: bolt, name: Bolt, price: 1.30 EUR}
  bolt-4: {kind: bolt, name: Bolt, price: 0.80 EUR}
  bolt-5: {kind: bolt, name: Bolt, price: 1.20 EUR}
  bolt-6: {kind: bolt, name: Bolt, price: 110.00 EUR}
""", "the price of 'bolt-6' (110 a unit) is out of line"),
    Fault("odd-mass", "note", "parts/bolt-6", """
parts:
  bolt-1: {kind: bolt, name: Bolt, price: 1.10 EUR, mass: 11 g}
  bolt-2: {kind: bolt, name: Bolt, price: 0.90 EUR, mass: 9 g}
  bolt-3: {kind: bolt, name: Bolt, price: 1.30 EUR, mass: 12 g}
  bolt-4: {kind: bolt, name: Bolt, price: 0.80 EUR, mass: 10 g}
  bolt-5: {kind: bolt, name: Bolt, price: 1.20 EUR, mass: 10 g}
  bolt-6: {kind: bolt, name: Bolt, price: 1.10 EUR, mass: 10 kg}
""", "the mass of 'bolt-6'"),
    Fault("dear-kit", "note", "parts/set", "", "its contents singly only 204.00",
          ("price: 203.00 EUR", "price: 205.00 EUR"), frozenset({"kit-changed"})),
    Fault("no-caution", "note", "work/press", """
work:
  press: {name: Press the spring, effect: room, minutes: 5 min, reversible: true}
parts:
  strap-2: {kind: item, name: Strap two, price: 9.00 EUR, work: [{step: press}]}
""", "speaks of 'spring'"),
    Fault("no-caution", "note", "parts/bar", """
parts:
  bar: {kind: item, name: Seat belt bar, takes: [tray], price: 9.00 EUR, fits: [{vehicles: [tern]}]}
""", "is named after 'Seat belt'"),
    Fault("kit-changed", "error", "kits/no", """
kits:
  no: {vehicle: tern, variant: t12, year: 2014, picks: [seat-new], outcome: impossible}
""", "complete, expected impossible"),
    Fault("kit-changed", "error", "kits/few", """
kits:
  few: {vehicle: tern, variant: t12, year: 2014, picks: [seat-new], outcome: complete, parts: {bolt: 8}}
""", "'bolt' is in it as 4, expected 8"),
    Fault("kit-changed", "error", "kits/gone", """
kits:
  gone: {vehicle: tern, variant: t12, year: 2014, picks: [seat-new], outcome: complete, parts: {strap: 1}}
""", "'strap' is not in it"),
    Fault("kit-changed", "error", "kits/price", """
kits:
  price: {vehicle: tern, variant: t12, year: 2014, picks: [seat-new], outcome: complete, price: 9.00 EUR}
""", "it comes to 223.00 EUR, expected 9.00 EUR"),
)


@pytest.fixture(scope="module")
def of_demo() -> Audit:
    return audit(load(demo_folder()))


def test_a_sound_catalogue_is_clean() -> None:
    assert audit(sound()).findings == ()


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: f"{fault.code}:{fault.entry}")
def test_a_fault_is_found_where_it_is_and_nothing_else_is(fault: Fault) -> None:
    found = audit(sound(fault.more, fault.replaced)).findings
    meant = [finding for finding in found if finding.code == fault.code]
    about = [finding for finding in meant if finding.entry == fault.entry]
    assert len(about) == 1, found
    assert about[0].severity == fault.severity
    assert fault.says in about[0].text
    assert about[0].mend
    assert about[0].where.startswith("more.yaml:" if fault.more and not (
        fault.entry == "vehicles/tern" or fault.code == "two-successors") else "sound.yaml:")
    assert {finding.code for finding in found} - {fault.code} <= fault.others


NARROWED = (
    """
vehicles:
  gull:
    name: Gull
    years: 2014-2016
    variants: {g: {name: g, engine: g}}
    places: {front-wheel: {count: 2, axle: front}}
    facts:
      - {about: hub, axle: front, years: -2015, bolt_circle: 5 x 100, spigot: 56.0 mm}
      - {about: hub, axle: front, years: 2016-, bolt_circle: 4 x 100, spigot: 56.0 mm}
parts:
  rim-five:
    kind: wheel
    name: Rim for five
    takes: [front-wheel]
    price: 95.00 EUR
    fits: [{vehicles: [gull]}]
    dimensions: {rim: 6 J x 14, bolt_circle: 5 x 100, centre_bore: 56.1 mm, offset: 38 mm, load_rating: 500 kg}
""",
    "rules: {no-strap: {on: {variants: [t16]}, when: [{part: strap}], why: forbidden there}}",
)


@pytest.mark.parametrize("more", NARROWED, ids=["by a check", "by a rule that forbids"])
def test_what_is_kept_off_some_cars_on_purpose_is_no_fault(more: str) -> None:
    found = audit(sound(more)).findings
    assert [f for f in found if f.code in ("fit-too-wide", "unmet-need", "fit-contradicted")] == []


def test_every_finder_has_a_fault_that_shows_it() -> None:
    shown: set[str] = set()
    from rules.audit_base import Scene

    for fault in FAULTS:
        scene = Scene(sound(fault.more, fault.replaced))
        shown |= {
            finder.__name__ for finder in FINDERS
            if any(finding.code == fault.code for finding in finder(scene))
        }
    assert shown == {finder.__name__ for finder in FINDERS}


# -- what to measure next -----------------------------------------------------------------------


def test_the_measurement_that_settles_most_comes_first() -> None:
    more = """
parts:
  rim-a: {kind: wheel, name: Rim A, takes: [front-wheel], price: 90.00 EUR, dimensions: {rim: 6 J x 14, bolt_circle: 4 x 100, offset: 38 mm}}
  rim-b: {kind: wheel, name: Rim B, takes: [front-wheel], price: 90.00 EUR, dimensions: {rim: 6 J x 14, bolt_circle: 4 x 100, centre_bore: 56.1 mm, offset: 38 mm}}
"""
    without_spigot = (", spigot: 56.0 mm", "")
    found = audit(sound(more, without_spigot)).to_measure
    spigot = next(m for m in found if "spigot" in m.what)
    bore = next(m for m in found if "centre bore" in m.what)
    # The spigot is asked for by all three rims on six cars, the bore by one of them.
    assert (spigot.vehicle, spigot.questions) == ("tern", 18)
    assert (bore.what, bore.questions) == ("centre bore of Rim A", 6)
    assert found.index(spigot) < found.index(bore)
    assert not any("spigot" in m.what for m in audit(sound(more)).to_measure), "it is known there"


# -- figures out of line ------------------------------------------------------------------------


def test_a_slipped_decimal_point_is_out_of_line_and_a_dear_part_is_not() -> None:
    usual = {f"p{i}": value for i, value in enumerate((9.5, 10, 10.5, 11, 9, 10))}
    assert list(outliers({**usual, "slipped": 100})) == ["slipped"]
    assert outliers({**usual, "dear": 14}) == {}
    assert outliers({"a": 1, "b": 1, "c": 100}) == {}, "three parts are too few to tell"


# -- cars that are alike ------------------------------------------------------------------------


def test_cars_are_alike_until_a_statement_tells_them_apart() -> None:
    both = "tern/t12 2014-2016, tern/t16 2014-2016"
    assert [said(cars) for cars in alike(sound())] == [both], "nothing is said of their engines"
    hook = "parts: {hook: {kind: item, name: Hook, price: 5.00 EUR, fits: [{%s}]}}"
    groups = [said(cars) for cars in alike(sound(hook % "engines: [e16]"))]
    assert groups == ["tern/t12 2014-2016", "tern/t16 2014-2016"]
    groups = [said(cars) for cars in alike(sound(hook % "years: 2015"))]
    assert groups == ["tern/t12 2014 and 2016, tern/t16 2014 and 2016",
                      "tern/t12 2015, tern/t16 2015"]


# -- the demo -----------------------------------------------------------------------------------


def test_the_demo_has_neither_errors_nor_warnings(of_demo: Audit) -> None:
    assert [f for f in of_demo.findings if f.severity != "note"] == []
    assert of_demo.kits >= 3


def test_the_demo_tells_what_to_measure_next(of_demo: Audit) -> None:
    spigot = next(m for m in of_demo.to_measure if m.what == "spigot of the car's rear hub")
    assert spigot.vehicle == "haulwick"
    assert "haulwick/h15d 2013-2019" in spigot.cars
    counts = [m.questions for m in of_demo.to_measure]
    assert counts == sorted(counts, reverse=True)
