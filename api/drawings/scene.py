"""What there is to draw of a package: its checks, what is on the car, what was there before."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from api.drawings.paper import Paper
from kb.baseline import find_baseline
from kb.catalogue import Catalogue
from kb.errors import QuestionError
from kb.statements import Axle
from rules import answers as a
from rules.checking import Sheet, checks
from rules.fit import fit
from rules.situation import Situation, situation_of

SAID = {
    "fits": "Fits", "fits_with_work": "Fits with work", "does_not_fit": "Does not fit",
    "not_known": "Not known",
}
"""A verdict in words."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What one check said of one combination: one line for each aspect, in the check's order."""

    check: str
    parts: tuple[str, ...]
    axle: Axle | None
    lines: tuple[a.CheckLine, ...]

    def aspect(self, name: str) -> a.CheckLine | None:
        """The line about one aspect."""
        return next((line for line in self.lines if line.aspect == name), None)


class Scene:
    """A package on its car; of an impossible question, the picks on it as asked for."""

    def __init__(self, known: Catalogue, question: a.Question, package: a.Package) -> None:
        ref = package.baseline
        baseline = find_baseline(known, ref.vehicle, ref.year, ref.variant)
        self.known, self.question, self.package = known, question, package
        self.at: Situation = situation_of(known, baseline)
        self.possible = package.outcome != "impossible"

    @property
    def car(self) -> str:
        """The car by name."""
        return f"{self.package.baseline.name}"

    @cached_property
    def lines(self) -> tuple[a.CheckLine, ...]:
        """Every check of what is to be on the car."""
        return self.package.checks if self.possible else tuple(self._as_asked())

    def _as_asked(self) -> Iterator[a.CheckLine]:
        picks = dict.fromkeys(
            part for item in self.question.picks
            for part in (item.part, *self.at.unpacked(item.part))
            if part == item.part or not self.at.refusal(part)
        )
        try:
            sheet = fit(self.known, tuple(picks), self.at.baseline)
        except QuestionError:
            return  # two picks want one place: the clash says so, and there is nothing to see
        yield from (*sheet.checks, *sheet.with_stock)

    def judged(self, *names: str) -> Iterator[Judged]:
        """What the checks of these names said, one combination after the other, front first."""
        found: dict[tuple[str, tuple[str, ...], str | None], list[a.CheckLine]] = {}
        for line in self.lines:
            if line.check in names:
                found.setdefault((line.check, line.parts, line.axle), []).append(line)
        for (check, parts, _), lines in sorted(found.items(), key=lambda one: one[0][2] or ""):
            yield Judged(check, parts, _axle(lines[0].axle), tuple(lines))

    def sheet(self, judged: Judged, parts: Sequence[str] = ()) -> Sheet:
        """An empty sheet of a check for the same parts, or for others in their roles."""
        given = [(part, self.known.parts[part]) for part in parts or judged.parts]
        return checks()[judged.check].sheet(given, self.known, self.at.baseline, judged.axle)

    def stock(self, judged: Judged) -> tuple[str, ...] | None:
        """The stock parts in the roles of a check, without its modifier; None where one lacks."""
        fitted = self.at.baseline.fitted_of
        found = [
            fitted(self.known.parts, role.kind, role.axle or judged.axle)
            for role in checks()[judged.check].roles
        ]
        return tuple(parts[0] for parts in found) if all(found) else None

    def name(self, part: str) -> str:
        """A part by name."""
        return self.at.name(part)

    def names(self, judged: Judged) -> str:
        """The parts of a combination by name."""
        return " with ".join(map(self.name, judged.parts))


def verdict(line: a.CheckLine, about: str = "") -> str:
    """A verdict as a sentence, without the name of what a drawing is about."""
    says = line.says.removeprefix(f"{about}, ") if about else line.says
    return f"{SAID[line.verdict]}. {says[:1].upper()}{says[1:]}."


def say_verdicts(paper: Paper, said: Iterable[str]) -> None:
    """Verdicts below a drawing; what does not simply fit stands out."""
    for one in said:
        paper.say(one, bold=not one.startswith(f"{SAID['fits']}."))


def _axle(name: str | None) -> Axle | None:
    return "front" if name == "front" else "rear" if name == "rear" else None


def gap_said(value: float, unit: str = "mm") -> str:
    """A gap in words: below zero, two things strike."""
    return f"{value:.1f} {unit}" if value >= 0 else f"strikes by {-value:.1f} {unit}"
