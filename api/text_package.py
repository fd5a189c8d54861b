"""A package as a parts counter reads it: what to ask, what to order, what comes off, what to do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.table import Table
from rich.text import Text

from api import text as t
from api.text_because import chain_of, last, short
from api.text_checks import checks_section
from api.text_choices import ways_out_section
from api.text_order import order_section
from rules import answers as a


def package_page(answer: a.Package, *, why: bool = False) -> t.Page:
    """The whole answer; with `why`, every chain of reasons and every check."""
    yield from t.car(answer.baseline)
    yield t.say(outcome_line(answer), "bold")
    yield from t.notes(answer.notes)
    yield from t.clashes(answer.clashes if why else answer.clashes[:1])
    if len(answer.clashes) > 1 and not why:
        yield t.say(f"{t.count(len(answer.clashes) - 1, 'more clash', 'more clashes')} "
                    "(--why shows them).")
    if answer.more_clashes and why:
        yield t.say("There are more such clashes.")
    yield from ways_out_section(answer.ways_out, answer.catalog.currency)
    if answer.totals is not None:
        yield from _body(answer, answer.totals, why=why)
    yield from t.origin(answer.catalog)


def outcome_line(answer: a.Package) -> str:
    """What came of a question, in one sentence."""
    if answer.outcome == "complete":
        return "Yes: the list is complete and everything on it goes together."
    if answer.outcome == "complete_once_measured":
        many = len(answer.measure_first)
        what = "the question below is" if many == 1 else f"the {many} questions below are"
        return f"Not certain yet: the list is complete once {what} answered."
    return "No: this cannot all go on this car."


def _body(answer: a.Package, totals: a.Totals, *, why: bool) -> t.Page:
    names = {line.part: line.name for line in answer.lines}
    names |= {work.step: work.name for work in answer.work}
    yield from t.measures(answer.measure_first)
    yield from order_section(answer, names, totals.currency, why=why)
    yield from _kept(answer, names, why=why)
    yield from _comes_off(answer, why=why)
    yield from _work(answer, why=why)
    yield from checks_section(answer.checks, why=why)
    said = {text for work in answer.work for text in work.cautions}
    others = [caution for caution in answer.cautions if caution.text not in said]
    yield from t.cautions(others, names, why=why)
    yield from _totals(answer, totals, names)


# -- what is on the car -----------------------------------------------------------------------


def _kept(answer: a.Package, names: Mapping[str, str], *, why: bool) -> t.Page:
    lines = [line for line in answer.lines if line.status == "kept"]
    if not lines:
        return
    yield from t.heading("Stays on the car and is relied upon")
    table = t.table("Qty", "Stock part, and what relies on it", rigid=[0])
    for line in lines:
        texts = list(dict.fromkeys(s.text for s in line.serves))
        shown = map(t.sentence, texts) if why else [short(texts[0], line)]
        table.add_row(t.amount(line.qty, line.unit), t.stack([
            t.say(t.named(line.name, line.part)), *(t.say(text, "dim") for text in shown),
        ]))
    yield table


def _comes_off(answer: a.Package, *, why: bool) -> t.Page:
    if not answer.comes_off:
        return
    yield from t.heading("Comes off the car")
    table = t.table("Qty", "Stock part, and what it makes room for", rigid=[0])
    for places in off_together(answer.comes_off):
        part, because = places[0].part, places[0].because
        where = ", ".join(off.place_name for off in places)
        table.add_row(t.number(sum(off.count for off in places)), t.stack([
            t.say(f"{t.named(places[0].name, part)}: {where}"),
            *(chain_of(because) if why else _room(because, answer.lines)),
            *(t.say(said, "dim") for said in _change(answer, part)),
        ]))
    yield table
    if why:
        yield from _beside(answer)


def off_together(off: Sequence[a.ComesOff]) -> list[list[a.ComesOff]]:
    """What comes off, the places of one stock part together where they have one reason."""
    alike: dict[tuple[str, tuple[a.Link, ...]], list[a.ComesOff]] = {}
    for each in off:
        alike.setdefault((each.part, each.because), []).append(each)
    return list(alike.values())


def _change(answer: a.Package, part: str) -> list[str]:
    """How the new part differs from the stock part, in one line."""
    return [
        "the new one: " + ", ".join(f"{row.name} {row.change}" for row in changed)
        for beside in answer.beside if beside.old == part
        if (changed := [row for row in beside.rows if row.change and differs(row.change)])
    ][:1]


def differs(change: str) -> bool:
    """Whether a change between an old and a new value is one."""
    return float(change.split()[0]) != 0.0


def _beside(answer: a.Package) -> t.Page:
    """Every value of each old part beside the new one's."""
    for pair in answer.beside:
        if pair.rows:
            yield t.say(f"{t.named(pair.old_name, pair.old)} beside "
                        f"{t.named(pair.new_name, pair.new)}:")
            table = t.table("Value", "Old", "New", "Change")
            for row in pair.rows:
                table.add_row(row.name, row.old or "not known", row.new or "not known",
                              row.change or "")
            yield table


