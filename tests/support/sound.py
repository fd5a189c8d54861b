"""A small catalogue in which the audit finds nothing, and ways to spoil it."""

# ruff: noqa: E501 - one part a line reads best here

from __future__ import annotations

from kb.catalogue import Catalogue, load_texts

SOUND = """
catalog: {name: sound, currency: EUR, labour_rate: 60.00 EUR}
vehicles:
  tern:
    name: Tern
    years: 2014-2016
    variants:
      t12: {name: "1.2", engine: e12}
      t16: {name: "1.6", engine: e16}
    places: {seat: {}, tray: {}, front-wheel: {count: 2, axle: front}}
    fitted: {seat: seat-stock, tray: tray-stock, front-wheel: rim-stock}
    facts:
      - {about: hub, axle: front, bolt_circle: 4 x 100, spigot: 56.0 mm, basis: maker}
parts:
  seat-stock: {kind: item, name: Stock seat, orderable: false, takes: [seat]}
  tray-stock: {kind: item, name: Stock tray, orderable: false, takes: [tray]}
  rim-stock:
    kind: wheel
    name: Stock rim
    orderable: false
    takes: [front-wheel]
    dimensions: {rim: 5 J x 14, bolt_circle: 4 x 100, centre_bore: 56.1 mm, offset: 40 mm}
  rim-new:
    kind: wheel
    name: New rim
    takes: [front-wheel]
    price: 90.00 EUR
    dimensions: {rim: 6 J x 14, bolt_circle: 4 x 100, centre_bore: 56.1 mm, offset: 38 mm, load_rating: 500 kg}
  seat-new: {kind: item, name: Shell, takes: [seat], price: 200.00 EUR, fits: [{vehicles: [tern]}], requires: [{part: bolt, each: 4}]}
  bolt: {kind: bolt, name: Bolt, price: 1.00 EUR}
  strap: {kind: item, name: Strap, price: 9.00 EUR}
  set: {kind: kit, name: Seat set, price: 203.00 EUR, contents: {seat-new: 1, bolt: 4}}
work:
  drill: {name: Drill the floor, effect: holes for the shell, minutes: 20 min, reversible: false}
rules:
  floor: {when: [{part: seat-new}], then_any: [{step: drill}], why: the floor has no holes}
trials:
  rim-on-tern: {parts: [rim-new], check: wheel-bolt-circle, on: {vehicles: [tern]}, verdict: fits, source: shop car}
kits:
  weekly: {vehicle: tern, variant: t12, year: 2014, picks: [seat-new], outcome: complete, parts: {bolt: 4}, price: 223.00 EUR}
"""


def sound(more: str = "", replaced: tuple[str, str] = ("", "")) -> Catalogue:
    """The sound catalogue with something added or replaced."""
    old, new = replaced
    assert old in SOUND
    texts = {"sound.yaml": SOUND.replace(old, new) if old else SOUND}
    return load_texts(texts | ({"more.yaml": more} if more else {}))
