"""Gaps for the garage: what each stage waits for, and what of the list is of no use."""

from __future__ import annotations

from collections.abc import Sequence

from rich.text import Text

from api import text as t
from api.text_choices import ways_out_section
from api.text_plan import stage_name
from rules.answers import ClashMember
from rules.gaps_models import Gaps, Lacking, StageGaps, Unread, Verdict

SAID: dict[Verdict, str] = {
    "ready": "Yes: everything for this build is there.",
    "ready_once_measured": "Everything is there; the questions below are still open.",
    "gaps": "Not yet: see what is missing, or not clear.",
    "impossible": "No: this cannot all go on this car.",
}


def gaps_page(found: Gaps) -> t.Page:
    """The answer as a page."""
    yield from t.car(found.baseline)
    yield t.say(SAID[found.outcome], "bold")
    yield from t.notes(found.notes)
    yield from _building(found)
    yield from t.clashes(found.clashes)
    yield from ways_out_section(found.ways_out, found.catalog.currency)
    yield from _unread(found.unread)
    yield from t.measures(found.measure_first)
    yield from _blocked(found.stages)
    for stage in found.stages:
        if not stage.ready:
            yield from _stage(stage, found.catalog.currency)
    yield from _useless(found)
    if found.parts_price is not None and not all(stage.ready for stage in found.stages):
        yield Text("")
        price = f"{found.parts_price} {found.catalog.currency}"
        yield t.say(f"Parts still to be ordered, in whole packs: {price}.", "bold")
    yield from t.origin(found.catalog)


def _building(found: Gaps) -> t.Page:
    if found.building:
        names = ", ".join(t.named(part.name, part.part) for part in found.building)
        how = "taken from the list, since nobody said" if found.from_list else "as asked"
        yield t.say(f"To be built ({how}): {names}.")


def _unread(found: Sequence[Unread]) -> t.Page:
    if not found:
        return
    yield from t.heading("Not understood, and left out of account")
    yield t.bullets(t.stack(_offers(line)) for line in found)


def _offers(line: Unread) -> list[Text]:
    said = [t.say(f"Row {line.row}, '{line.text}': {t.sentence(line.because)}")]
    return said + [
        t.say(f"perhaps {t.named(near.name, near.part)}", "dim")
        for near in line.nearest
    ]


# -- stages -----------------------------------------------------------------------------------


def _blocked(stages: Sequence[StageGaps]) -> t.Page:
    """Which stages can be done, and which wait for what."""
    if not stages:
        return
    yield from t.heading("Stage by stage")
    yield t.fact_lines((stage_name(stage.stage), _state(stage)) for stage in stages)


def _state(stage: StageGaps) -> str:
    if stage.ready:
        return "everything is there"
    counts = (
        t.count(len(stage.missing), "part missing", "parts missing") if stage.missing else "",
        t.count(len(stage.short), "part short", "parts short") if stage.short else "",
    )
    return ", ".join(filter(None, counts))


def _stage(stage: StageGaps, currency: str) -> t.Page:
    yield from t.heading(f"For {stage_name(stage.stage)}")
    table = t.table("Short", "Part", currency, right=[2], rigid=[0])
    for lack in (*stage.missing, *stage.short):
        table.add_row(t.amount(lack.short, lack.unit), t.stack(_lacking(lack)), _price(lack))
    yield table


def _lacking(lack: Lacking) -> list[Text]:
    have = ""
    if lack.have:
        have = f": have {t.amount(lack.have, lack.unit)} of {t.amount(lack.need, lack.unit)}"
    said = [t.say(f"{t.named(lack.name, lack.part)}{have}")]
    if lack.in_kit and not lack.packs:
        said.append(t.say(f"comes cheapest in {lack.in_kit}", "dim"))
    return [*said, t.say(t.sentence(lack.because), "dim")]


def _price(lack: Lacking) -> str:
    if not lack.packs:
        return "in kit" if lack.in_kit else ""
    return lack.price or "no price"


# -- what is of no use ------------------------------------------------------------------------


def _useless(found: Gaps) -> t.Page:
    if found.wrong:
        yield from t.heading("Wrong for this car")
        yield t.bullets(
            t.stack([t.say(f"{t.named(w.name, w.part)}, {_rows(w.rows)}: {w.because}."),
                     *(_members(w.clash.members) if w.clash else ())])
            for w in found.wrong
        )
    if found.conflicts:
        yield from t.heading("In conflict with what is built")
        yield t.bullets(
            t.stack([t.say(f"{t.named(c.name, c.part)}, {_rows(c.rows)}"),
                     *_members(c.clash.members)])
            for c in found.conflicts
        )
    if found.surplus:
        yield from t.heading("Left over")
        table = t.table("Qty", "Part", rigid=[0])
        for left in found.surplus:
            table.add_row(t.amount(left.qty, left.unit), t.stack([
                t.say(t.named(left.name, left.part)), t.say(left.because, "dim")]))
        yield table


def _rows(rows: Sequence[int]) -> str:
    return f"row{'s' if len(rows) > 1 else ''} {', '.join(map(str, rows))}"


def _members(members: Sequence[ClashMember]) -> list[Text]:
    return [t.say(t.sentence(member.text), "dim") for member in members]
