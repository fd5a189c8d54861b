"""Short stories of what the language means, each once told wrongly by the solver or the re-check.

They were found by comparing random catalogues with every package tried one by one; here each is
told with the fewest parts that show it.
"""

from __future__ import annotations

from kb.catalogue import load_texts
from rules.answers import Item, Line, Package, Question
from rules.resolve import package

CAR = """
catalog: {name: stories, labour_rate: "60.00 EUR"}
vehicles:
  tern:
    name: Tern
    years: "2015"
    variants: {p: {name: P, engine: e}}
    places: {left: {count: 2}, right: {count: 3}}
    fitted: {left: stock-left, right: stock-right}
parts:
  stock-left: {kind: item, name: Left, orderable: false, takes: [left], mass: 9 kg,
    fits: [{vehicles: [tern]}]}
  stock-right: {kind: nut, name: Right, orderable: false, takes: [right], one_time_use: true,
    fits: [{vehicles: [tern]}]}
"""


def ask(
    story: str, *picks: str, qty: int | None = None, have: dict[str, int] | None = None
) -> Package:
    catalogue = load_texts({"car.yaml": CAR, "story.yaml": story})
    return package(catalogue, Question(
        vehicle="tern", alternatives=False,
        picks=tuple(Item(part=part, qty=qty) for part in picks),
        on_hand=tuple(Item(part=part, qty=n) for part, n in (have or {}).items()),
    ))


def lines(answer: Package) -> dict[str, float]:
    assert answer.outcome == "complete", answer.clashes
    return {line.part: line.qty for line in answer.lines if line.status != "kept"}


def line(answer: Package, part: str) -> Line:
    return next(line for line in answer.lines if line.part == part)


def price(answer: Package) -> str:
    assert answer.totals is not None
    return answer.totals.price


# -- what is there is there at least once -------------------------------------------------------


def test_a_part_that_makes_a_need_lapse_is_bought_and_listed() -> None:
    answer = ask("""
parts:
  lamp: {kind: item, name: Lamp, price: 10.00 EUR,
    requires: [{part: relay, when: {absent: [{part: bridge}]}}]}
  relay: {kind: item, name: Relay, price: 50.00 EUR}
  bridge: {kind: item, name: Bridge, price: 5.00 EUR}
""", "lamp")
    assert lines(answer) == {"lamp": 1, "bridge": 1}
    assert price(answer) == "15.00"


def test_a_part_that_only_clears_a_place_is_bought_and_listed() -> None:
    answer = ask("""
parts:
  winch: {kind: item, name: Winch, price: 90.00 EUR, conflicts: [{part: stock-left}]}
  blank: {kind: item, name: Blank, price: 2.00 EUR, clears: [left]}
""", "winch")
    assert lines(answer) == {"winch": 1, "blank": 1}
    assert [gone.part for gone in answer.comes_off] == ["stock-left"]
    assert line(answer, "blank").because[0].node == "part:winch"


def test_goods_by_measure_that_are_merely_there_are_bought_by_the_pack() -> None:
    answer = ask("""
parts:
  pump: {kind: item, name: Pump, price: 10.00 EUR,
    requires: [{part: spare, when: {absent: [{part: oil}]}}]}
  spare: {kind: item, name: Spare, price: 80.00 EUR}
  oil: {kind: oil, name: Oil, pack: 0.5 L, price: 9.00 EUR}
""", "pump")
    assert lines(answer) == {"pump": 1, "oil": 0.5}
    assert price(answer) == "19.00"


# -- kits ---------------------------------------------------------------------------------------

KIT = """
parts:
  frame: {kind: item, name: Frame, price: 10.00 EUR, requires: [{part: clip, each: 6}]}
  clip: {kind: item, name: Clip, price: 1.00 EUR}
  clip-kit: {kind: kit, name: Clip kit, contents: {clip: 4}, price: 3.00 EUR}
"""


def test_a_kit_on_hand_is_counted_once() -> None:
    answer = ask(KIT, "frame", have={"clip-kit": 1})
    clip = line(answer, "clip")
    assert (clip.on_hand, clip.bought) == (4, 2)
    assert price(answer) == "12.00"


def test_of_two_kits_wanted_and_one_on_hand_one_is_bought() -> None:
    answer = ask(KIT, "clip-kit", qty=2, have={"clip-kit": 1})
    kit = line(answer, "clip-kit")
    assert (kit.qty, kit.on_hand, kit.packs) == (2, 1, 1)
    assert price(answer) == "3.00"


def test_kits_within_a_kit_on_hand_are_opened_too() -> None:
    answer = ask(KIT + """
  box: {kind: kit, name: Box, contents: {clip-kit: 2}, orderable: false}
""", "frame", have={"box": 1})
    assert line(answer, "clip").on_hand == 6
    assert price(answer) == "10.00"


def test_what_only_comes_in_a_kit_within_a_kit_can_be_had() -> None:
    answer = ask("""
parts:
  inner: {kind: kit, name: Inner, contents: {pin: 1}, orderable: false}
  outer: {kind: kit, name: Outer, contents: {inner: 1}, price: 7.00 EUR}
  pin: {kind: item, name: Pin, orderable: false}
""", "pin")
    assert lines(answer) == {"pin": 1, "inner": 1, "outer": 1}


# -- stock parts --------------------------------------------------------------------------------


