"""Prices and masses that look wrong: missing, or out of line with parts of the same kind.

Out of line is a modified z-score above 3.5, 0.6745 (x - median) / MAD with MAD the median absolute
deviation (Iglewicz, Hoaglin, "How to Detect and Handle Outliers", ASQC Quality Press, 1993). It is
taken of the logarithms, since prices and masses of a kind differ by ratios; a MAD below a tenth is
taken as a tenth, so that near-equal prices do not accuse each other. The last two are our own
choice, and so are the least number of parts and the kinds left out, which hold all sorts of things.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from math import exp, log
from statistics import median

from kb.entries import Part
from rules.audit_base import Finding, Scene

SCORE_MOST = 3.5
LEAST_PARTS = 6
LEAST_MAD = log(1.1)
MIXED_KINDS = frozenset({"item", "kit"})


def prices_and_masses(scene: Scene) -> Iterator[Finding]:
    """Parts whose price or mass is far from that of other parts of their kind."""
    yield from _out_of_line(scene, "price", _unit_price)
    yield from _out_of_line(scene, "mass", lambda part: part.mass.value if part.mass else None)


def _unit_price(part: Part) -> float | None:
    return part.price.cents / 100 / float(part.pack.value) if part.price else None


def _out_of_line(
    scene: Scene, what: str, value_of: Callable[[Part], float | None]
) -> Iterator[Finding]:
    by_kind: dict[str, dict[str, float]] = {}
    for key, part in scene.parts.items():
        value = value_of(part)
        if value and part.kind not in MIXED_KINDS:
            by_kind.setdefault(f"{part.kind}/{part.pack.unit}", {})[key] = value
    for values in by_kind.values():
        for key, middle in outliers(values).items():
            kind = scene.parts[key].kind.replace("-", " ")
            yield scene.finding(
                "note", f"odd-{what}", "parts", key,
                f"the {what} of '{key}' ({values[key]:g} a unit) is out of line with the "
                f"{len(values)} parts of the kind {kind}, whose middle is {middle:.3g}",
                f"check the {what}, the size of the pack and the decimal point",
            )


def outliers(values: Mapping[str, float]) -> dict[str, float]:
    """The names whose value is out of line, each with the middle of all values."""
    if len(values) < LEAST_PARTS:
        return {}
    logs = {key: log(value) for key, value in values.items()}
    middle = median(logs.values())
    spread = max(median(abs(value - middle) for value in logs.values()), LEAST_MAD)
    return {
        key: exp(middle) for key, value in logs.items()
        if 0.6745 * abs(value - middle) / spread > SCORE_MOST
    }


def missing_prices(scene: Scene) -> Iterator[Finding]:
    """Parts on sale without a price."""
    for key, part in scene.parts.items():
        if part.orderable and part.price is None and not scene.replaced(key):
            yield scene.finding(
                "warning", "no-price", "parts", key, f"'{key}' is for sale without a price",
                "state its price, or 'orderable: false'",
            )


def dear_kits(scene: Scene) -> Iterator[Finding]:
    """Kits that cost more than their contents bought singly, in fractions of packs."""
    for key, kit in scene.parts.items():
        prices = [_unit_price(scene.parts[inner]) for inner in kit.contents]
        known = [price for price in prices if price is not None]
        if not kit.price or not kit.orderable or not known or len(known) < len(prices):
            continue
        amounts = kit.contents.values()
        singly = sum(float(a.value) * p for a, p in zip(amounts, known, strict=True))
        if kit.price.cents / 100 > singly and all(scene.parts[p].orderable for p in kit.contents):
            yield scene.finding(
                "note", "dear-kit", "parts", key,
                f"the kit '{key}' costs {kit.price}, its contents singly only {singly:.2f}",
                "correct the price or the contents, or keep it for its handiness",
            )
