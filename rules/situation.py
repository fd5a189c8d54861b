"""What the catalogue says for one car: which parts go on it, who can meet which need, what the
checks say. Everything is worked out on first use and kept, since a catalogue never changes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any, NamedTuple

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.entries import Part, Rule, Trial
from kb.graph import Edge, EdgeType, Graph, graph_of, key_of, node
from kb.matching import matches
from kb.statements import Axle, Fits, Need, Selector, When
from rules.checking import Check, Verdict, mounting_is_judged, outranked
from rules.sharing import run_shared


@dataclass(frozen=True, slots=True)
class Candidate:
    """A part that a selector may mean. `missing` says what is not known about the match."""

    part: str
    missing: tuple[str, ...] = ()


class Member(NamedTuple):
    """A part in a check: added to the car, or the stock part staying in `stock_place`."""

    part: str
    stock_place: str = ""


class Situation:
    """One car and the catalogue as it applies to it."""

    def __init__(self, catalogue: Catalogue, baseline: Baseline) -> None:
        self.catalogue, self.baseline = catalogue, baseline
        self.graph: Graph = graph_of(catalogue)
        self.car = baseline.vehicle_id
        self.parts: Mapping[str, Part] = catalogue.parts
        self.kept: dict[str, object] = {}
        """What layers above work out of a situation and keep for as long as it lives."""
        self._refusals: dict[str, str] = {}
        self._for_sale: dict[str, bool] = {}
        self._comers: dict[str, tuple[str, ...]] = {}
        self._candidates: dict[tuple[int, str], tuple[Candidate, ...]] = {}
        self._verdicts: dict[
            tuple[str, tuple[Member, ...], Axle | None], tuple[Verdict, ...]
        ] = {}

    # -- parts on this car ----------------------------------------------------------------------

    def refusal(self, part_id: str) -> str:
        """Why a part does not go on this car by what is stated of it; empty when nothing is."""
        if part_id not in self._refusals:
            self._refusals[part_id] = self._find_refusal(part_id)
        return self._refusals[part_id]

    def _find_refusal(self, part_id: str) -> str:
        part = self.parts[part_id]
        lacking = [place for place in part.takes if place not in self.baseline.places]
        if lacking:
            return f"{self.baseline.vehicle.name} has no place '{lacking[0]}'"
        if part.fits and not any(self.baseline.applies(fits) for fits in part.fits):
            return f"it is not listed for {self.baseline.name}"
        fitted = [inner for inner in self.unpacked(part_id) if self.parts[inner].takes]
        if fitted and all(self.refusal(inner) for inner in fitted):
            return f"nothing in it goes on {self.baseline.name}"
        return ""

    def stated_fits(self, part_id: str) -> tuple[Fits, ...]:
        """The stated fits of a part that hold for this car."""
        return tuple(f for f in self.parts[part_id].fits if self.baseline.applies(f))

    def mounting_unknown(self, part_id: str) -> bool:
        """Whether neither a statement nor a check says that the part goes onto this car."""
        part = self.parts[part_id]
        return bool(part.takes) and not part.fits and not mounting_is_judged(part.kind)

    def axles(self, part_id: str) -> tuple[Axle | None, ...]:
        """The axles a part sits on here; (None,) when it has no axle of its own."""
        places = self.baseline.places
        found = {places[p].axle for p in self.parts[part_id].takes if p in places}
        return tuple(sorted(axle for axle in found if axle)) or (None,)

    def units(self, part_id: str, axle: Axle | None = None) -> int:
        """How many units of a part its places hold, on one axle or in all; 0 without places."""
        places = [self.baseline.places[p] for p in self.parts[part_id].takes
                  if p in self.baseline.places]
        return sum(place.count for place in places if axle in (None, place.axle))

    def buyable(self, part_id: str) -> bool:
        """Whether a part can be ordered at all: on sale, and not replaced by a successor."""
        return self.parts[part_id].orderable and not self.successors(part_id)

    def for_sale(self, part_id: str) -> bool:
        """Whether a part can be ordered for this car."""
        known = self._for_sale.get(part_id)
        if known is None:
            known = self.buyable(part_id) and not self.refusal(part_id)
            self._for_sale[part_id] = known
        return known

    def kits_with(self, part_id: str) -> list[str]:
        """The kits that hold a part, whether or not they can be had."""
        edges = self.graph.into(node("part", part_id), "contents", self.car)
        return [key_of(edge.node) for edge in edges]

    def names(self, part_id: str) -> tuple[str, ...]:
        """The nodes by which statements mean a part: itself, its kind, the parts it replaces."""
        older = self.predecessors(part_id)
        me, kind = node("part", part_id), node("kind", self.parts[part_id].kind)
        return (me, kind, *(node("part", old) for old in older)) if older else (me, kind)

    def successors(self, part_id: str) -> tuple[str, ...]:
        """The parts that replace this one, newest last."""
        if not self.graph.into(node("part", part_id), "supersedes"):
            return ()
        return _reached(part_id, lambda name: self.graph.into(name, "supersedes"))

    def predecessors(self, part_id: str) -> tuple[str, ...]:
        """The parts that this one replaces, oldest last."""
        if not self.parts[part_id].supersedes:
            return ()
        return _reached(part_id, lambda name: self.graph.out(name, "supersedes"))

    def takers(self, place: str) -> Iterator[str]:
        """The parts that can be ordered for a place of this car."""
        yield from self._hanging_on(place, "takes")

    def comers(self, place: str) -> tuple[str, ...]:
        """The parts with which the stock part of a place comes off: they take it or clear it."""
        if place not in self._comers:
            clearers = self._hanging_on(place, "clears")
            self._comers[place] = (*self._hanging_on(place, "takes"), *clearers)
        return self._comers[place]

    def _hanging_on(self, place: str, edge_type: EdgeType) -> Iterator[str]:
        for edge in self.graph.into(node("place", place), edge_type, self.car):
            if not self.refusal(key_of(edge.node)):
                yield key_of(edge.node)

    @cached_property
    def always(self) -> tuple[str, ...]:
        """The general rules that are needs of every package on this car."""
        return tuple(key for key, rule in self._rules() if not rule.when)

    def _rules(self) -> Iterator[tuple[str, Rule]]:
        """The general rules that hold on this car."""
        rules = self.catalogue.rules
        for key in self.graph.rules_on(self.car):
            if self.baseline.applies(rules[key].on):
                yield key, rules[key]

    @cached_property
    def stock_places(self) -> Mapping[str, tuple[str, ...]]:
        """Each stock part and the places it is in."""
        found: dict[str, tuple[str, ...]] = {}
        for place, part in sorted(self.baseline.fitted.items()):
            found[part] = (*found.get(part, ()), place)
        return found

    def unpacked(self, kit: str) -> dict[str, Fraction]:
        """What is in one of a kit, kits inside it unpacked too."""
        found: dict[str, Fraction] = {}
        for inner, amount in self.parts[kit].contents.items():
            found[inner] = found.get(inner, Fraction(0)) + amount.value
            for deeper, value in self.unpacked(inner).items():
                found[deeper] = found.get(deeper, Fraction(0)) + amount.value * value
        return found

    # -- selectors ------------------------------------------------------------------------------

    def holds(self, when: When) -> bool:
        """Whether the part of a condition that is about the car as built is met."""
        return not when.model_fields_set or self.baseline.applies(when)

    def candidates(self, selector: Selector, owner: str | None = None) -> tuple[Candidate, ...]:
        """The parts a selector can mean on this car, with successors standing in for old parts.

        `owner` is the part that makes the statement. Parts that do not go on the car are left out.
        """
        key = (id(selector), owner or "")
        if key not in self._candidates:
            self._candidates[key] = tuple(self._find_candidates(selector, owner))
        return self._candidates[key]

    def _find_candidates(self, selector: Selector, owner: str | None) -> Iterator[Candidate]:
        for part_id in self._named(selector):
            part = self.parts[part_id]
            if selector.at is not None and selector.at not in part.takes:
                continue
            if self.refusal(part_id) and part_id not in self.stock_places:
                continue
            if isinstance(selector, Need) and selector.amount.unit != part.pack.unit:
                continue
            met, missing = self.match(selector, part_id, owner)
            if met is not False:
                yield Candidate(part_id, missing)

    def _named(self, selector: Selector) -> Iterable[str]:
        if selector.kind is not None:
            edges = self.graph.into(
                node("kind", selector.kind), "is", self.car
            )
            return [key_of(edge.node) for edge in edges]
        found = dict.fromkeys(selector.listed)
        for part_id in selector.listed:
            found.update(dict.fromkeys(self.successors(part_id)))
        return found

    def match(
        self, selector: Selector, part_id: str, owner: str | None
    ) -> tuple[bool | None, tuple[str, ...]]:
        """Whether a part of the kind meant matches, on every axle it would be compared on."""
        if not selector.match or selector.kind is None:
            return True, ()
        part = self.parts[part_id]
        own = self.parts[owner].dimensions if owner else None
        missing: dict[str, None] = {}
        for axle in self.axles(owner or part_id):
            met, lacking = matches(
                selector.match, selector.kind, part.dimensions, own, self._reader(axle)
            )
            if met is False:
                return False, ()
            missing.update(dict.fromkeys(
                f"{name.replace('_', ' ')} of {part.name}" if "." not in name
                else f"{name.partition('.')[2].replace('_', ' ')} of the car" for name in lacking
            ))
        return (None, tuple(missing)) if missing else (True, ())

    def _reader(self, axle: Axle | None) -> Any:
        def read(name: str) -> Any:
            fact = self.baseline.fact(name, axle)
            return fact.value if fact else None

        return read

    # -- stock parts that lean on each other -----------------------------------------------------

    @cached_property
    def dependents(self) -> Mapping[str, tuple[tuple[str, Need], ...]]:
        """For each place, the stock needs (place of the asker, need) its stock part meets.

        Only needs the factory's own parts met count: what the factory fitted without listing it
        stays as it is.
        """
        found: dict[str, list[tuple[str, Need]]] = {}
        for place, part_id in sorted(self.baseline.fitted.items()):
            for need in self.parts[part_id].requires:
                for meeting in self.stock_meeting(need, part_id):
                    found.setdefault(meeting, []).append((place, need))
        return {place: tuple(needs) for place, needs in found.items()}

    def stock_meeting(self, need: Need, owner: str | None) -> tuple[str, ...]:
        """The places whose stock part meets a need; none when the need does not apply."""
        if not self.holds(need.when) or need.fitted is False:
            return ()
        if not all(self.stock_of(selector, owner) for selector in need.when.present):
            return ()
        if any(self.stock_of(selector, owner) for selector in need.when.absent):
            return ()
        return self.stock_of(need, owner)

    def stock_of(self, selector: Selector, owner: str | None) -> tuple[str, ...]:
        """The places whose stock part a selector means."""
        if selector.fitted is False:
            return ()
        return tuple(
            place
            for candidate in self.candidates(selector, owner)
            for place in self.stock_places.get(candidate.part, ())
            if selector.at in (None, place)
        )

    @cached_property
    def stock_rules(self) -> Mapping[str, tuple[str, ...]]:
        """For each place, the general rules that its stock part helps the stock car to keep."""
        found: dict[str, tuple[str, ...]] = {}
        for rule_id, rule in self._rules():
            if not all(self.stock_of(selector, None) for selector in rule.when):
                continue
            for selector in rule.then_any:
                for place in self.stock_of(selector, None):
                    found[place] = (*found.get(place, ()), rule_id)
        return found

    def stock_meets(self, rule: Rule) -> bool:
        """Whether the stock car has what a general rule asks for."""
        return any(self.stock_of(selector, None) for selector in rule.then_any)

    # -- checks ---------------------------------------------------------------------------------

    def verdicts(
        self, check: Check, members: tuple[Member, ...], axle: Axle | None
    ) -> tuple[Verdict, ...]:
        """What a check says of these members; a trial fit outranks the computation."""
        key = (check.name, members, axle)
        if key not in self._verdicts:
            parts = [(member.part, self.parts[member.part]) for member in members]
            computed = run_shared(check, parts, self.catalogue, self.baseline, axle)
            trial = self._trial(check.name, {member.part for member in members})
            self._verdicts[key] = (
                tuple(_after_trial(verdict, trial) for verdict in computed) if trial else computed
            )
        return self._verdicts[key]

    def _trial(self, check: str, parts: set[str]) -> Trial | None:
        for trial in self._trials.get(frozenset(parts), ()):
            if trial.check in (None, check):
                return trial
        return None

    @cached_property
    def _trials(self) -> Mapping[frozenset[str], tuple[Trial, ...]]:
        found: dict[frozenset[str], tuple[Trial, ...]] = {}
        for trial in self.catalogue.trials.values():
            if self.baseline.applies(trial.on):
                key = frozenset(trial.parts)
                found[key] = (*found.get(key, ()), trial)
        return found

    # -- names ----------------------------------------------------------------------------------

    def name(self, part_id: str) -> str:
        """The name of a part as said to a customer."""
        return self.parts[part_id].name

    def place_name(self, place: str) -> str:
        """The name of a place as said to a customer."""
        known = self.baseline.places.get(place)
        return (known.name if known and known.name else place).replace("-", " ")


def _reached(part_id: str, edges: Callable[[str], Iterable[Edge]]) -> tuple[str, ...]:
    """The parts reached by following edges, nearest first."""
    found: dict[str, None] = {}
    queue = [part_id]
    while queue:
        for edge in edges(node("part", queue.pop(0))):
            if key_of(edge.node) not in found:
                found[key_of(edge.node)] = None
                queue.append(key_of(edge.node))
    return tuple(found)


def _after_trial(computed: Verdict, trial: Trial) -> Verdict:
    where = f" ({trial.source})" if trial.source else ""
    says = f"tried on a car{where}: {trial.verdict.replace('_', ' ')}"
    return outranked(
        computed, f"{says}; {trial.why}" if trial.why else says,
        verdict=trial.verdict, work=trial.work, spoilt_by=(),
    )


def situation_of(catalogue: Catalogue, baseline: Baseline) -> Situation:
    """The situation of a car, made on first use and kept with the catalogue."""
    kept: dict[str, Situation] = catalogue.caches.setdefault("situations", {})
    if baseline.id not in kept:
        kept[baseline.id] = Situation(catalogue, baseline)
    return kept[baseline.id]