def test_a_stock_part_does_not_meet_a_need_for_more_than_there_are() -> None:
    story = """
parts:
  rack: {kind: item, name: Rack, price: 10.00 EUR, requires: [{parts: [stock-left, leg], AMOUNT}]}
  leg: {kind: item, name: Leg, price: 1.00 EUR}
"""
    assert lines(ask(story.replace("AMOUNT", "once: 2"), "rack")) == {"rack": 1}
    assert lines(ask(story.replace("AMOUNT", "once: 3"), "rack")) == {"rack": 1, "leg": 3}
    assert lines(ask(story.replace("AMOUNT", "each: 1"), "rack", qty=2)) == {"rack": 2}
    assert lines(ask(story.replace("AMOUNT", "each: 1"), "rack", qty=3)) == {"rack": 3, "leg": 3}


def test_work_does_not_reuse_what_is_renewed_every_time() -> None:
    answer = ask("""
parts:
  arm: {kind: item, name: Arm, price: 10.00 EUR, work: [{step: bend}]}
  nut: {kind: nut, name: Nut, price: 1.00 EUR}
work:
  bend: {name: Bend, effect: room, minutes: 5 min, reversible: true,
    requires: [{kind: nut, each: 2}]}
""", "arm")
    assert lines(answer) == {"arm": 1, "nut": 2}


def test_a_need_that_hangs_on_a_stock_part_lapses_when_that_is_replaced() -> None:
    answer = ask("""
parts:
  wing: {kind: item, name: Wing, price: 10.00 EUR,
    requires: [{part: gone, when: {present: [{part: stock-left}]}}]}
  gone: {kind: item, name: Gone, orderable: false}
  new-left: {kind: item, name: New left, takes: [left], fits: [{vehicles: [tern]}],
    price: 4.00 EUR}
""", "wing")
    assert lines(answer) == {"wing": 1, "new-left": 2}


def test_a_stock_part_on_sale_that_is_picked_is_renewed() -> None:
    story = """
parts:
  stock-plug: {kind: item, name: Plug, takes: [plug], fits: [{vehicles: [plover]}], ON_SALE}
vehicles:
  plover:
    name: Plover
    years: "2016"
    variants: {q: {name: Q, engine: e}}
    places: {plug: {count: 4}}
    fitted: {plug: stock-plug}
"""
    question = Question(vehicle="plover", picks=(Item(part="stock-plug"),))
    sold = load_texts({"a.yaml": story.replace("ON_SALE", "price: 2.00 EUR")})
    assert lines(package(sold, question)) == {"stock-plug": 4}
    kept = load_texts({"a.yaml": story.replace("ON_SALE", "orderable: false")})
    assert lines(package(kept, question)) == {}


# -- general rules ------------------------------------------------------------------------------


def test_a_general_rule_may_hang_on_work_alone() -> None:
    answer = ask("""
parts:
  arm: {kind: item, name: Arm, price: 10.00 EUR, work: [{step: weld}]}
  paint: {kind: item, name: Paint, price: 3.00 EUR}
work:
  weld: {name: Weld, effect: it holds, minutes: 5 min, reversible: false}
rules:
  painted: {when: [{step: weld}], then_any: [{part: paint}], why: bare metal rusts}
""", "arm")
    assert lines(answer) == {"arm": 1, "paint": 1}


def test_a_general_rule_counts_those_it_brings_in_itself() -> None:
    answer = ask("""
parts:
  base: {kind: bearing, name: Base, price: 10.00 EUR}
  shim: {kind: item, name: Shim, price: 2.00 EUR, requires: [{part: cap}]}
  cap: {kind: bearing, name: Cap, price: 1.00 EUR}
  grease: {kind: item, name: Grease, price: 5.00 EUR}
rules:
  shimmed: {when: [{part: base}], then_any: [{part: shim}]}
  greased: {when: [{kind: bearing}], then_any: [{part: grease}], each: 1}
""", "base")
    assert lines(answer) == {"base": 1, "shim": 1, "cap": 1, "grease": 2}


# -- replaced parts -----------------------------------------------------------------------------


def test_a_conflict_with_a_part_holds_for_the_one_that_replaced_its_replacement() -> None:
    answer = ask("""
parts:
  old: {kind: item, name: Old}
  newer: {kind: item, name: Newer, supersedes: [old]}
  newest: {kind: item, name: Newest, supersedes: [newer], price: 1.00 EUR}
  foe: {kind: item, name: Foe, price: 1.00 EUR, conflicts: [{part: old}]}
""", "foe", "newest")
    assert answer.outcome == "impossible"
    assert any("cannot be combined" in m.text for m in answer.clashes[0].members)


# -- lightness ----------------------------------------------------------------------------------


def test_nothing_is_added_only_because_it_is_lighter() -> None:
    answer = ask("""
parts:
  lid: {kind: item, name: Lid, price: 10.00 EUR, conflicts: [{part: foil}],
    requires: [{parts: [stock-left, foil-left]}]}
  foil: {kind: item, name: Foil, price: 1.00 EUR}
  foil-left: {kind: item, name: Foil left, takes: [left], fits: [{vehicles: [tern]}],
    mass: 1 g, orderable: false}
""", "lid", have={"foil-left": 2})
    assert lines(answer) == {"lid": 1}
