"""What a statement refers to: every name has to be stated somewhere, and what is compared has to
be of one sort.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING, Any

from kb.dimensions import fact_groups, kinds
from kb.entries import Part
from kb.errors import Problem, a_or_an, shown
from kb.matching import ORDERED, read_operand, sort_of
from kb.names import CarNames, Names, together
from kb.statements import Applies, Comparison, Conflict, Need, Reference, Selector, Statement, When
from kb.units import Amount

if TYPE_CHECKING:
    from kb.catalogue import Entry

Path = tuple[int | str, ...]
Values = Mapping[tuple[str, str], Any]
Entries = Mapping[tuple[str, str], "Entry"]


_NAMED_OF_CARS = ("variants", "engines", "markets", "equipment", "without")
"""What a limit may name of the cars it is about."""
_NAMING = frozenset({"part", "parts", "why", "basis", "source"})
"""The fields of a statement that names parts and says no more of them."""
_COUNTING = _NAMING | {"each", "once"}
"""The fields of one that says how many, too."""


class Referring:
    """Checks the statements of one `entry` at a time and adds what is wrong to `problems`.

    Not `whole`: some file could not be read, so a name that is not stated may stand there.
    """

    entry: Entry
    own_car: CarNames | None

    def __init__(
        self, values: Values, entries: Entries, problems: list[Problem], whole: bool
    ) -> None:
        self.values, self.entries, self.problems, self.whole = values, entries, problems, whole
        self.names = Names((section, key, entry.raw) for (section, key), entry in entries.items())
        self.parts, self.steps = self.names.sections["parts"], self.names.sections["work"]
        self.by_piece = {
            key for (section, key), value in values.items()
            if section == "parts" and not value.pack.unit
        }
        self.facts = {
            f"{group}.{name}": (model, name)
            for group, model in fact_groups().items() for name in model.fact_names()
        }

    # -- saying what is wrong -------------------------------------------------------------------

    def add(self, path: Path, message: str, expected: str = "", nearest: str = "") -> None:
        """A problem at `path` inside the entry at hand."""
        said = f"{self.entry.name}: {message}"
        self.problems.append(self.entry.problem(path, said, expected, nearest))

    def known(
        self, what: str, name: str, names: Collection[str], path: Path, who: str = "there is"
    ) -> None:
        """A problem if `name` is not one of `names`."""
        if name not in names and self.whole:
            self.add(path, f"{who} no {what} '{name}'", "", self.names.near(name, names))

    # -- statements -----------------------------------------------------------------------------

    def applies(self, where: Applies, path: Path) -> None:
        """Each vehicle, variant, engine, market and equipment named has to exist."""
        stated = where.model_fields_set
        if not stated:
            return
        for i, vehicle in enumerate(where.vehicles):
            if vehicle not in self.names.cars:
                self.known("vehicle", vehicle, self.names.cars, (*path, "vehicles", i))
        if stated.isdisjoint(_NAMED_OF_CARS):
            return
        cars = self.cars_meant(where)
        who = f"{' and '.join(where.vehicles)} has" if where.vehicles else "there is"
        for field, what, names in (
            ("variants", "variant", cars.variants), ("engines", "engine", cars.engines),
            ("markets", "market", cars.markets), ("equipment", "equipment", cars.equipment),
            ("without", "equipment", cars.equipment),
        ):
            for i, name in enumerate(getattr(where, field)):
                self.known(what, name, names, (*path, field, i), who)

    def cars_meant(self, where: Applies) -> CarNames:
        """The names a statement may use: those of the vehicles it is about."""
        if not where.vehicles:
            return self.own_car or self.names.all_cars
        named = [self.names.cars[key] for key in where.vehicles if key in self.names.cars]
        return together(named) if len(named) == len(where.vehicles) else self.names.all_cars

    def when(self, when: When, owner: Part | None, path: Path) -> None:
        """Check a condition: where it applies, and what has to be there or not."""
        self.applies(when, path)
        for field in ("present", "absent"):
            for i, selector in enumerate(getattr(when, field)):
                self.selector(selector, owner, (*path, field, i))

    def selector(self, selector: Selector, owner: Part | None, path: Path) -> None:
        """Each part, place, step and kind named has to exist, and each comparison to make sense."""
        for i, part in enumerate(selector.listed):
            field = ("part",) if selector.part is not None else ("parts", i)
            self.known("part", part, self.parts, (*path, *field))
        if selector.at is not None:
            self.known("place", selector.at, self.names.all_cars.places, (*path, "at"))
        if selector.step is not None:
            self.known("work step", selector.step, self.steps, (*path, "step"))
        if selector.kind is not None:
            if selector.kind in kinds():
                self.match(selector.kind, selector.match, owner, (*path, "match"))
            else:
                near = self.names.near(selector.kind, kinds())
                self.add((*path, "kind"), f"there is no kind '{selector.kind}'", "", near)

    # -- comparisons ----------------------------------------------------------------------------

    def match(
        self, kind: str, match: Mapping[str, Comparison], owner: Part | None, path: Path
    ) -> None:
        """Each dimension compared has to be one of the kind."""
        model = kinds()[kind]
        for name, comparison in match.items():
            if name in model.model_fields:
                self.comparison(kind, name, comparison, owner, (*path, name))
            else:
                known = ", ".join(model.model_fields)
                self.add((*path, name), f"{a_or_an(kind)} has no dimension {shown(name)}",
                         f"one of {known}" if known else "",
                         self.names.near(name, model.model_fields))

    def comparison(
        self, kind: str, name: str, comparison: Comparison, owner: Part | None, path: Path
    ) -> None:
        """The relation has to suit the dimension, and each operand to be of its sort."""
        sort, relation = sort_of(kinds()[kind], name), comparison.relation
        if relation in ("at_least", "at_most", "within") and sort not in ORDERED:
            self.add(path, f"the {name} of {a_or_an(kind)} has no order", "equals or one_of")
            return
        for operand in comparison.operands:
            if isinstance(operand, Reference):
                self.reference(operand, sort, owner, path)
                continue
            try:
                read_operand(kind, name, operand)
            except ValueError as error:
                self.add(path, f"{name}: {error}")
                return
        if relation == "within" and all(isinstance(o, str) for o in comparison.operands):
            low, high = (read_operand(kind, name, str(o)) for o in comparison.operands)
            if getattr(low, "value", low) > getattr(high, "value", high):
                self.add(path, f"{name}: '{low}' to '{high}' ends before it begins")

    def reference(
        self, reference: Reference, sort: str, owner: Part | None, path: Path
    ) -> None:
        """A reference has to lead to something of the sort it is compared with."""
        target: tuple[type[Statement], str] | None = None
        if reference.own is not None:
            fields = type(owner.dimensions).model_fields if owner else {}
            if owner and reference.own in fields:
                target = type(owner.dimensions), reference.own
            else:
                who = a_or_an(owner.kind) if owner else "what states this"
                self.add(path, f"{who} has no dimension '{reference.own}'", "",
                         self.names.near(reference.own, fields))
        elif reference.fact in self.facts:
            target = self.facts[reference.fact]
        else:
            name = reference.fact or ""
            self.add(path, f"there is no fact {shown(name)}", "", self.names.near(name, self.facts))
        if target and sort_of(*target) != sort:
            other = a_or_an(sort_of(*target))
            self.add(path, f"{path[-1]}: {a_or_an(sort)} is compared with {other}")

    # -- needs and conflicts --------------------------------------------------------------------

    def plain(self, statement: Need | Conflict, owner: Part) -> bool:
        """Whether a statement of a part only names others that there are, sold by the piece.

        Nothing can be wrong with it then; most statements of a large catalogue are such.
        """
        listed, stated = statement.listed, statement.model_fields_set
        return (
            stated <= _COUNTING
            and (stated <= _NAMING or self._counts_pieces(statement, owner))
            and self.by_piece.issuperset(listed)
            and self.entry.id not in listed
        )

    def _counts_pieces(self, statement: Need | Conflict, owner: Part) -> bool:
        """Whether what a part needs is counted in pieces, and so is the part itself."""
        return isinstance(statement, Need) and not (
            statement.amount.unit or owner.pack.unit or owner.contents
        )

    def need(self, need: Need, owner: Part | None, path: Path) -> None:
        """Check a need, and its amount against how the parts are sold."""
        self.selector(need, owner, path)
        self.when(need.when, owner, (*path, "when"))
        for part in need.listed:
            self.amount(part, need.amount, path)

    def amount(self, part_id: str, amount: Amount, path: Path) -> None:
        """An amount has to be in the unit the part is sold in."""
        part = self.values.get(("parts", part_id))
        if part is not None and part.pack.unit != amount.unit:
            sold = f"in {part.pack.unit}" if part.pack.unit else "by the piece"
            self.add(path, f"'{part_id}' is sold {sold}, not as '{amount}'")

    def conflict(self, conflict: Conflict, owner: Part | None, path: Path) -> None:
        """Check a conflict."""
        self.selector(conflict, owner, path)
        self.when(conflict.when, owner, (*path, "when"))
