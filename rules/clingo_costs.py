"""What a package costs, level by level, as sums for clingo to make least."""

from __future__ import annotations

from collections.abc import Sequence
from zlib import crc32

from rules.clingo_amounts import Amounts
from rules.clingo_program import Program, Terms
from rules.clingo_statements import Statements
from rules.labour import fitting_minutes, labour_cents
from rules.problem import Problem
from rules.situation import Situation
from rules.solution import RIVALS, Bounds


class Costs:
    """The costs of one problem: cents, seconds, grams and whole numbers."""

    def __init__(
        self, situation: Situation, problem: Problem, program: Program, statements: Statements,
        amounts: Amounts,
    ) -> None:
        self.at, self.problem, self.program = situation, problem, program
        self.statements, self.amounts = statements, amounts
        self._terms: dict[str, list[tuple[int, int]]] = {}
        for (kind, key), variable in problem.variables.items():
            literal = program.literal(variable)
            if kind == "open":
                self._add("open", [(literal, 1)])
            elif kind == "step":
                self._time(literal, situation.catalogue.work[key].minutes.value)
                self._add("lines", [(literal, 1)])
            elif kind == "new":
                self._part(key, literal)
            elif kind == "stays":
                self._stock_mass(key, literal)
        self._fallen()
        self._add("rank", [(program.literal(v), _rank(part)) for part, v in problem.new_parts()])

    def minimize(self, levels: Sequence[str]) -> None:
        """Make the levels least, the first before the second and so on."""
        for i, level in enumerate(levels):
            self.program.minimize(len(levels) - i, self._terms.get(level, ()))

    def bound(self, bounds: Bounds) -> None:
        """Allow only packages within bounds."""
        for level, most in bounds.at_most.items():
            if terms := self._terms.get(level):
                self.program.forbid_sum(most + 1, terms)
        for point in bounds.beat:
            no_better = [self._reaches(level, point[level]) for level in RIVALS]
            self.program.forbid([atom for atom in no_better if atom is not None])

    def _reaches(self, level: str, amount: int) -> int | None:
        """An atom that holds when a cost is at least so much; None where it always is."""
        if amount <= 0:
            return None
        atom = self.program.atom()
        self.program.follows_from_sum(atom, amount, self._terms.get(level, ()))
        return atom

    def _add(self, level: str, terms: Terms) -> None:
        self._terms.setdefault(level, []).extend(terms)

    def _part(self, part: str, literal: int) -> None:
        stated = self.at.parts[part]
        self._time(literal, fitting_minutes(self.at, self.problem, part))
        self._add("lines", [(literal, 1)])
        packs = self.amounts.packs.get(part, [])
        if stated.price is None:
            self._add("unpriced", [(atom, 1) for atom in packs[:1]])
        else:
            self._add("money", [(atom, stated.price.cents) for atom in packs])
        if stated.mass is None or stated.contents:
            return  # a kit weighs what is in it
        for level, amount in self.amounts.levels(part):
            if grams := round(stated.mass.value * 1000 * amount / self.amounts.measure):
                self._add("mass", [(level, grams)])

    def _stock_mass(self, place: str, literal: int) -> None:
        stock = self.at.parts[self.at.baseline.fitted[place]]
        if stock.mass:
            grams = stock.mass.value * 1000 * self.at.baseline.places[place].count
            self._add("mass", [(literal, round(grams))])

    def _fallen(self) -> None:
        """What falls on parts that are added, where it need not: stock that stays comes first."""
        for atom, need, choice in self.statements.assigned:
            if len(need.choices) > 1 and choice.part is not None and choice.stock_place is None:
                self._add("amount", [(atom, self.amounts.passed_on(need))])

    def _time(self, literal: int, minutes: float) -> None:
        if seconds := round(minutes * 60):
            self._add("minutes", [(literal, seconds)])
        if cents := labour_cents(self.at, minutes):
            self._add("money", [(literal, cents)])


def _rank(part: str) -> int:
    """A number for an id, by which one of two equal packages is taken: always the same one,
    whatever else is in the catalogue.
    """
    return 1 + crc32(part.encode()) % (1 << 20)
