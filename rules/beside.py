"""Old beside new: the dimensions of each stock part that comes off beside its successor's."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from kb.dimensions import Dimensions
from kb.kinds.brakes import BrakeDisc, BrakePad, Caliper
from kb.kinds.tyre import TyreDimensions
from kb.kinds.wheel import Wheel
from kb.units import Quantity
from rules import answers as a
from rules.engineering.brakes import pad_radii, piston_area, swept_area
from rules.engineering.tyres import catalogue_diameter
from rules.engineering.wheels import wheel_edges
from rules.situation import Situation

Derived = Iterator[tuple[str, float, str]]
"""Name, value and unit of what follows from a part's dimensions."""


def beside(
    situation: Situation, displaced: Mapping[str, str]
) -> tuple[a.Beside, ...]:
    """The comparison for each place and the new part in it; a part in several places once."""
    seen: dict[tuple[str, str], list[str]] = {}
    for place, new in sorted(displaced.items()):
        old = situation.baseline.fitted[place]
        if situation.parts[old].kind == situation.parts[new].kind:
            seen.setdefault((old, new), []).append(place)
    return tuple(
        a.Beside(
            old=old, old_name=situation.name(old), new=new, new_name=situation.name(new),
            places=tuple(places), rows=tuple(_rows(situation, old, new, displaced, places[0])),
        )
        for (old, new), places in seen.items()
    )


def _rows(
    situation: Situation, old: str, new: str, displaced: Mapping[str, str], place: str
) -> Iterator[a.BesideRow]:
    before, after = situation.parts[old], situation.parts[new]
    for name in type(after.dimensions).model_fields:
        values = getattr(before.dimensions, name), getattr(after.dimensions, name)
        if name.endswith("tolerance"):
            continue
        if values != (None, None) and all(_plain(value) for value in values):
            yield _row(name.replace("_", " "), *values)
    if before.mass or after.mass:
        yield _row("mass", before.mass, after.mass)
    partner = _partner(situation, displaced, place)
    olds = {n: (v, u) for n, v, u in _derived(before.dimensions, partner[0])}
    for name, value, unit in _derived(after.dimensions, partner[1]):
        was = olds.get(name)
        yield a.BesideRow(
            name=name, old=f"{was[0]:.4g} {unit}" if was else None, new=f"{value:.4g} {unit}",
            change=f"{value - was[0]:+.4g} {unit}" if was else None,
        )


def _plain(value: Any) -> bool:
    """Values that read well in a table: numbers, sizes and words, but no shapes."""
    return value is None or not isinstance(value, (tuple, dict))


def _row(name: str, old: Any, new: Any) -> a.BesideRow:
    change = None
    if isinstance(old, Quantity) and isinstance(new, Quantity):
        change = f"{new.value - old.value:+.4g} {new.unit}"
    return a.BesideRow(
        name=name, old=None if old is None else str(old), new=None if new is None else str(new),
        change=change,
    )


def _partner(
    situation: Situation, displaced: Mapping[str, str], place: str
) -> tuple[Dimensions | None, Dimensions | None]:
    """The brake disc on the same axle, before and after: a pad sweeps it."""
    axle = situation.baseline.places[place].axle
    for other, stock in situation.baseline.fitted.items():
        if situation.baseline.places[other].axle == axle:
            before = situation.parts[stock].dimensions
            if isinstance(before, BrakeDisc):
                return before, situation.parts[displaced.get(other, stock)].dimensions
    return None, None


def _derived(dimensions: Dimensions, partner: Dimensions | None) -> Derived:
    """What follows from the dimensions of one part; nothing where some are missing."""
    for kind, derive in _DERIVE.items():
        if isinstance(dimensions, kind):
            yield from derive(dimensions, partner)


def _tyre(tyre: Any, _: Dimensions | None) -> Derived:
    if tyre.size and not tyre.overall_diameter:
        size = tyre.size
        diameter = catalogue_diameter(size.width, size.aspect, size.rim_code)
        yield "overall diameter by size", diameter, "mm"


def _wheel(wheel: Any, _: Dimensions | None) -> Derived:
    if wheel.rim and wheel.offset:
        edges = wheel_edges(wheel.rim.width_code, wheel.offset.value)
        yield "inboard edge from the hub face", edges.inboard, "mm"
        yield "outboard edge from the hub face", edges.outboard, "mm"


def _caliper(caliper: Any, _: Dimensions | None) -> Derived:
    diameters = [d.value for d in caliper.piston_diameters or ()]
    if not diameters and caliper.piston_diameter and caliper.pistons_per_side:
        diameters = [caliper.piston_diameter.value] * caliper.pistons_per_side
    if diameters:
        yield "piston area of one side", piston_area(diameters), "mm²"


def _pad(pad: Any, disc: Dimensions | None) -> Derived:
    if isinstance(disc, BrakeDisc) and disc.diameter and pad.height:
        gap = pad.edge_gap.value if pad.edge_gap else 0.0
        radii = pad_radii(disc.diameter.value, pad.height.value, gap)
        yield "swept area of one face", swept_area(radii.outer, radii.inner), "mm²"


_DERIVE: Mapping[type[Dimensions], Callable[[Any, Dimensions | None], Derived]] = {
    TyreDimensions: _tyre, Wheel: _wheel, Caliper: _caliper, BrakePad: _pad,
}
