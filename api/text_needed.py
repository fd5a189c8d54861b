"""What is needed with a part, as a parts counter reads it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from rich.text import Text

from api import text as t
from rules import answers as a


def needed_page(answer: a.Needed, *, why: bool = False) -> t.Page:
    """The whole answer; with `why`, also what each caution is about."""
    yield from t.car(answer.baseline)
    yield t.say(_outcome(answer), "bold")
    yield from t.notes(answer.notes)
    yield from _against_cart(answer)
    yield from t.clashes(answer.clashes)
    if answer.possible:
        yield from t.measures(answer.measure_first)
        yield from _parts(answer)
        yield from _work(answer)
        yield from _stock("Comes off the car", answer.comes_off)
        yield from _stock("Stays on the car and is relied upon", answer.stays)
        yield from t.cautions(answer.cautions, _names(answer), why=why)
    yield from t.origin(answer.catalog)


def _outcome(answer: a.Needed) -> str:
    part = t.named(answer.part.name, answer.part.part)
    if not answer.possible:
        return f"No: {part} cannot go on this car."
    if answer.conflicts_with_cart:
        return f"{part} goes on this car, but not together with the cart."
    if not (answer.must or answer.choose):
        return f"{part} goes on this car, and nothing has to be bought with it."
    return f"What is needed with {_many(answer.part)}{part}:"


def _many(part: a.PartRef) -> str:
    return "" if part.qty in (None, 1) else f"{t.amount(part.qty or 0, part.unit)} x "


def _names(answer: a.Needed) -> dict[str, str]:
    refs = (answer.part, *answer.must, *answer.offer, *answer.comes_off, *answer.stays)
    return {ref.part: ref.name for ref in refs} | {s.step: s.name for s in answer.work}


def _against_cart(answer: a.Needed) -> t.Page:
    if answer.conflicts_with_cart:
        yield from t.heading("Clashes with the cart")
        yield t.numbered([t.say(t.sentence(m.text)) for m in answer.conflicts_with_cart])
        yield t.say("What follows is for the part alone, without the cart.")


def _parts(answer: a.Needed) -> t.Page:
    currency = answer.catalog.currency
    if answer.must:
        yield from t.heading("Always needed")
        yield from _priced(answer.must, currency)
    new = [group for group in answer.choose if not group.stock]
    for i, group in enumerate(new, 1):
        yield from t.heading(f"Choice {i}: {_share(group)}one of these")
        yield t.say(t.sentence(group.because))
        yield from _priced(group.options, currency)
    for group in answer.choose:
        if group.stock:
            yield from t.heading("The stock part will do")
            yield t.say(t.sentence(group.because))
            stock = ", ".join(t.named(ref.name, ref.part) for ref in group.stock)
            yield t.say(f"On the car: {stock}. Instead of it:")
            yield from _priced(group.options, currency)
    if answer.offer:
        yield from t.heading("Worth offering")
        yield from _priced(answer.offer, currency)


def _share(group: a.Group) -> str:
    return "" if group.qty == 1 and not group.unit else f"{t.amount(group.qty, group.unit)} of "


def _priced(refs: Sequence[a.PartRef], currency: str) -> t.Page:
    counted = any(ref.qty is not None for ref in refs)
    packed = any(ref.pack != 1 or ref.unit for ref in refs)
    headers = (
        *(("Qty",) if counted else ()), "Part", *(("Pack of",) if packed else ()),
        f"{currency} a pack",
    )
    rigid = [i for i, header in enumerate(headers) if header != "Part"]
    table = t.table(*headers, right=[len(headers) - 1], rigid=rigid)
    for ref in refs:
        table.add_row(
            *([_qty(ref)] if counted else []), _named(ref),
            *([t.amount(ref.pack, ref.unit)] if packed else []), ref.price or "no price",
        )
    yield table


def _stock(title: str, refs: Sequence[a.PartRef]) -> t.Page:
    if not refs:
        return
    yield from t.heading(title)
    table = t.table("Qty", "Stock part, and why", rigid=[0])
    for ref in refs:
        table.add_row(_qty(ref), _named(ref))
    yield table


def _qty(ref: a.PartRef) -> str:
    return "" if ref.qty is None else t.amount(ref.qty, ref.unit)


def _named(ref: a.PartRef) -> Text:
    reason = [t.say(t.sentence(ref.because), "dim")] if ref.because else []
    return t.stack([t.say(t.named(ref.name, ref.part)), *reason])


def _work(answer: a.Needed) -> t.Page:
    """Work steps; those called for by the same statement are alternatives to each other."""
    if not answer.work:
        return
    yield from t.heading("Work on the car")
    table = t.table("Time", "Work", rigid=[0])
    for because, group in groupby(answer.work, key=lambda step: step.because):
        steps = list(group)
        for i, step in enumerate(steps):
            said = ("or " if i else "") + t.named(step.name, step.step)
            last = because and i == len(steps) - 1
            reason = [t.say(t.sentence(because), "dim")] if last else []
            table.add_row(t.hours(step.minutes), t.stack([t.say(said), *reason]))
    yield table
