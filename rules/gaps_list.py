"""The list of what is there, read against the catalogue: parts with amounts, and lines left out."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction

from kb.units import format_number, parse_amount
from rules.gaps_models import GapsQuestion, Have, Unread
from rules.recognise import Recogniser
from rules.situation import Situation

COMMA = re.compile(r"[0-9]+,[0-9]{1,2}(?![0-9,.])")
"""A decimal comma: with three digits after it, it may as well part thousands."""
NONE = re.compile(r"0+(\.0+)?( \S+)?")
"""An amount that says there is none."""
MOST_OFFERS = 100
"""So many lines get the nearest parts offered: comparing texts takes its time."""


@dataclass
class ListRead:
    """What the list says. Rows are counted from 1 where the list does not say where it stands."""

    amounts: dict[str, Fraction] = field(default_factory=dict)
    rows: dict[str, tuple[int, ...]] = field(default_factory=dict)
    unread: list[Unread] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def read_list(at: Situation, question: GapsQuestion) -> ListRead:
    """The list of a question, every line either understood or set aside with the reason."""
    found, recogniser = ListRead(), Recogniser(at)
    for i, line in enumerate(question.have, 1):
        _read_line(at, line, line.row or i, recogniser, found)
    return found


def _read_line(
    at: Situation, line: Have, row: int, recogniser: Recogniser, found: ListRead
) -> None:
    part, several = recogniser.read(line.text)
    if not part:
        offers = len(found.unread) < MOST_OFFERS
        found.unread.append(Unread(
            row=row, text=line.text,
            because="several parts are called so" if several else "no part is called so",
            nearest=recogniser.nearest(line.text, several) if offers else (),
        ))
        return
    if NONE.fullmatch(line.amount or ""):
        found.notes.append(f"row {row}: none of {part} is there")
        return
    try:
        amount, note = _amount(at, part, line)
    except ValueError as error:
        found.unread.append(Unread(row=row, text=line.text, because=str(error)))
        return
    if part != line.text:
        found.notes.append(f"row {row}: '{line.text}' is the name of {part}")
    if note:
        found.notes.append(f"row {row}: {note}")
    found.amounts[part] = found.amounts.get(part, Fraction(0)) + amount
    found.rows[part] = (*found.rows.get(part, ()), row)


def _amount(at: Situation, part: str, line: Have) -> tuple[Fraction, str]:
    """How much of a part a line means, and what had to be supposed.

    Raises ValueError for an amount that cannot be read, or in another unit than it is sold in.
    """
    pack, note = at.parts[part].pack, ""
    if line.amount is None and line.qty is None:
        one = pack.value if pack.unit else Fraction(1)
        return one, f"no quantity given, counted as {format_number(one)} {pack.unit}".rstrip()
    if line.qty is not None:
        amount, unit = Fraction(str(line.qty)), pack.unit
    else:
        text = line.amount or ""
        if COMMA.match(text):
            text = text.replace(",", ".")
            note = f"'{line.amount}' was read as {text}"
        read = parse_amount(text)
        amount, unit = read.value, read.unit
    if unit != pack.unit:
        sold = f"in {pack.unit}" if pack.unit else "by the piece"
        raise ValueError(f"the catalogue has '{part}' {sold}, the list says '{line.amount}'")
    if not pack.unit and amount.denominator != 1:
        raise ValueError(f"'{part}' comes by the piece; expected a whole number")
    return amount, note
