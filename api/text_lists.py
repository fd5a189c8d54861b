"""Lists from a catalogue for people: its vehicles, its parts."""

from __future__ import annotations

from collections.abc import Mapping

from api import text as t
from kb.catalogue import Catalogue
from kb.entries import Part


def vehicles_page(catalogue: Catalogue) -> t.Page:
    """Every vehicle with its variants."""
    table = t.table("Vehicle", "Variant", "What it is", "Engine", "Years", rigid=[0, 1, 3, 4])
    for key, vehicle in catalogue.vehicles.items():
        table.add_row(key, "", t.say(vehicle.name, "bold"), "", str(vehicle.years))
        for variant_key, variant in vehicle.variants.items():
            market = f" ({variant.market} market)" if variant.market else ""
            years = str(variant.years) if variant.years.first > 1900 else str(vehicle.years)
            table.add_row("", variant_key, t.say(variant.name + market), variant.engine, years)
    yield table
    yield t.say("Ask with --vehicle VEHICLE --variant VARIANT --year YEAR.")


def parts_page(parts: Mapping[str, Part]) -> t.Page:
    """Parts with their ids, under their kinds, by name."""
    table = t.table("Part", "Name", "Price", right=[2])
    kind = ""
    for key, part in sorted(parts.items(), key=lambda item: (item[1].kind, item[1].name, item[0])):
        if part.kind != kind:
            kind = part.kind
            table.add_row(t.say(kind, "bold"))
        name = [t.say(part.name), *([t.say(about, "dim")] if (about := _about(part)) else [])]
        table.add_row(t.indent(t.say(key)), t.stack(name), _price(part))
    yield table
    yield t.say(f"{t.count(len(parts), 'part')}.")


def _about(part: Part) -> str:
    """Who makes a part and how it is sold, where that is not by the piece."""
    single = part.pack.value == 1 and not part.pack.unit
    pack = "" if single else f"pack of {t.amount(float(part.pack.value), part.pack.unit)}"
    return ", ".join(filter(None, (part.maker, pack)))


def _price(part: Part) -> str:
    if not part.orderable:
        return "not sold"
    return str(part.price) if part.price else "no price"
