"""The order of a package: what goes on it, in which packs, why, and what could be had instead."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from rich.table import Table
from rich.text import Text

from api import text as t
from api.text_because import chain_of, short
from rules import answers as a

GROUPS: Sequence[tuple[a.Status, str]] = (
    ("picked", "Asked for"),
    ("needed", "Needed as well"),
    ("chosen", "Chosen, where there was a choice"),
    ("on_hand", "Already there"),
)
SHOWN_INSTEAD = 4
"""So many choices are shown with a line unless all reasons are asked for."""


def order_section(
    answer: a.Package, names: Mapping[str, str], currency: str, *, why: bool
) -> t.Page:
    """What to order, under the titles of how it came to be on the list."""
    groups = list(groups_of(answer.lines, names))
    if not groups:
        return
    yield from t.heading("The order")
    wide = t.is_wide()
    headers = ("Order", "Part", *(("Because",) if wide else ()), currency)
    table = t.table(*headers, right=[len(headers) - 1], rigid=[0])
    for i, (title, lines) in enumerate(groups):
        if i:
            table.add_row()
        table.add_row("", t.say(title, "bold"))
        for line in lines:
            because = _because(line, answer.lines, names, why=why)
            _line(table, line, because, wide=wide, why=why)
    yield table


def groups_of(
    lines: Sequence[a.Line], names: Mapping[str, str]
) -> Iterator[tuple[str, Sequence[a.Line]]]:
    """The lines of the order under their titles; what comes wholly in a kit follows by kit."""
    inside = {x.in_kit for x in lines if only_in_kit(x)}
    for status, title in GROUPS:
        group = [x for x in lines if x.status == status and not only_in_kit(x)]
        if group:
            yield title, group
    for kit in sorted(k for k in inside if k):
        title = f"Comes in the kit {t.named(names.get(kit, kit), kit)}"
        yield title, [x for x in lines if x.in_kit == kit and only_in_kit(x)]


def only_in_kit(line: a.Line) -> bool:
    """Whether a line needs no ordering because a kit brings it; picks stay with the picks."""
    return bool(line.in_kit) and not line.packs and line.status != "picked"


def _line(
    table: Table, line: a.Line, because: list[Text], *, wide: bool, why: bool
) -> None:
    maker = f", {line.maker}" if line.maker else ""
    kit = f", comes in {line.in_kit}" if line.in_kit and not only_in_kit(line) else ""
    part = t.say(f"{t.named(line.name, line.part)}{maker}{kit}")
    instead = _instead(line, why=why)
    cells = [t.stack([part, *instead]), t.stack(because)] if wide else [
        t.stack([part, *because, *instead])
    ]
    amounts = [t.say(text, "dim" if i else "") for i, text in enumerate(ordered(line))]
    table.add_row(t.stack(amounts), *cells, price_of(line))


def ordered(line: a.Line) -> list[str]:
    """How much to order, and what is made of it."""
    unit, kit = line.unit, line.qty - line.on_hand - line.bought
    found = [t.amount(line.qty, unit)]
    if line.packs:
        packs = f"{t.count(line.packs, 'pack')} of {t.amount(line.pack, unit)}"
        found = [packs if line.pack != 1 or unit else t.number(line.packs)]
        for many, what in ((line.on_hand, "on hand"), (kit, "in the kit"), (line.spare, "spare")):
            if many > 0:
                found.append(f"{t.amount(many, unit)} {what}")
        if len(found) > 1:
            found.insert(1, f"need {t.amount(line.qty, unit)}")
    return found


def price_of(line: a.Line) -> str:
    """What a line costs, or why it costs nothing."""
    if not line.packs:
        return "in kit" if line.in_kit else "on hand"
    return line.price or "no price"


def _instead(line: a.Line, *, why: bool) -> list[Text]:
    shown = line.instead if why else line.instead[:SHOWN_INSTEAD]
    found = [
        t.say(f"or instead: {t.named(i.name, i.part)}{_difference(i.difference)}") for i in shown
    ]
    if more := len(line.instead) - len(shown):
        found.append(t.say(f"and {t.count(more, 'other choice')} (--why lists all)"))
    return found


def _difference(difference: str | None) -> str:
    """How the whole package would differ, where that was worked out."""
    if difference is None:
        return ""
    return ", same total" if float(difference) == 0 else f", {difference}"


def _because(
    line: a.Line, lines: Sequence[a.Line], names: Mapping[str, str], *, why: bool
) -> list[Text]:
    """Why a line is on the order: in short, or with `why` its chain and every need it meets."""
    if why:
        shares = line.serves if len(line.serves) > 1 else ()
        said = [f"{t.amount(s.qty, line.unit)} for: {t.sentence(s.text)}" for s in shares]
        return [*chain_of(line.because), *(t.say(text, "dim") for text in said)]
    return [t.say(text, "dim") for text in in_short(line, lines)]


def in_short(line: a.Line, lines: Sequence[a.Line]) -> list[str]:
    """Why a line is on the order, in a sentence; nothing beside a pick."""
    brings = [inner for inner in lines if inner.in_kit == line.part]
    if brings:
        return [f"It brings {t.count(len(brings), 'part')} of this list."]
    return [short(text, line) for text in _grounds(line)]


def _grounds(line: a.Line) -> Sequence[str]:
    """The last reason for a line; below its kit rather a need it meets, if it meets any."""
    chain = line.because
    if only_in_kit(line) and len(chain) > 1 and chain[-2].node == f"part:{line.in_kit}":
        return [serving.text for serving in line.serves[:1]]
    return [link.text for link in chain[1:][-1:]]
