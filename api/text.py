"""Answers as text for people: what all pages share.

A page is a run of rich renderables, set at the width of the terminal (80 columns when piped,
never more than 120) with nothing cut off: long words fold, everything else wraps.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction

from rich import box
from rich.console import Console, ConsoleRenderable
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from kb.units import format_number
from rules import answers as a

WIDEST = 120
"""Lines longer than this are tiring to read, however wide the terminal is."""

WIDE = 100
"""From this width on, reasons stand in a column of their own."""

Page = Iterator[ConsoleRenderable]


def console() -> Console:
    """A console on standard output that takes every text literally."""
    found = Console(file=sys.stdout, markup=False, highlight=False, emoji=False)
    found.width = min(found.width, WIDEST)
    return found


def show(page: Iterable[ConsoleRenderable], on: Console | None = None) -> str:
    """A page as text, without blanks at the ends of lines."""
    out = on or console()
    with out.capture() as captured:
        for block in page:
            out.print(block)
    return "\n".join(line.rstrip() for line in captured.get().strip("\n").split("\n"))


def is_wide(on: Console | None = None) -> bool:
    """Whether there is room for a column of reasons."""
    return (on or console()).width >= WIDE


# -- words ------------------------------------------------------------------------------------


def clean(text: str) -> str:
    """A text on one line, without characters that steer a terminal."""
    return "".join(c for c in " ".join(text.split()) if c.isprintable())


def say(text: str, style: str = "") -> Text:
    """A text taken literally."""
    return Text(clean(text), style=style, overflow="fold")


def stack(texts: Sequence[Text]) -> Text:
    """Texts under each other in one cell."""
    return Text("\n", overflow="fold").join(texts)


def number(value: float) -> str:
    """A number as the shortest decimal text, at most three places."""
    return format_number(Fraction(str(value)))


def amount(value: float, unit: str) -> str:
    """An amount with its unit; lengths of a metre and more are said in metres."""
    if unit == "mm" and value >= 1000:
        value, unit = value / 1000, "m"
    return f"{number(value)} {unit}".strip()


def hours(minutes: float) -> str:
    """Minutes as a workshop says them."""
    whole = round(minutes)
    return f"{whole} min" if whole < 60 else f"{whole // 60} h {whole % 60:02d} min"


def count(many: int, one: str, more: str = "") -> str:
    """"1 check", "3 checks"."""
    return f"{many} {one if many == 1 else more or one + 's'}"


def named(name: str, key: str) -> str:
    """A thing by name, with the id that orders it."""
    return f"{name} ({key})"


def sentence(text: str) -> str:
    """A text with a capital at the start and a full stop at the end."""
    text = clean(text)
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")


def words(code: str) -> str:
    """A code of an answer, such as a verdict or a basis, as words."""
    return code.replace("_", " ")


def stated(basis: str, source: str) -> str:
    """How a statement is known, in brackets; nothing where only common practice stands behind."""
    if basis == "common_practice" and not source:
        return ""
    return f" [{words(basis)}{f'; {source}' if source else ''}]"


# -- blocks -----------------------------------------------------------------------------------


def heading(text: str) -> Page:
    """A heading with a blank line before it."""
    yield Text("")
    yield say(text.upper(), "bold")


def indent(block: ConsoleRenderable, by: int = 2) -> Padding:
    """A block moved to the right."""
    return Padding(block, (0, 0, 0, by))


def bullets(texts: Iterable[Text], marks: Iterable[str] | None = None) -> Table:
    """A list; every text wraps beside its mark."""
    grid = Table.grid(padding=(0, 1))
    grid.add_column(no_wrap=True, justify="right")
    grid.add_column(overflow="fold")
    items = list(texts)
    for mark, text in zip(marks or ["-"] * len(items), items, strict=True):
        grid.add_row(Text(f" {mark}"), text)
    return grid


def numbered(texts: Sequence[Text]) -> Table:
    """A numbered list."""
    return bullets(texts, [f"{i}." for i in range(1, len(texts) + 1)])


def table(*headers: str, right: Sequence[int] = (), rigid: Sequence[int] = ()) -> Table:
    """A table over the whole width; columns in `right` are figures, those in `rigid` never wrap."""
    found = Table(box=box.SIMPLE_HEAD, expand=True, pad_edge=False, padding=(0, 1), show_edge=False)
    for i, header in enumerate(headers):
        fixed = i in right or i in rigid
        found.add_column(
            header, justify="right" if i in right else "left", no_wrap=fixed,
            ratio=None if fixed else 1, overflow="fold",
        )
    return found


def fact_lines(rows: Iterable[tuple[str, str]]) -> Table:
    """Labels with their values."""
    grid = Table.grid(padding=(0, 2))
    grid.add_column(no_wrap=True)
    grid.add_column(overflow="fold")
    for label, value in rows:
        grid.add_row(label, say(value))
    return grid


# -- sections that several answers have -------------------------------------------------------


def car(baseline: a.BaselineRef) -> Page:
    """The car an answer is for."""
    equipment = ", ".join(baseline.equipment)
    yield say(f"{baseline.name}  ({baseline.id})", "bold")
    if equipment:
        yield say(f"with {equipment}")


def notes(texts: Sequence[str]) -> Page:
    """What the asker should know about the question."""
    if texts:
        yield bullets([say(f"Note: {text}") for text in texts])


def measures(found: Sequence[a.Measure]) -> Page:
    """What to ask the customer, or measure on the car, before anything is ordered."""
    if found:
        yield from heading("Ask or measure first")
        yield numbered([say(f"{sentence(m.what)} Reason: {m.because}.", "bold") for m in found])


def cautions(found: Sequence[a.Caution], names: Mapping[str, str], *, why: bool) -> Page:
    """Cautions; with `why`, also what each one is about."""
    if not found:
        return
    yield from heading("Cautions")
    yield bullets([
        say(sentence(c.text) + (f" ({_about(c, names)})" if why and c.about else "")) for c in found
    ])


def _about(caution: a.Caution, names: Mapping[str, str]) -> str:
    return "about " + ", ".join(names.get(key, key) for key in caution.about)


def clashes(found: Sequence[a.Clash]) -> Page:
    """What cannot hold together, as a chain of sentences."""
    for clash in found:
        yield from heading("What cannot hold together")
        yield numbered([_member(member) for member in clash.members])
        if len(clash.members) > 2:
            yield say("Without any one of these, the others can hold together.")


def _member(member: a.ClashMember) -> Text:
    known = stated(member.basis, member.source) if member.type != "pick" else ""
    return say(f"{sentence(member.text)}{known}")


def origin(catalog: a.CatalogRef) -> Page:
    """The catalogue an answer is from."""
    yield Text("")
    yield say(f"From the catalogue '{catalog.name}', digest {catalog.digest}.", "dim")
