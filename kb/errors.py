"""What can go wrong, told apart by whose mend it is.

KitwrightError
├── CatalogueError   the catalogue is wrong: the keeper mends it (all problems of one reading)
├── QuestionError    the question is wrong: the asker mends it (field, what was expected, nearest)
├── OutOfTime        the search was cut short by its deadline: nobody's fault
└── FaultyAnswer     an answer failed its own re-check: ours to mend, the answer is withheld
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rapidfuzz import fuzz, process

CLOSE = 60
"""Of a hundred: names that share less than that are no hint to each other."""


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing wrong in a catalogue file, said so that it can be mended.

    `file` is relative to the catalogue folder; `line` counts from 1 (0: the file as a whole).
    """

    file: str
    line: int
    message: str
    expected: str = ""
    nearest: str = ""

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}" if self.line else self.file
        expected = f"; expected {self.expected}" if self.expected else ""
        nearest = f"; did you mean '{self.nearest}'?" if self.nearest else ""
        return f"{where}: {self.message}{expected}{nearest}"


class KitwrightError(Exception):
    """Root of every error Kitwright raises on purpose."""


class CatalogueError(KitwrightError):
    """The catalogue cannot be used; carries every problem found, in file and line order."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(sorted(problems))
        super().__init__("\n".join(map(str, self.problems)))


class QuestionError(KitwrightError):
    """The question cannot be answered as put.

    `field` names the part of the question at fault, `nearest` the closest known name if any.
    """

    def __init__(self, field: str, message: str, nearest: str = "") -> None:
        self.field, self.message, self.nearest = field, message, nearest
        hint = f"; did you mean '{nearest}'?" if nearest else ""
        super().__init__(f"{message}{hint}")


class OutOfTime(KitwrightError):
    """The deadline passed before an answer was found."""


class FaultyAnswer(KitwrightError):
    """A package failed the independent re-check and is withheld; carries the findings."""

    def __init__(self, findings: Sequence[str]) -> None:
        self.findings = tuple(findings)
        super().__init__("; ".join(findings))


def shown(text: str, most: int = 60) -> str:
    """`text` in quotes, as it stands in a message: cut short, and nothing unprintable in it."""
    return f"'{printable(text if len(text) <= most else f'{text[: most - 3]}...')}'"


def printable(text: str) -> str:
    """`text` with escapes for what would move a cursor or cannot be seen."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


def a_or_an(noun: str) -> str:
    """The noun with its article."""
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def nearest_name(name: str, known: Iterable[str]) -> str:
    """The known name closest to `name`, or an empty text when none is close.

    Of names that are equally close it is the last by the alphabet.
    """
    names = list(known)
    best = process.extractOne(name, names, scorer=fuzz.ratio, score_cutoff=CLOSE)
    if best is None:
        return ""
    nearly = best[1] - 0.01  # scores are rounded
    ties = process.extract(name, names, scorer=fuzz.ratio, score_cutoff=nearly, limit=None)
    return max(tied for tied, _, _ in ties)
