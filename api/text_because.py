"""Reasons as people read them: short beside the part they explain, or the whole chain."""

from __future__ import annotations

from collections.abc import Sequence

from rich.text import Text

from api import text as t
from rules import answers as a


def short(text: str, line: a.Line) -> str:
    """Beside the very part that meets a need, the need's own reason says enough."""
    serving = next((s for s in line.serves if s.text == text), None)
    if serving is None:
        return t.sentence(text)
    reason = serving.why or text
    others = len({s.text for s in line.serves}) - 1
    more = f" {t.count(others, 'other need')} too." if others else ""
    return t.sentence(reason) + more


def chain_of(chain: Sequence[a.Link]) -> list[Text]:
    """Every step from a pick, each with how it is known."""
    return [_link(link, first=not i) for i, link in enumerate(chain)]


def last(chain: Sequence[a.Link]) -> list[Text]:
    """The last step of a chain: the statement that leads here."""
    return [t.say(t.sentence(link.text), "dim") for link in chain[-1:]]


def _link(link: a.Link, *, first: bool) -> Text:
    stated = "" if first else t.stated(link.basis, link.source)
    return t.say(f"{'because' if first else 'and'} {link.text}{stated}", "dim")
