"""How wide a text will be, without asking a browser: the widths of a plain sans-serif face."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

FAMILY = "Helvetica, Arial, 'Liberation Sans', sans-serif"

_WIDTHS = {
    **dict.fromkeys("ijl'|", 0.222), **dict.fromkeys(" .,:;/\\!fftI[]()-·", 0.333),
    **dict.fromkeys("ckJsvxyz", 0.5), **dict.fromkeys("FTZ", 0.611),
    **dict.fromkeys("ABEKPSVXY&", 0.667), **dict.fromkeys("CDHNRUw", 0.722),
    **dict.fromkeys("GOQ", 0.778), **dict.fromkeys("mMW%", 0.9),
}
"""Width over size of Helvetica's letters (its published metrics, rounded up, from memory)."""
_USUAL, _WIDE, _BOLD = 0.58, 1.0, 1.08

# Not allowed in XML, or turning the direction of what follows.
_UNWANTED = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200b-\u200f\u202a-\u202e\u2060-\u206f\ufeff"
    "\ufff9-\uffff\ud800-\udfff]"
)


def clean(text: str) -> str:
    """A text as it may stand in a drawing: on one line, without marks that turn its direction."""
    return " ".join(_UNWANTED.sub("", text).split())


def width(text: str, size: float, *, bold: bool = False) -> float:
    """About how wide a text is at a size, in the unit of the size; rather too wide than not."""
    return sum(map(_width, text)) * size * (_BOLD if bold else 1.0)


@lru_cache(maxsize=4096)
def _width(letter: str) -> float:
    if unicodedata.combining(letter):
        return 0.0
    if unicodedata.east_asian_width(letter) in "WF":
        return _WIDE
    known = _WIDTHS.get(letter)
    if known is None:
        return _USUAL if letter.isascii() else _WIDE if ord(letter) > 0x2FF else _USUAL
    return known


def shortened(text: str, size: float, room: float, *, bold: bool = False) -> str:
    """A text cut to the room there is, with an ellipsis where something was left out."""
    text = clean(text)
    if width(text, size, bold=bold) <= room:
        return text
    while text and width(text + "…", size, bold=bold) > room:
        text = text[:-1]
    return text.rstrip() + "…"


def wrapped(text: str, size: float, room: float, *, bold: bool = False, most: int = 6) -> list[str]:
    """A text in lines that fit the room, at most so many; the last is cut where more is left."""
    lines: list[str] = []
    words = clean(text).split(" ")
    while words and len(lines) < most:
        line = words.pop(0)
        while words and width(f"{line} {words[0]}", size, bold=bold) <= room:
            line = f"{line} {words.pop(0)}"
        if len(lines) == most - 1 and words:
            line = " ".join((line, *words))
            words = []
        lines.append(shortened(line, size, room, bold=bold))
    return lines
