"""An independent re-check of every package before it is returned.

It reads only the answer, the question and the catalogue, and judges by the plain meaning of the
language: nothing here knows how the package was found. It shares the checks themselves and the
comparison of dimensions, but no code of the cone, the problem or the solvers.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from functools import cached_property
from itertools import product
from math import ceil

from kb.baseline import Baseline, find_baseline
from kb.catalogue import Catalogue
from kb.entries import Part, Rule, Trial
from kb.errors import QuestionError
from kb.matching import matches
from kb.statements import Axle, Need, Selector, When
from rules import answers as a
from rules.checking import Check, Verdict, checks, mounting_is_judged
from rules.verify_lines import line_faults
from rules.verify_wishes import wish_faults

CENT = Decimal("0.01")

_Combination = tuple[str, str, Axle | None, tuple[str, ...]]
"""A check, a car, an axle and the parts compared."""


@dataclass(frozen=True, slots=True)
class _There:
    """Something on the car: a part added (place None) or the stock part of a place."""

    part: str
    place: str | None
    qty: Fraction


@dataclass(frozen=True, slots=True)
class _Demand:
    """A need that is active: who asks, how much, and of what."""

    text: str
    selectors: Sequence[Selector]
    owner: str | None
    amount: Fraction
    each: bool
    by_stock: bool = False


@dataclass(frozen=True, slots=True)
class _Here:
    """What the catalogue states in general that holds for one car."""

    rules: Mapping[str, Rule]
    trials: Sequence[Trial]


def verify(catalogue: Catalogue, answer: a.Package, question: a.Question) -> list[str]:
    """What is wrong with a package, in words; empty when nothing is."""
    if answer.outcome == "impossible":
        return []
    if answer.catalog.digest != catalogue.digest:
        return ["the answer is from another catalogue"]
    try:
        baseline = find_baseline(
            catalogue, answer.baseline.vehicle, answer.baseline.year, answer.baseline.variant
        )
    except QuestionError as error:
        return [str(error)]
    return list(_Verifier(catalogue, baseline, answer, question).findings())


class _Verifier:
    def __init__(
        self, catalogue: Catalogue, baseline: Baseline, answer: a.Package, question: a.Question
    ) -> None:
        self.catalogue, self.baseline = catalogue, baseline
        self.answer, self.question = answer, question
        self.new = {
            line.part: line for line in answer.lines if line.status != "kept"
        }
        self.off = {gone.place for gone in answer.comes_off}
        self.steps = {work.step for work in answer.work}
        self.there = [
            _There(part, None, Fraction(str(line.qty))) for part, line in self.new.items()
            if part in catalogue.parts
        ]
        self.there += [
            _There(part, place, Fraction(baseline.places[place].count))
            for place, part in sorted(baseline.fitted.items()) if place not in self.off
        ]
        self._names: dict[tuple[str, ...], set[str]] = {}
        self._verdicts: dict[_Combination, tuple[Verdict, ...]] = \
            catalogue.caches.setdefault("verify:verdicts", {})
        self.on_hand: dict[str, Fraction] = {}
        for item in question.on_hand:
            self._have(item.part, Fraction(str(item.qty)) if item.qty else None)

    def _have(self, part_id: str, qty: Fraction | None) -> None:
        part = self.catalogue.parts[part_id]
        amount = qty if qty is not None else self._usual(part)
        self.on_hand[part_id] = self.on_hand.get(part_id, Fraction(0)) + amount
        for inner, inside in self._unpacked(part_id).items():
            self.on_hand[inner] = self.on_hand.get(inner, Fraction(0)) + amount * inside

    def findings(self) -> Iterator[str]:
        """Every fault found."""
        named = {line.part for line in self.answer.lines}
        unknown = sorted(named - self.catalogue.parts.keys())
        unknown += sorted(self.steps - self.catalogue.work.keys())
        if unknown:
            yield from (f"'{name}' is not in the catalogue" for name in unknown)
            return
        if len(self.new) != sum(line.status != "kept" for line in self.answer.lines):
            yield "a part stands on two lines"
        yield from line_faults(self.catalogue, self.baseline, self.answer)
        yield from wish_faults(self.catalogue, self.baseline, self.answer, self.question)
        yield from self._picks()
        for part in self.new:
            yield from self._goes_on(part)
        yield from self._places()
        yield from self._kits()
        yield from self._work_possible()
        yield from self._conflicts()
        yield from self._checks_hold()
        yield from self._demands_met()
        yield from self._sources()
        yield from self._totals()

    # -- picks, places, parts -------------------------------------------------------------------

    def _usual(self, part: Part) -> Fraction:
        return part.pack.value if part.pack.unit else Fraction(max(self._units(part), 1))

    def _units(self, part: Part, axle: Axle | None = None) -> int:
        places = [self.baseline.places[p] for p in part.takes if p in self.baseline.places]
        return sum(p.count for p in places if axle in (None, p.axle))

    def _successors(self, part: str) -> set[str]:
        found: set[str] = set()
        queue = [part]
        while queue:
            more = self._replaced_by.get(queue.pop(), set()) - found
            found |= more
            queue += more
        return found

    @cached_property
    def _here(self) -> _Here:
        """The general rules and trials for this car, looked out once."""
        kept: dict[str, _Here] = self.catalogue.caches.setdefault("verify:here", {})
        if self.baseline.id not in kept:
            applies = self.baseline.applies
            kept[self.baseline.id] = _Here(
                {key: rule for key, rule in self.catalogue.rules.items() if applies(rule.on)},
                [trial for trial in self.catalogue.trials.values() if applies(trial.on)],
            )
        return kept[self.baseline.id]

    @cached_property
    def _replaced_by(self) -> Mapping[str, set[str]]:
        """Old part to the parts that say they supersede it; read once per catalogue."""
        kept: dict[str, set[str]] | None = self.catalogue.caches.get("verify:replaced_by")
        if kept is None:
            kept = {}
            for key, part in self.catalogue.parts.items():
                for old in part.supersedes:
                    kept.setdefault(old, set()).add(key)
            self.catalogue.caches["verify:replaced_by"] = kept
        return kept

    def _buyable(self, part: str) -> bool:
        return self.catalogue.parts[part].orderable and not self._successors(part)

    def _picked(self) -> dict[str, Fraction]:
        """How many are asked for of each part, newer parts standing in for replaced ones."""
        wanted: dict[str, Fraction] = {}
        for item in self.question.picks:
            after = sorted(p for p in self._successors(item.part) if self._buyable(p))
            part = next((p for p in after if p in self.new), after[0]) if after else item.part
            stated = self.catalogue.parts[part]
            qty = Fraction(str(item.qty)) if item.qty is not None else self._usual(stated)
            wanted[part] = wanted.get(part, Fraction(0)) + qty
        return wanted

    def _picks(self) -> Iterator[str]:
        for part, qty in self._picked().items():
            stays = any(t.part == part and t.place for t in self.there)
            if part not in self.new:
                # To pick a stock part that nobody sells is to ask that it stays.
                if not stays or self._buyable(part):
                    yield f"the pick '{part}' is missing"
            elif Fraction(str(self.new[part].qty)) < qty:
                yield f"'{part}': {self.new[part].qty:g} are fewer than the {qty} asked for"

    def _goes_on(self, part_id: str) -> Iterator[str]:
        part, qty = self.catalogue.parts[part_id], Fraction(str(self.new[part_id].qty))
        if part.fits and not any(self.baseline.applies(f) for f in part.fits):
            yield f"'{part_id}' is not listed for this car"
        for place in part.takes:
            if place not in self.baseline.places:
                yield f"this car has no place '{place}' for '{part_id}'"
        if not self._usable(part_id):
            yield f"'{part_id}' does not go on this car"
        if qty < self._units(part):
            yield f"'{part_id}': {qty} do not fill its {self._units(part)} places"
        for fits in part.fits:
            if self.baseline.applies(fits):
                for step in fits.work:
                    if step not in self.steps:
                        yield f"'{part_id}' goes on only with the work '{step}'"
        unknown = part.takes and not part.fits and not mounting_is_judged(part.kind)
        if unknown and self.answer.outcome == "complete":
            yield f"nobody has stated that '{part_id}' fits this car"

    def _places(self) -> Iterator[str]:
        taken: dict[str, list[str]] = {}
        displaced: set[str] = set()
        for part_id in self.new:
            part = self.catalogue.parts[part_id]
            for place in part.takes:
                taken.setdefault(place, []).append(part_id)
            displaced |= {*part.takes, *part.clears} & self.baseline.fitted.keys()
        for place, parts in taken.items():
            if len(parts) > 1:
                yield f"'{place}' is taken by {' and '.join(sorted(parts))}"
        for place in sorted(displaced ^ self.off):
            yield f"what stays and what comes off at '{place}' is wrong"

    def _kits(self) -> Iterator[str]:
        for kit in self.new:
            for inner in self.catalogue.parts[kit].contents:
                if self._usable(inner) and inner not in self.new:
                    yield f"'{kit}' brings '{inner}', which is not in the list"

    def _usable(self, part_id: str) -> bool:
        """Whether a part, or for a kit anything in it that takes a place, goes on this car."""
        part = self.catalogue.parts[part_id]
        placed = [inner for inner in self._unpacked(part_id) if self.catalogue.parts[inner].takes]
        return (
            (not part.fits or any(self.baseline.applies(f) for f in part.fits))
            and all(place in self.baseline.places for place in part.takes)
            and (not placed or any(map(self._usable, placed)))
        )

    def _work_possible(self) -> Iterator[str]:
        for step in self.steps:
            if not self.baseline.applies(self.catalogue.work[step].on):
                yield f"the work '{step}' is not possible on this car"

    # -- selectors ------------------------------------------------------------------------------

    def _means(self, selector: Selector, thing: _There, owner: str | None) -> bool | None:
        """Whether a selector means something that is there; None when that is not known."""
        if selector.step is not None:
            return False
        if selector.kind is None and thing.part not in self._named(selector):
            return False
        part = self.catalogue.parts[thing.part]
        if selector.fitted is True and thing.place is None:
            return False
        if selector.fitted is False and thing.part in self.baseline.fitted.values():
            return False
        if selector.at is not None:
            where = (thing.place,) if thing.place else part.takes
            if selector.at not in where:
                return False
        if selector.kind is None:
            return True
        if part.kind != selector.kind:
            return False
        return self._matches(selector, part, owner)

    def _named(self, selector: Selector) -> set[str]:
        """The parts a selector names, and those that replace them."""
        listed = selector.listed
        found = self._names.get(listed)
        if found is None:
            found = self._names[listed] = {*listed}.union(*map(self._successors, listed))
        return found

    def _matches(self, selector: Selector, part: Part, owner: str | None) -> bool | None:
        asker = self.catalogue.parts[owner] if owner else None
        known: bool | None = True
        for axle in self._axles(asker or part):
            def fact(name: str, axle: Axle | None = axle) -> object:
                found = self.baseline.fact(name, axle)
                return found.value if found else None

            met, _ = matches(
                selector.match, part.kind, part.dimensions,
                asker.dimensions if asker else None, fact,
            )
            if met is False:
                return False
            known = known and met
        return known

    def _axles(self, part: Part) -> list[Axle | None]:
        places = self.baseline.places
        found = {places[p].axle for p in part.takes if p in places}
        return sorted((axle for axle in found if axle), key=str) or [None]

    def _present(self, selector: Selector, owner: str | None) -> list[_There]:
        """What is there and may be meant: what is not known counts as there."""
        return [t for t in self.there if self._means(selector, t, owner) is not False]

    def _step_there(self, selector: Selector) -> bool:
        return selector.step is not None and selector.step in self.steps

    def _was_met(self, need: Need, owner: str) -> bool:
        """Whether a stock part's need was active on the factory's car, and met there."""
        def there(selector: Selector) -> bool:
            return self._stock_meets((selector,), owner)

        return (
            self.baseline.applies(need.when)
            and all(map(there, need.when.present))
            and not any(map(there, need.when.absent))
            and there(need)
        )

    def _holds(self, when: When, owner: str | None) -> bool:
        there = (bool(self._present(s, owner)) or self._step_there(s) for s in when.present)
        absent = (not self._present(s, owner) and not self._step_there(s) for s in when.absent)
        return self.baseline.applies(when) and all(there) and all(absent)

    def _stock_things(self) -> list[_There]:
        return [
            _There(part, place, Fraction(self.baseline.places[place].count))
            for place, part in self.baseline.fitted.items()
        ]

    def _stock_meets(self, selectors: Sequence[Selector], owner: str | None) -> bool:
        return any(
            self._means(s, t, owner) is not False for s in selectors for t in self._stock_things()
            if s.fitted is not False
        )

    # -- conflicts ------------------------------------------------------------------------------

    def _conflicts(self) -> Iterator[str]:
        stating: list[tuple[str, _There | None, str | None]] = [
            (f"part '{t.part}'", t, t.part) for t in self.there
        ]
        stating += [(f"work '{step}'", None, None) for step in sorted(self.steps)]
        for name, thing, owner in stating:
            entry = self.catalogue.parts[owner] if owner else \
                self.catalogue.work[name.split("'")[1]]
            for conflict in entry.conflicts:
                if not self._holds(conflict.when, owner):
                    continue
                if self._step_there(conflict):
                    yield f"{name} conflicts with the work '{conflict.step}'"
                for other in self.there:
                    both_stock = thing is not None and thing.place and other.place
                    if other == thing or both_stock or (owner == other.part):
                        continue
                    means = self._means(conflict, other, owner)
                    if means or (means is None and self.answer.outcome == "complete"):
                        yield f"{name} conflicts with '{other.part}'"

    # -- checks ---------------------------------------------------------------------------------

    def _combinations(self) -> Iterator[tuple[Check, tuple[_There, ...], Axle | None]]:
        """Everything there that some check compares, with the part that modifies it if any."""
        by_kind: dict[str | None, list[_There]] = {}
        for thing in self.there:
            by_kind.setdefault(self.catalogue.parts[thing.part].kind, []).append(thing)
        for check in checks().values():
            if not all(role.kind in by_kind for role in check.roles):
                continue
            pools = [
                [t for t in by_kind[role.kind]
                 if role.axle is None or role.axle in self._axles_of(t)]
                for role in check.roles
            ]
            modifiers = by_kind.get(check.modifier, [])
            for things in product(*pools):
                for axle in [None] if check.whole_car else self._shared_axles(things):
                    here = [m for m in modifiers if axle in self._axles_of(m)]
                    for full in [(*things, m) for m in here] or [things]:
                        if any(t.place is None for t in full) and not self._yields(check, axle):
                            yield check, full, axle

    def _axles_of(self, thing: _There) -> list[Axle | None]:
        if thing.place:
            return [self.baseline.places[thing.place].axle]
        return self._axles(self.catalogue.parts[thing.part])

    def _yields(self, check: Check, axle: Axle | None) -> bool:
        return any(
            self.catalogue.parts[part].kind == check.unless
            and self.baseline.places[place].axle == axle
            for place, part in self.baseline.fitted.items()
        )

    def _shared_axles(self, things: Sequence[_There]) -> list[Axle | None]:
        shared: set[Axle | None] | None = None
        for thing in things:
            axles = self._axles_of(thing)
            if axles == [None]:
                continue
            shared = set(axles) if shared is None else shared & set(axles)
        return [None] if shared is None else sorted(shared, key=str)

    def _checks_hold(self) -> Iterator[str]:
        for check, things, axle in self._combinations():
            names = " with ".join(f"'{t.part}'" for t in things)
            for verdict, work in self._judged(check, things, axle):
                if verdict == "does_not_fit":
                    yield f"{names} does not pass '{check.name}'"
                elif verdict == "fits_with_work" and self.steps.isdisjoint(work):
                    yield f"{names} passes '{check.name}' only with work not in the package"
                elif verdict == "not_known" and self.answer.outcome == "complete":
                    yield f"{names}: '{check.name}' is not known, yet the package is complete"

    def _judged(
        self, check: Check, things: Sequence[_There], axle: Axle | None
    ) -> list[tuple[str, tuple[str, ...]]]:
        """Verdict and work of each aspect of a check; a trial fit outranks the computation."""
        computed = self._run(check, things, axle)
        for trial in self._here.trials:
            if set(trial.parts) == {t.part for t in things} and trial.check in (None, check.name):
                return [(trial.verdict, trial.work) for _ in computed]
        return [(verdict.verdict, verdict.work) for verdict in computed]

    def _run(
        self, check: Check, things: Sequence[_There], axle: Axle | None
    ) -> tuple[Verdict, ...]:
        """What a check says, from the first time this re-check ran it on the car."""
        ids = tuple(thing.part for thing in things)
        key = (check.name, self.baseline.id, axle, ids)
        if key not in self._verdicts:
            parts = [(part, self.catalogue.parts[part]) for part in ids]
            self._verdicts[key] = check.run(parts, self.catalogue, self.baseline, axle)
        return self._verdicts[key]

    # -- needs ----------------------------------------------------------------------------------

    def _demands(self) -> Iterator[_Demand]:
        for thing in self.there:
            part = self.catalogue.parts[thing.part]
            for need in part.requires:
                if thing.place and not self._was_met(need, thing.part):
                    continue
                if self._holds(need.when, thing.part):
                    yield self._demand(f"'{thing.part}'", need, thing.part, thing.qty,
                                       by_stock=bool(thing.place))
        for step in sorted(self.steps):
            for need in self.catalogue.work[step].requires:
                if self._holds(need.when, None):
                    yield self._demand(f"the work '{step}'", need, None, Fraction(1))
        for check, things, axle in self._combinations():
            first = things[0]
            units = first.qty if first.place else Fraction(
                self._units(self.catalogue.parts[first.part], axle) or 1
            )
            needs = [n for verdict in self._run(check, things, axle) for n in verdict.needs]
            for need in needs:
                yield self._demand(f"'{first.part}' ({check.name})", need, first.part, units)

    def _demand(
        self, text: str, need: Need, owner: str | None, units: Fraction, *, by_stock: bool = False
    ) -> _Demand:
        amount = need.amount.value * units if need.each else need.amount.value
        return _Demand(text, (need,), owner, amount, need.each is not None, by_stock)

    def _rule_demands(self) -> Iterator[_Demand]:
        for key, rule in self._here.rules.items():
            groups = [self._present(selector, None) for selector in rule.when]
            steps = [self._step_there(selector) for selector in rule.when]
            if not all(group or step for group, step in zip(groups, steps, strict=True)):
                continue
            something_new = any(t.place is None for group in groups for t in group) or any(steps)
            if rule.when and not something_new and not self._stock_meets(rule.then_any, None):
                continue
            if any(self._step_there(selector) for selector in rule.then_any):
                continue
            amount = (rule.each or rule.once)
            units = Fraction(1)
            if rule.each and not steps[0]:
                units = sum((t.qty for t in groups[0]), Fraction(0))
            yield _Demand(
                f"the rule '{key}'", rule.then_any, None,
                amount.value * units if amount else Fraction(1), rule.each is not None,
                by_stock=not something_new,
            )

    def _work_demands(self) -> Iterator[str]:
        for part_id in self.new:
            for work in self.catalogue.parts[part_id].work:
                if self._holds(work.when, part_id) and self.steps.isdisjoint(work.listed):
                    yield f"'{part_id}' takes the work {' or '.join(work.listed)}"

    def _demands_met(self) -> Iterator[str]:
        yield from self._work_demands()
        kept = {line.part for line in self.answer.lines if line.status == "kept"}
        demands = [(d, self._able(d)) for d in (*self._demands(), *self._rule_demands())]
        open_demands: list[tuple[_Demand, list[_There]]] = []
        for demand, able in demands:
            if not able:
                yield f"{demand.text} lacks {_said(demand)}"
            elif not any(t.place for t in able):
                open_demands.append((demand, able))
            elif all(t.place and t.part not in kept for t in able) and not demand.by_stock:
                yield f"{demand.text} relies on a stock part that is not listed"
        yield from self._surplus(demands)
        have = {t.part: t.qty for t in self.there if t.place is None}
        if not _allocate(open_demands, have):
            short = _shortest(open_demands, have)
            yield f"there is too little of {short}"

    def _surplus(self, demands: Sequence[tuple[_Demand, list[_There]]]) -> Iterator[str]:
        """More of a part than all that may fall on it. Kits may be bought for what is in them."""
        picked = self._picked()
        falls_on: dict[str, list[_Demand]] = {}
        for demand, able in demands:
            for key in dict.fromkeys(thing.part for thing in able if not thing.place):
                falls_on.setdefault(key, []).append(demand)
        for key, line in self.new.items():
            part, on = self.catalogue.parts[key], falls_on.get(key, [])
            each = sum((d.amount for d in on if d.each), Fraction(0))
            once = max((d.amount for d in on if not d.each), default=Fraction(0))
            own = max(Fraction(self._units(part)), picked.get(key, Fraction(0)))
            most = max(own, each, once) or part.pack.value
            most = max(most, Fraction(1)) if not part.pack.unit else most
            if not part.contents and Fraction(str(line.qty)) > most:
                yield f"'{key}': {line.qty:g} are more than anything asks for"

    def _able(self, demand: _Demand) -> list[_There]:
        found = []
        for thing in self._worth_a_look(demand):
            for selector in demand.selectors:
                means = self._means(selector, thing, demand.owner)
                if means is False or (means is None and self.answer.outcome == "complete"):
                    continue
                if isinstance(selector, Need):
                    part = self.catalogue.parts[thing.part]
                    if part.pack.unit != selector.amount.unit:
                        continue
                    if thing.place and part.one_time_use and not demand.by_stock:
                        continue
                    if thing.place and not demand.by_stock \
                            and demand.amount > self._kept_units(thing.part, selector):
                        continue
                found.append(thing)
                break
        return found

    def _worth_a_look(self, demand: _Demand) -> list[_There]:
        """What is there, or of it only what is named where a demand names parts."""
        if any(selector.kind is not None for selector in demand.selectors):
            return self.there
        named = {part for selector in demand.selectors for part in self._named(selector)}
        places = sorted(i for part in named for i in self._positions.get(part, ()))
        return [self.there[i] for i in places]

    @cached_property
    def _positions(self) -> Mapping[str, list[int]]:
        """Where each part stands in `there`."""
        found: dict[str, list[int]] = {}
        for i, thing in enumerate(self.there):
            found.setdefault(thing.part, []).append(i)
        return found

    def _kept_units(self, part: str, selector: Selector) -> Fraction:
        """How many of a stock part stay in the places meant."""
        return sum(
            (t.qty for t in self.there
             if t.part == part and t.place and selector.at in (None, t.place)),
            Fraction(0),
        )

    # -- sources and sums -----------------------------------------------------------------------

    def _sources(self) -> Iterator[str]:
        brought: dict[str, Fraction] = {}
        for kit, line in self.new.items():
            # What is in a kit on hand counts as on hand already.
            count = line.packs * self.catalogue.parts[kit].pack.value
            for inner, amount in self._unpacked(kit).items():
                brought[inner] = brought.get(inner, Fraction(0)) + amount * count
        for part_id, line in self.new.items():
            part = self.catalogue.parts[part_id]
            qty, hand = Fraction(str(line.qty)), Fraction(str(line.on_hand))
            bought = Fraction(str(line.bought))
            if hand > self.on_hand.get(part_id, Fraction(0)):
                yield f"'{part_id}': more is taken from what is on hand than there is"
            if _apart(qty, hand + bought) and qty > hand + bought + brought.get(part_id, 0):
                yield f"'{part_id}': {line.qty:g} are wanted, but fewer are supplied"
            if bought and not self._buyable(part_id):
                yield f"'{part_id}' cannot be ordered"
            if line.packs != ceil(bought / part.pack.value):
                yield f"'{part_id}': {line.packs} packs are not what {line.bought:g} come to"
            price = part.price.value * line.packs if part.price else None
            if price is not None and line.price is not None and Decimal(line.price) != price:
                yield f"'{part_id}': the price is not {line.price}"

    def _unpacked(self, kit: str) -> dict[str, Fraction]:
        found: dict[str, Fraction] = {}
        for inner, amount in self.catalogue.parts[kit].contents.items():
            found[inner] = found.get(inner, Fraction(0)) + amount.value
            for deeper, value in self._unpacked(inner).items():
                found[deeper] = found.get(deeper, Fraction(0)) + amount.value * value
        return found

    def _totals(self) -> Iterator[str]:
        totals = self.answer.totals
        if totals is None:
            yield "the totals are missing"
            return
        parts = sum(
            (p.value * line.packs for key, line in self.new.items()
             if (p := self.catalogue.parts[key].price)), Decimal(0),
        )
        rate = self.catalogue.header.labour_rate
        labour = Decimal(0)
        for minutes in self._minutes():
            if rate:
                cost = Decimal(str(minutes)) * rate.value / 60
                labour += cost.quantize(CENT, ROUND_HALF_UP)
        if abs(totals.minutes - sum(self._minutes())) > 0.1:
            yield f"the work does not take {totals.minutes:g} minutes"
        for name, found, due in (
            ("parts", totals.parts, parts), ("labour", totals.labour, labour),
            ("price", totals.price, parts + labour),
        ):
            if Decimal(found) != due:
                yield f"the total for {name} is {found}, not {due}"

    def _minutes(self) -> Iterator[float]:
        for step in self.steps:
            yield self.catalogue.work[step].minutes.value
        for part_id in self.new:
            part = self.catalogue.parts[part_id]
            if part.fitting_time:
                yield part.fitting_time.value * max(self._units(part), 1)


def _apart(one: Fraction, other: Fraction) -> bool:
    return abs(one - other) > Fraction(1, 10**9)


def _said(demand: _Demand) -> str:
    what = []
    for selector in demand.selectors:
        what.append(selector.kind or selector.step or " or ".join(selector.listed))
    return f"{demand.amount} {' or '.join(what)}".strip()


def _allocate(
    demands: Sequence[tuple[_Demand, list[_There]]], have: Mapping[str, Fraction]
) -> bool:
    """Whether every demand can fall on one thing so that nothing is overdrawn.

    Demands that are met by the whole amount do not draw on each other, and of those that add up
    most can fall on one part only. What is left is settled by trying.
    """
    used = dict.fromkeys(have, Fraction(0))
    several: list[tuple[Fraction, list[str]]] = []
    for demand, able in demands:
        if not demand.each:
            if not any(_within(demand.amount, have[thing.part]) for thing in able):
                return False
        elif len(able) == 1:
            used[able[0].part] += demand.amount
        else:
            several.append((demand.amount, [thing.part for thing in able]))
    if not all(_within(amount, have[part]) for part, amount in used.items()):
        return False
    return _spread_out(sorted(several, key=lambda pair: len(pair[1])), have, used)


def _spread_out(
    demands: Sequence[tuple[Fraction, list[str]]], have: Mapping[str, Fraction],
    used: dict[str, Fraction],
) -> bool:
    """Whether amounts can each fall on one of several parts: by trying, and taking back."""
    taken: list[int] = []
    first = 0
    while len(taken) < len(demands):
        amount, able = demands[len(taken)]
        for i in range(first, len(able)):
            if _within(used[able[i]] + amount, have[able[i]]):
                used[able[i]] += amount
                taken.append(i)
                first = 0
                break
        else:
            if not taken:
                return False
            last = taken.pop()
            amount, able = demands[len(taken)]
            used[able[last]] -= amount
            first = last + 1
    return True


def _within(amount: Fraction, have: Fraction) -> bool:
    return amount <= have or not _apart(amount, have)


def _shortest(
    demands: Sequence[tuple[_Demand, list[_There]]], have: Mapping[str, Fraction]
) -> str:
    sums: dict[str, Fraction] = {}
    for demand, able in demands:
        if len(able) == 1:
            part = able[0].part
            sums[part] = sums.get(part, Fraction(0)) + (demand.amount if demand.each else 0)
            if demand.amount > have[part]:
                return f"'{part}'"
    over = [part for part, total in sums.items() if total > have[part]]
    return f"'{over[0]}'" if over else "a part that several needs share"


