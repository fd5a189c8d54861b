"""A hand-made front axle: brakes, wheels, tyres, nuts and a kit, small enough to know by heart."""

from __future__ import annotations

from functools import cache

from kb.catalogue import Catalogue, load_texts
from rules.answers import Item, Question

# ruff: noqa: E501 - one part a line reads best here
MINI = """
catalog: {name: mini, labour_rate: "60.00 EUR"}
vehicles:
  tern:
    name: Tern
    years: 2012-2019
    variants:
      p12: {name: one, engine: a, years: 2012-2019}
    places:
      front-wheel: {count: 2, axle: front}
      front-tyre: {count: 2, axle: front}
      front-caliper: {count: 2, axle: front}
      front-disc: {count: 2, axle: front}
      front-nuts: {count: 8, axle: front}
    fitted:
      front-wheel: w-stock
      front-tyre: t-stock
      front-caliper: c-stock
      front-disc: d-stock
      front-nuts: n-stock
    facts:
      - {about: hub, axle: front, bolt_circle: 4 x 100, spigot: 56.1 mm, stud_thread: M12 x 1.5}
parts:
  w-stock: {kind: wheel, name: Stock wheel, orderable: false, takes: [front-wheel], fits: [{vehicles: [tern]}], dimensions: {rim: 5.5 J x 14, bolt_circle: 4 x 100, centre_bore: 56.1 mm, nut_seat: cone-60}}
  t-stock: {kind: tyre, name: Stock tyre, orderable: false, takes: [front-tyre], fits: [{vehicles: [tern]}], dimensions: {size: 175/65 R14}}
  c-stock: {kind: caliper, name: Stock caliper, orderable: false, takes: [front-caliper], fits: [{vehicles: [tern]}], requires: [{part: d-stock, why: it is made for it}]}
  d-stock: {kind: item, name: Stock disc, orderable: false, takes: [front-disc], fits: [{vehicles: [tern]}]}
  n-stock: {kind: wheel-nut, name: Stock nut, orderable: false, takes: [front-nuts], dimensions: {thread: M12 x 1.5, seat: cone-60}}
  wheel15: {kind: wheel, name: Wheel 15, takes: [front-wheel], fits: [{vehicles: [tern]}], price: 100.00 EUR, mass: 7.5 kg, dimensions: {rim: 6.5 J x 15, bolt_circle: 4 x 100, centre_bore: 63.4 mm, nut_seat: ball-R12}}
  tyre15: {kind: tyre, name: Tyre 15, takes: [front-tyre], fits: [{vehicles: [tern]}], price: 60.00 EUR, dimensions: {size: 195/50 R15}}
  tyre15b: {kind: tyre, name: Tyre 15 b, takes: [front-tyre], fits: [{vehicles: [tern]}], price: 70.00 EUR, dimensions: {size: 195/55 R15}}
  ring: {kind: centring-ring, name: Ring, price: 3.00 EUR, dimensions: {outer_diameter: 63.4 mm, inner_diameter: 56.1 mm}}
  nutb: {kind: wheel-nut, name: Ball nut, takes: [front-nuts], pack: 4, price: 6.00 EUR, dimensions: {thread: M12 x 1.5, seat: ball-R12}}
  big: {kind: item, name: Big caliper, takes: [front-caliper], fits: [{vehicles: [tern]}], price: 200.00 EUR, fitting_time: 60 min, requires: [{part: d280, why: it is made for it}, {part: bolt, each: 2}, {part: oil, once: 0.7 L}], conflicts: [{kind: wheel, match: {rim: {equals: 5.5 J x 14}}, why: too small inside}], work: [{step: move-hose}], cautions: [Bleed the system after fitting.]}
  d280: {kind: item, name: Disc 280, takes: [front-disc], fits: [{vehicles: [tern]}], price: 45.00 EUR}
  bolt: {kind: bolt, name: Caliper bolt, price: 2.00 EUR, pack: 2, one_time_use: true}
  oil: {kind: oil, name: Oil, price: 9.00 EUR, pack: 0.5 L}
  k1: {kind: kit, name: Front brake kit, price: 470.00 EUR, contents: {big: 2, d280: 2, bolt: 4}}
  clip: {kind: item, name: Clip, price: 0.50 EUR}
  paste: {kind: item, name: Paste, price: 4.00 EUR}
  weights: {kind: item, name: Balance weights, price: 5.00 EUR, pack: 10}
  spacer: {kind: item, name: Spacer, price: 8.00 EUR, requires: [{part: n-stock, each: 4, why: it uses the old nuts}]}
work:
  move-hose: {name: Move the hose bracket, effect: room, minutes: 20 min, reversible: true, requires: [{part: clip, each: 2}], cautions: [Check the hose at full lock.]}
rules:
  grease: {when: [{part: big}], then_any: [{part: paste}], why: the slides are greased}
  new-wheel-balance: {when: [{kind: tyre, fitted: false}], then_any: [{part: weights}], each: 1}
"""


@cache
def mini() -> Catalogue:
    """The catalogue, read once."""
    return load_texts({"mini.yaml": MINI})


def mini_question(*picks: str) -> Question:
    """These picks for its only car."""
    return Question(
        vehicle="tern", year=2015, picks=tuple(Item(part=part) for part in picks),
        alternatives=False,
    )