def _room(because: Sequence[a.Link], lines: Sequence[a.Line]) -> list[Text]:
    """What takes the place of a stock part: the end of the chain that leads to it."""
    new = [line.name for line in lines if because and because[-1].node == f"part:{line.part}"]
    return [t.say(f"makes room for {name}", "dim") for name in new[:1]]


def _work(answer: a.Package, *, why: bool) -> t.Page:
    if not answer.work:
        return
    yield from t.heading("Work on the car")
    table = t.table("Time", "Work", rigid=[0])
    for work in answer.work:
        undone = "" if work.reversible else " It cannot be undone."
        table.add_row(t.hours(work.minutes), t.stack([
            t.say(t.named(work.name, work.step)),
            t.say(f"Effect: {t.clean(work.effect)}.{undone}"),
            *(chain_of(work.because) if why else last(work.because)),
            *(t.say(f"Caution: {t.sentence(text)}", "bold") for text in work.cautions),
        ]))
    yield table


# -- totals -----------------------------------------------------------------------------------


def _totals(answer: a.Package, totals: a.Totals, names: Mapping[str, str]) -> t.Page:
    yield from t.heading("Totals")
    grid = Table.grid(padding=(0, 2))
    grid.add_column(no_wrap=True)
    grid.add_column(no_wrap=True, justify="right")
    grid.add_row("Parts", totals.parts)
    grid.add_row("Labour", totals.labour)
    grid.add_row(t.say(f"Total {totals.currency}", "bold"), t.say(totals.price, "bold"))
    grid.add_row("Time", t.hours(totals.minutes))
    grid.add_row("Mass change", f"{totals.mass_change:+.1f} kg")
    yield grid
    yield from _remarks(answer, totals, names)
    if answer.proof is not None:
        yield t.say(proof_line(answer.proof, totals.unpriced))


def _remarks(answer: a.Package, totals: a.Totals, names: Mapping[str, str]) -> t.Page:
    if totals.unpriced:
        listed = ", ".join(t.named(names.get(part, part), part) for part in totals.unpriced)
        yield t.say(f"Not in the total, because the catalogue has no price: {listed}.")
    if totals.unweighed:
        count = t.count(len(totals.unweighed), "part")
        yield t.say(f"Not in the mass change, because the catalogue has no mass: {count}.")
    if answer.unused:
        items = ", ".join(f"{t.number(i.qty or 0)} of {i.part}" for i in answer.unused)
        yield t.say(f"On hand and not used: {items}.")


LEAST = {
    "money": "costs less (parts in whole packs, and labour)",
    "minutes": "takes less time",
    "mass": "adds less mass",
    "lines": "has fewer different parts",
}


def proof_line(proof: a.Proof, unpriced: Sequence[str]) -> str:
    """What was proven about a package, in one sentence."""
    if not proof.least:
        return (
            "This is the best list found in the time given; a better one may exist "
            "(a longer --deadline would tell)."
        )
    main = next(level for level in proof.by if level in LEAST)
    priced = "unpriced" in proof.by[: proof.by.index(main)] and unpriced
    among = ", of those with as few unpriced parts" if priced else ""
    return f"Proven: for these picks on this car, no list {LEAST[main]}{among}."
