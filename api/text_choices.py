"""What is still open, packages side by side, and ways out, as people read them."""

from __future__ import annotations

from collections.abc import Sequence

from api import text as t
from rules import answers as a

SAID = {"forced": "has to be there", "possible": "possible", "out": "not possible"}


def options_page(answer: a.Options, *, every: bool = False) -> t.Page:
    """For each place and need, what can be there; with `every`, also what cannot."""
    yield from t.car(answer.baseline)
    yield from t.notes(answer.notes)
    if not answer.possible:
        yield t.say("No: this cannot all go on this car.", "bold")
        yield from t.clashes(answer.clashes)
    for place in answer.places:
        shown = [*([place.stock] if place.stock else []), *place.parts]
        yield from _choices(f"In the place '{place.name}'", shown, answer.catalog.currency, every)
    for need in answer.needs:
        if need.parts:
            yield from t.heading("A need with a choice")
            yield t.say(t.sentence(need.because))
            yield from _choices("", need.parts, answer.catalog.currency, every)
    for refused in answer.refused:
        yield from t.heading(f"Why not {refused.name}")
        if refused.clash is None:
            yield t.say("It can be there.")
        else:
            yield from t.clashes((refused.clash,))
    yield from t.origin(answer.catalog)


def _choices(title: str, found: Sequence[a.Option], currency: str, every: bool) -> t.Page:
    shown = [option for option in found if every or option.state != "out"]
    if not shown:
        return
    if title:
        yield from t.heading(title)
    table = t.table("Part", "State", f"{currency} a pack", right=[2], rigid=[1])
    for option in shown:
        stock = "stock, stays: " if option.stock or option.ref.price is None else ""
        table.add_row(
            t.say(stock + t.named(option.ref.name, option.ref.part)), SAID[option.state],
            option.ref.price or "",
        )
    yield table
    left_out = len(found) - len(shown)
    if left_out:
        others = t.count(left_out, "other part")
        yield t.say(f"{others} cannot be there (--every shows them).", "dim")


def front_page(answer: a.Front) -> t.Page:
    """Packages side by side: none of them is beaten on price, time and mass at once."""
    yield from t.car(answer.baseline)
    first = answer.packages[0]
    if first.totals is None:
        yield t.say("No: this cannot all go on this car.", "bold")
        yield from t.clashes(first.clashes)
        return
    table = t.table("Offer", f"Price {answer.catalog.currency}", "Time", "Mass", "What differs")
    common = set.intersection(*({line.part for line in p.lines} for p in answer.packages))
    for number, package in enumerate(answer.packages, 1):
        totals = package.totals
        if totals is not None:
            own = [line.name for line in package.lines if line.part not in common]
            table.add_row(
                str(number), totals.price, t.hours(totals.minutes),
                f"{totals.mass_change:+.1f} kg", "; ".join(own) or "nothing",
            )
    yield table
    yield t.say(
        "These are all: every other package is equalled or beaten by one of them on price, time "
        "and mass at once."
        if answer.complete else "There may be more; these were found in the time and number asked."
    )
    yield from t.origin(answer.catalog)


def ways_out_section(ways: Sequence[a.WayOut], currency: str) -> t.Page:
    """What could be changed, least change first, each with the price it leads to."""
    if not ways:
        return
    yield from t.heading("Ways out")
    yield t.numbered([
        t.say(f"{t.sentence(way_text(way))} "
              f"The least package then comes to {way.price} {currency}"
              + (", once measured." if way.outcome == "complete_once_measured" else "."))
        for way in ways
    ])


def way_text(way: a.WayOut) -> str:
    """What a way out changes, in words."""
    return " and ".join(change.text for change in way.changes)
