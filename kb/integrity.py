"""Cross-checks between entries: every name that is used must be stated somewhere, and no
statement may contradict itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

import networkx as nx

from kb.dimensions import fact_groups, kinds
from kb.entries import Part, Rule, Trial, Vehicle, Work
from kb.errors import Problem, nearest_name
from kb.matching import read_operand
from kb.statements import Applies, Conflict, Need, Reference, Selector, When
from kb.units import Amount

if TYPE_CHECKING:
    from kb.catalogue import Entry

Path = tuple[int | str, ...]
Values = Mapping[tuple[str, str], Any]
Entries = Mapping[tuple[str, str], "Entry"]


def check_integrity(values: Values, entries: Entries, problems: list[Problem]) -> None:
    """Add to `problems` whatever does not hold together between the entries."""
    check = _Checker(values, entries, problems)
    for (section, key), value in values.items():
        reader = check.readers.get(section)
        if reader:
            check.entry = entries[section, key]
            reader(value)
    check.circles()


class _Checker:
    def __init__(self, values: Values, entries: Entries, problems: list[Problem]) -> None:
        self.values, self.entries, self.problems = values, entries, problems
        self.entry: Entry = None  # type: ignore[assignment]  # set before every reader
        self.readers: dict[str, Callable[[Any], None]] = {
            "parts": self.part, "vehicles": self.vehicle, "work": self.work,
            "rules": self.rule, "trials": self.trial,
        }
        self.names = {
            section: {key for kind, key in entries if kind == section}
            for section in ("parts", "vehicles", "work")
        }
        vehicles = [value for (section, _), value in values.items() if section == "vehicles"]
        self.places = {place for vehicle in vehicles for place in vehicle.places}
        self.variants = {name for vehicle in vehicles for name in vehicle.variants}
        cars = [variant for vehicle in vehicles for variant in vehicle.variants.values()]
        self.engines = {variant.engine for variant in cars}
        self.markets = {variant.market for variant in cars if variant.market}
        self.equipment = {name for vehicle in vehicles for name in vehicle.equipment}
        self.equipment |= {name for variant in cars for name in variant.equipment}
        header = values.get(("catalog", "catalog"))
        self.currency: str = header.currency if header else "EUR"

    # -- saying what is wrong -------------------------------------------------------------------

    def add(self, path: Path, message: str, expected: str = "", nearest: str = "") -> None:
        entry = self.entry
        said = f"{entry.section} '{entry.id}': {message}"
        self.problems.append(entry.problem(path, said, expected, nearest))

    def known(self, what: str, name: str, names: Iterable[str], path: Path) -> None:
        if name not in names:  # type: ignore[operator]
            self.add(path, f"there is no {what} '{name}'", "", nearest_name(name, names))

    # -- statements -----------------------------------------------------------------------------

    def applies(self, where: Applies, path: Path) -> None:
        for field, names in (
            ("vehicles", self.names["vehicles"]), ("variants", self.variants),
            ("engines", self.engines), ("markets", self.markets),
            ("equipment", self.equipment), ("without", self.equipment),
        ):
            for name in getattr(where, field):
                self.known(field.removesuffix("s") if field != "equipment" else field,
                           name, names, (*path, field))

    def when(self, when: When, owner: Part | None, path: Path) -> None:
        self.applies(when, path)
        for field in ("present", "absent"):
            for i, selector in enumerate(getattr(when, field)):
                self.selector(selector, owner, (*path, field, i))

    def selector(self, selector: Selector, owner: Part | None, path: Path) -> None:
        for part in selector.listed:
            self.known("part", part, self.names["parts"], (*path, _field(selector)))
        if selector.at is not None:
            self.known("place", selector.at, self.places, (*path, "at"))
        if selector.step is not None:
            self.known("work step", selector.step, self.names["work"], (*path, "step"))
        if selector.kind is not None:
            self.known("kind", selector.kind, kinds(), (*path, "kind"))
            if selector.kind in kinds():
                self.match(selector, owner, (*path, "match"))

    def match(self, selector: Selector, owner: Part | None, path: Path) -> None:
        assert selector.kind is not None
        fields = kinds()[selector.kind].model_fields
        for name, comparison in selector.match.items():
            if name not in fields:
                message = f"a {selector.kind} has no dimension '{name}'"
                self.add((*path, name), message, f"one of {', '.join(fields)}",
                         nearest_name(name, fields))
                continue
            given = getattr(comparison, comparison.relation)
            for operand in given if isinstance(given, tuple) else (given,):
                if isinstance(operand, Reference):
                    self.reference(operand, owner, (*path, name))
                    continue
                try:
                    read_operand(selector.kind, name, operand)
                except ValueError as error:
                    self.add((*path, name), str(error))

    def reference(self, reference: Reference, owner: Part | None, path: Path) -> None:
        if reference.own is not None:
            fields = type(owner.dimensions).model_fields if owner else {}
            if reference.own not in fields:
                kind = f"a {owner.kind}" if owner else "what states this"
                self.add(path, f"{kind} has no dimension '{reference.own}'", "",
                         nearest_name(reference.own, fields))
            return
        facts = [f"{g}.{n}" for g, model in fact_groups().items() for n in model.fact_names()]
        self.known("fact", reference.fact or "", facts, path)

    def need(self, need: Need, owner: Part | None, path: Path) -> None:
        self.selector(need, owner, path)
        self.when(need.when, owner, (*path, "when"))
        for part in need.listed:
            self.amount(part, need.amount, path)

    def amount(self, part_id: str, amount: Amount, path: Path) -> None:
        part = self.values.get(("parts", part_id))
        if part is not None and part.pack.unit != amount.unit:
            sold = f"in {part.pack.unit}" if part.pack.unit else "by the piece"
            self.add(path, f"'{part_id}' is sold {sold}, not as '{amount}'")

    def conflict(self, conflict: Conflict, owner: Part | None, path: Path) -> None:
        self.selector(conflict, owner, path)
        self.when(conflict.when, owner, (*path, "when"))

    # -- entries --------------------------------------------------------------------------------

    def part(self, part: Part) -> None:
        me = self.entry.id
        for field in ("takes", "clears"):
            for place in getattr(part, field):
                self.known("place", place, self.places, (field,))
        for part_id, amount in part.contents.items():
            self.known("part", part_id, self.names["parts"], ("contents", part_id))
            self.amount(part_id, amount, ("contents", part_id))
        for part_id in part.supersedes:
            self.known("part", part_id, self.names["parts"], ("supersedes",))
        if part.price and part.price.currency != self.currency:
            self.add(("price",), f"the price is in {part.price.currency}", self.currency)
        for i, fits in enumerate(part.fits):
            self.applies(fits, ("fits", i))
            for step in fits.work:
                self.known("work step", step, self.names["work"], ("fits", i, "work"))
            if (fits.verdict == "fits_with_work") != bool(fits.work):
                self.add(("fits", i), "'fits_with_work' and 'work' go together")
        for i, need in enumerate(part.requires):
            self.need(need, part, ("requires", i))
            if need.listed == (me,):
                self.add(("requires", i), "a part cannot need itself")
            if need.each and part.pack.unit:
                self.add(("requires", i), f"a part sold in {part.pack.unit} has no units to "
                         "count 'each' by; say 'once'")
        for i, conflict in enumerate(part.conflicts):
            self.conflict(conflict, part, ("conflicts", i))
            if me in conflict.listed:
                self.add(("conflicts", i), "a part cannot conflict with itself")
        for i, offer in enumerate(part.recommends):
            self.known("part", offer.part, self.names["parts"], ("recommends", i, "part"))
            self.when(offer.when, part, ("recommends", i, "when"))
        for i, work in enumerate(part.work):
            for step in work.listed:
                self.known("work step", step, self.names["work"], ("work", i))
            self.when(work.when, part, ("work", i, "when"))

    def vehicle(self, vehicle: Vehicle) -> None:
        from kb.baseline import vehicle_baselines

        for name, variant in vehicle.variants.items():
            self.applies(variant, ("variants", name))
        for name, where in vehicle.equipment.items():
            self.applies(where, ("equipment", name))
        for place, choices in vehicle.fitted.items():
            self.known("place", place, vehicle.places, ("fitted", place))
            for i, choice in enumerate(choices):
                self.known("part", choice.part, self.names["parts"], ("fitted", place, i))
                self.applies(choice, ("fitted", place, i))
                part = self.values.get(("parts", choice.part))
                if part is not None and place not in part.takes:
                    self.add(("fitted", place), f"'{choice.part}' does not take '{place}'")
        for i, block in enumerate(vehicle.facts):
            self.applies(block, ("facts", i))
        cars = list(vehicle_baselines(self.entry.id, vehicle))
        for name in vehicle.variants:
            if not any(car.variant_id == name for car in cars):
                self.add(("variants", name), f"variant '{name}' was made in no year of the vehicle")
        for place, choices in vehicle.fitted.items():
            twice = [c for c in cars if sum(c.applies(choice) for choice in choices) > 1]
            if twice:
                self.add(("fitted", place), f"'{place}' has two stock parts on {twice[0].id}")
        self.facts_once(vehicle, cars)

    def facts_once(self, vehicle: Vehicle, cars: list[Any]) -> None:
        """No fact may be stated twice for one car and axle."""
        for car in cars:
            seen: dict[tuple[str, str | None], int] = {}
            for i, block in enumerate(vehicle.facts):
                if not car.applies(block):
                    continue
                for name in block.fact_names():
                    if name == "about" or getattr(block, name) is None:
                        continue
                    key = (f"{block.group}.{name}", block.axle)
                    if key in seen:
                        self.add(("facts", i), f"'{key[0]}' is stated twice for {car.id}")
                        return
                    seen[key] = i

    def work(self, work: Work) -> None:
        self.applies(work.on, ("on",))
        for i, need in enumerate(work.requires):
            self.need(need, None, ("requires", i))
        for i, conflict in enumerate(work.conflicts):
            self.conflict(conflict, None, ("conflicts", i))

    def rule(self, rule: Rule) -> None:
        self.applies(rule.on, ("on",))
        if not rule.when and not rule.then_any:
            self.add((), "a rule with neither 'when' nor 'then_any' says nothing")
        for field in ("when", "then_any"):
            for i, selector in enumerate(getattr(rule, field)):
                self.selector(selector, None, (field, i))
        if rule.each and not rule.when:
            self.add(("each",), "'each' counts per unit of the first 'when'; there is none")
        for i, selector in enumerate(rule.then_any):
            for part in selector.listed:
                amount = rule.each or rule.once
                if amount:
                    self.amount(part, amount, ("then_any", i))

    def trial(self, trial: Trial) -> None:
        self.applies(trial.on, ("on",))
        for part in trial.parts:
            self.known("part", part, self.names["parts"], ("parts",))
        for step in trial.work:
            self.known("work step", step, self.names["work"], ("work",))
        if (trial.verdict == "fits_with_work") != bool(trial.work):
            self.add((), "'fits_with_work' and 'work' go together")

    # -- circles --------------------------------------------------------------------------------

    def circles(self) -> None:
        """Contents, supersessions and needs counted per unit must not run in a circle."""
        parts = {key: value for (section, key), value in self.values.items() if section == "parts"}
        self.circle("contents run in a circle", "contents",
                    ((key, inner) for key, part in parts.items() for inner in part.contents))
        self.circle("each supersedes the other", "supersedes",
                    ((key, old) for key, part in parts.items() for old in part.supersedes))
        self.circle("needs counted with 'each' run in a circle; say 'once' for one of them",
                    "requires", _each_edges(parts))

    def circle(self, message: str, field: str, edges: Iterable[tuple[str, str]]) -> None:
        graph: nx.DiGraph[str] = nx.DiGraph()
        graph.add_edges_from(edges)
        for group in nx.strongly_connected_components(graph):
            members = sorted(m for m in group if ("parts", m) in self.entries)
            if len(group) > 1 and members:
                self.entry = self.entries["parts", members[0]]
                self.add((field,), f"{message} ({', '.join(members)})")


def _each_edges(parts: Mapping[str, Part]) -> Iterator[tuple[str, str]]:
    """Part to part over `each` needs; a kind stands between as "kind name"."""
    for key, part in parts.items():
        yield f"kind {part.kind}", key
        for need in part.requires:
            if need.each is None:
                continue
            if need.kind is not None:
                yield key, f"kind {need.kind}"
            for listed in need.listed:
                yield key, listed


def _field(selector: Selector) -> str:
    return "part" if selector.part is not None else "parts"
