"""The oracle: every package of a small catalogue, tried one by one.

Written from the meaning of the language alone, for obviousness and not for speed. It reads the
catalogue's entries and shares no code with `rules`. A package is a set of parts that are added and
of work that is done; it is judged statement by statement, and its cost is the least over all ways
to let its needs fall on its parts and to open kits.

Where the language page is short, these readings are used:

- A part that is added is there at least once, whatever it is added for.
- What is wanted of a part is the greatest of: its places, the pick, the sum of the needs counted
  per unit that fall on it, the greatest `once` need that falls on it.
- A need falls on one part as a whole. A stock part that stays meets it when as many of it stay as
  are asked for, unless it is renewed every time (`one_time_use`).
- A stock part's own need counts when its condition held on the factory's car and a part the
  factory fitted met it; then any part it names meets it, in any stock quantity.
- A general rule whose conditions are met by stock parts alone is not held against the car, if the
  factory's car does not keep it.
- All of a kit's contents go on the car, except parts that do not go on that car; when none of those
  that take a place does, neither does the kit. A kit on hand is the same as its contents on hand.
- A part that is only on hand, or only in kits, cannot be ordered singly.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from itertools import combinations, product
from math import ceil, prod

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.entries import Part
from kb.statements import Conflict, Need, Selector, When

NOTHING, ONE = Fraction(0), Fraction(1)
Costs = dict[str, Fraction]
Items = Sequence[tuple[str, int | None]]


class TooLarge(Exception):
    """There are too many packages to try."""


@dataclass(frozen=True)
class Thing:
    """Something on the car: a part added (place None) or the stock part in a place."""

    part: str
    place: str | None = None


@dataclass(frozen=True)
class World:
    """A package to be judged: what is added, what is done, and so what is there."""

    new: frozenset[str]
    steps: frozenset[str]
    things: tuple[Thing, ...]


@dataclass(frozen=True)
class Demand:
    """A need that is active. `askers` are those whose units it counts; no askers: it is `once`."""

    selectors: tuple[Selector, ...]
    amount: Fraction
    askers: tuple[Thing | str, ...] | None = None
    by_stock: bool = False


@dataclass
class Findings:
    """What trying every package came to."""

    worlds: list[World] = field(default_factory=list)
    """The packages that hold together when any amount of a part can be had."""
    packages: list[tuple[World, list[Costs]]] = field(default_factory=list)
    """The packages that can really be supplied, each with its possible costs."""

    @property
    def possible(self) -> bool:
        return bool(self.packages)

    def must_have(self, *, amounts: bool) -> frozenset[str]:
        """The parts and steps in every package."""
        worlds = [world for world, _ in self.packages] if amounts else self.worlds
        return frozenset.intersection(*(world.new | world.steps for world in worlds))

    def least(self, levels: Sequence[str]) -> tuple[Fraction, ...]:
        """The least costs, level by level."""
        return min(
            tuple(costs[level] for level in levels)
            for _, ways in self.packages for costs in ways
        )

    def irreducible(self) -> Findings:
        """The packages from which nothing can be left out."""
        contents = [world.new | world.steps for world, _ in self.packages]
        return Findings(packages=[
            (world, ways) for world, ways in self.packages
            if not any(other < world.new | world.steps for other in contents)
        ])


class Oracle:
    """Tries every package for one question on one car."""

    def __init__(
        self, catalogue: Catalogue, baseline: Baseline, picks: Items, on_hand: Items,
        only: frozenset[str] | None = None,
    ) -> None:
        """`only`: leave all other parts out of account."""
        self.catalogue, self.car, self.only = catalogue, baseline, only
        self.picks = self._amounts([(self.newest(part), qty) for part, qty in picks])
        self.on_hand = self._opened(self._amounts(on_hand))

    # -- what can be added ----------------------------------------------------------------------

    def part(self, key: str) -> Part:
        return self.catalogue.parts[key]

    @cached_property
    def newer(self) -> dict[str, list[str]]:
        """For each part, those that stand in for it."""
        direct: dict[str, list[str]] = {key: [] for key in self.catalogue.parts}
        for key, part in self.catalogue.parts.items():
            for old in part.supersedes:
                direct[old].append(key)

        def all_of(key: str) -> list[str]:
            return [n for d in direct[key] for n in (d, *all_of(d))]

        return {key: list(dict.fromkeys(all_of(key))) for key in direct}

    def for_sale(self, key: str) -> bool:
        return self.part(key).orderable and not self.newer[key]

    def goes_on(self, key: str) -> bool:
        part = self.part(key)
        placed = [inner for inner in self.unpacked(key) if self.part(inner).takes]
        return (
            all(place in self.car.places for place in part.takes)
            and (not part.fits or any(self.car.applies(fits) for fits in part.fits))
            and (not placed or any(map(self.goes_on, placed)))
        )

    def units(self, key: str) -> int:
        return sum(self.car.places[p].count for p in self.part(key).takes if p in self.car.places)

    def newest(self, key: str) -> str:
        """The part that is meant today by one that was replaced."""
        after = [n for n in self.newer[key] if self.for_sale(n)]
        return after[-1] if after else key

    def _amounts(self, items: Items) -> dict[str, Fraction]:
        """How many of each; a quantity not given is what the places hold, or one."""
        found: dict[str, Fraction] = {}
        for key, qty in items:
            usual = Fraction(max(self.units(key), 1))
            found[key] = found.get(key, NOTHING) + (usual if qty is None else Fraction(qty))
        return found

    def _opened(self, on_hand: dict[str, Fraction]) -> dict[str, Fraction]:
        found: dict[str, Fraction] = {}
        for key, qty in on_hand.items():
            found[key] = found.get(key, NOTHING) + qty
            for inner, amount in self.unpacked(key).items():
                found[inner] = found.get(inner, NOTHING) + amount * qty
        return found

    def unpacked(self, kit: str) -> dict[str, Fraction]:
        """What is in one kit, kits inside it opened too."""
        found: dict[str, Fraction] = {}
        for inner, amount in self.part(kit).contents.items():
            found[inner] = found.get(inner, NOTHING) + amount.value
            for deeper, value in self.unpacked(inner).items():
                found[deeper] = found.get(deeper, NOTHING) + amount.value * value
        return found

    @cached_property
    def addable(self) -> list[str]:
        return [
            key for key in self.catalogue.parts
            if self.goes_on(key) and self._obtainable(key)
            and (self.only is None or key in self.only)
        ]

    def _obtainable(self, key: str) -> bool:
        return self.for_sale(key) or key in self.on_hand or any(
            self.goes_on(kit) and self._obtainable(kit)
            for kit, part in self.catalogue.parts.items() if key in part.contents
        )

    # -- every package --------------------------------------------------------------------------

    def findings(self, most: int = 4096) -> Findings:
        """Try every package. Raises TooLarge when there are more than `most`."""
        found = Findings()
        for world in self._worlds(most):
            if self._holds_together(world):
                demands = list(self._demands(world))
                if self._met(world, demands):
                    found.worlds.append(world)
                    ways = list(self._ways(world, demands))
                    if ways:
                        found.packages.append((world, ways))
        return found

    def _worlds(self, most: int) -> Iterator[World]:
        kept = {k for k in self.picks if k in self.car.fitted.values() and not self.for_sale(k)}
        wanted = set(self.picks) - kept
        if not wanted <= set(self.addable):
            return
        free = [key for key in self.addable if key not in wanted]
        steps = [k for k, step in self.catalogue.work.items() if self.car.applies(step.on)]
        if 2 ** (len(free) + len(steps)) > most:
            raise TooLarge
        for extra in _subsets(free):
            new = frozenset(wanted | set(extra))
            off = {p for key in new for p in (*self.part(key).takes, *self.part(key).clears)}
            stays = [p for p in self.car.fitted if p not in off]
            if any(p in off for p, key in self.car.fitted.items() if key in kept):
                continue  # to pick a stock part that nobody sells is to ask that it stays
            things = (*map(Thing, sorted(new)), *(Thing(self.car.fitted[p], p) for p in stays))
            for done in _subsets(steps):
                yield World(new, frozenset(done), things)

    # -- the meaning of statements --------------------------------------------------------------

    def means(self, selector: Selector, thing: Thing) -> bool:
        stock = thing.part in self.car.fitted.values()
        if selector.fitted is not None and selector.fitted is not (
            thing.place is not None if selector.fitted else stock
        ):
            return False
        where = (thing.place,) if thing.place else self.part(thing.part).takes
        if selector.at is not None and selector.at not in where:
            return False
        if selector.kind is not None:
            return self.part(thing.part).kind == selector.kind
        return any(thing.part in (old, *self.newer[old]) for old in selector.listed)

    def there(self, selector: Selector, world: World) -> list[Thing]:
        return [thing for thing in world.things if self.means(selector, thing)]

    def is_there(self, selector: Selector, world: World) -> bool:
        return selector.step in world.steps or bool(self.there(selector, world))

    def holds(self, when: When, world: World) -> bool:
        return (
            self.car.applies(when)
            and all(self.is_there(selector, world) for selector in when.present)
            and not any(self.is_there(selector, world) for selector in when.absent)
        )

    @cached_property
    def factory(self) -> World:
        """The car as built."""
        things = tuple(Thing(part, place) for place, part in self.car.fitted.items())
        return World(frozenset(), frozenset(), things)

    # -- judging --------------------------------------------------------------------------------

    def _holds_together(self, world: World) -> bool:
        return (
            self._one_per_place(world)
            and self._sources_there(world)
            and self._work_done(world)
            and not any(self._conflicts(world))
        )

    def _one_per_place(self, world: World) -> bool:
        taken = [place for key in world.new for place in self.part(key).takes]
        return len(taken) == len(set(taken))

    def _sources_there(self, world: World) -> bool:
        for key in world.new:
            if any(self.goes_on(i) and i not in world.new for i in self.part(key).contents):
                return False
            kits = [k for k in world.new if key in self.part(k).contents]
            if not (self.for_sale(key) or key in self.on_hand or kits):
                return False
        return True

    def _work_done(self, world: World) -> bool:
        for key in world.new:
            part = self.part(key)
            for fits in part.fits:
                if self.car.applies(fits) and not world.steps.issuperset(fits.work):
                    return False
            for work in part.work:
                if self.holds(work.when, world) and world.steps.isdisjoint(work.listed):
                    return False
        return True

    def _conflicts(self, world: World) -> Iterator[bool]:
        for thing in world.things:
            for conflict in self.part(thing.part).conflicts:
                yield self._clashes(conflict, thing, world)
        for step in world.steps:
            for conflict in self.catalogue.work[step].conflicts:
                yield self._clashes(conflict, None, world)

    def _clashes(self, conflict: Conflict, stating: Thing | None, world: World) -> bool:
        if not self.holds(conflict.when, world):
            return False
        others = [
            other for other in self.there(conflict, world)
            if stating is None or (
                other.part != stating.part and not (stating.place and other.place)
            )
        ]
        return conflict.step in world.steps or bool(others)

    # -- needs ----------------------------------------------------------------------------------

    def _demands(self, world: World) -> Iterator[Demand]:
        for thing in world.things:
            for need in self.part(thing.part).requires:
                if self.holds(need.when, world) and (not thing.place or self.was_met(need)):
                    yield self._demand(need, thing, by_stock=bool(thing.place))
        for step in world.steps:
            for need in self.catalogue.work[step].requires:
                if self.holds(need.when, world):
                    yield self._demand(need, step)
        for rule in self.catalogue.rules.values():
            groups = [self.there(selector, world) for selector in rule.when]
            steps = [s.step for s in rule.when if s.step in world.steps]
            active = self.car.applies(rule.on) and all(
                self.is_there(selector, world) for selector in rule.when
            )
            new = bool(steps) or any(not t.place for group in groups for t in group)
            stock_keeps = any(self.there(s, self.factory) for s in rule.then_any)
            if not active or (rule.when and not new and not stock_keeps):
                continue
            if any(selector.step in world.steps for selector in rule.then_any if selector.step):
                continue
            amount = (rule.each or rule.once)
            counted: list[Thing | str] = []
            if rule.each:
                counted = [*groups[0]] or [rule.when[0].step or ""]
            yield Demand(
                rule.then_any, amount.value if amount else ONE, tuple(counted) or None, True
            )

    def was_met(self, need: Need) -> bool:
        """Whether a need of a stock part was active, and met, as the car left the factory."""
        return self.holds(need.when, self.factory) and need.fitted is not False and bool(
            self.there(need, self.factory)
        )

    def _demand(self, need: Need, asker: Thing | str, *, by_stock: bool = False) -> Demand:
        askers = (asker,) if need.each else None
        return Demand((need,), need.amount.value, askers, by_stock)

    def _asked(self, demand: Demand, quantity: Callable[[str], Fraction]) -> Fraction:
        """The amount a demand comes to; `quantity` says how much there is of each part added."""
        if demand.askers is None:
            return demand.amount
        units = NOTHING
        for asker in demand.askers:
            if isinstance(asker, str):
                units += 1
            else:
                units += self.car.places[asker.place].count if asker.place else \
                    quantity(asker.part)
        return demand.amount * units

    def _able(self, demand: Demand, world: World) -> list[Thing]:
        """What may meet a demand, as far as that does not depend on quantities."""
        return [
            thing for thing in world.things
            if any(self.means(selector, thing) for selector in demand.selectors)
            and self.same_unit(demand.selectors, thing)
            and not (thing.place and self.part(thing.part).one_time_use and not demand.by_stock)
        ]

    def same_unit(self, selectors: Sequence[Selector], thing: Thing) -> bool:
        first = selectors[0]
        return not isinstance(first, Need) or first.amount.unit == self.part(thing.part).pack.unit

    def _enough(self, demand: Demand, thing: Thing, asked: Fraction, world: World) -> bool:
        if thing.place is None or demand.by_stock:
            return True
        alike = [
            t.place for t in world.things if t.place and t.part == thing.part
            and any(self.means(selector, t) for selector in demand.selectors)
        ]
        return asked <= sum(self.car.places[place].count for place in alike)

    def _met(self, world: World, demands: Sequence[Demand]) -> bool:
        """Whether every demand has something that meets it, in the amounts there can be at most.

        Any amount of a part that is added is granted, and of a stock part all that was fitted.
        """
        return all(
            any(
                self._enough(d, t, self._asked(d, self.own), self.factory)
                for t in self._able(d, world)
            )
            for d in demands
        )

    # -- amounts and costs ----------------------------------------------------------------------

    def _ways(self, world: World, demands: Sequence[Demand]) -> Iterator[Costs]:
        """The costs of every way to let the demands fall on what is there."""
        able = [self._able(demand, world) for demand in demands]
        if prod(map(len, able)) > 2000:
            raise TooLarge
        seen: set[tuple[tuple[str, Fraction], ...]] = set()
        for falls_on in product(*able):
            wanted = self._wanted(world, demands, falls_on)
            if wanted is not None and (key := tuple(sorted(wanted.items()))) not in seen:
                seen.add(key)
                yield from self._supplied(world, wanted)

    def _wanted(
        self, world: World, demands: Sequence[Demand], falls_on: Sequence[Thing]
    ) -> dict[str, Fraction] | None:
        """What is wanted of each part added; None when a stock part is not enough."""
        found: dict[str, Fraction] = {}

        def wanted(part: str) -> Fraction:
            if part not in found:
                own = self.own(part)
                on = [d for d, t in zip(demands, falls_on, strict=True) if t == Thing(part)]
                each = sum((self._asked(d, wanted) for d in on if d.askers is not None), NOTHING)
                once = max((d.amount for d in on if d.askers is None), default=NOTHING)
                found[part] = max(own, each, once)
            return found[part]

        for part in world.new:
            wanted(part)
        for demand, thing in zip(demands, falls_on, strict=True):
            if not self._enough(demand, thing, self._asked(demand, wanted), world):
                return None
        return found

    def own(self, part: str) -> Fraction:
        """What a part that is added is there for in itself; of measured goods, however little."""
        some = Fraction(1, 1000) if self.part(part).pack.unit else ONE
        return max(Fraction(self.units(part)), self.picks.get(part, NOTHING), some)

    def _supplied(self, world: World, wanted: dict[str, Fraction]) -> Iterator[Costs]:
        """The costs of every number of kits that makes sense."""
        kits = [kit for kit in world.new if self.part(kit).contents]
        counts = [range(self._most_kits(kit, wanted) + 1) for kit in kits]
        for count in product(*counts):
            costs = self._bought(world, wanted, dict(zip(kits, count, strict=True)))
            if costs is not None:
                yield costs

    def _most_kits(self, kit: str, wanted: dict[str, Fraction]) -> int:
        if not self.for_sale(kit):
            return 0
        inside = [
            ceil(wanted[inner] / amount)
            for inner, amount in self.unpacked(kit).items() if inner in wanted
        ]
        return max([ceil(wanted[kit]), *inside])

    def _bought(
        self, world: World, wanted: dict[str, Fraction], kits: dict[str, int]
    ) -> Costs | None:
        """The costs when so many of each kit are bought; None when something is not supplied."""
        costs: Costs = dict.fromkeys(("unpriced", "money", "minutes", "mass"), NOTHING)
        for key, amount in wanted.items():
            part = self.part(key)
            supply = sum(
                (n * self.unpacked(kit).get(key, NOTHING) for kit, n in kits.items()), NOTHING
            )
            missing = max(amount - self.on_hand.get(key, NOTHING) - supply, NOTHING)
            packs = ceil(missing / part.pack.value)
            if key in kits:
                if kits[key] < packs:
                    return None
                packs = kits[key]
            if packs and not self.for_sale(key):
                return None
            if packs and part.price is None:
                costs["unpriced"] += 1
            elif packs and part.price:
                costs["money"] += packs * part.price.cents
            if part.mass and not part.contents:
                costs["mass"] += round(part.mass.value * 1000) * amount
            if part.fitting_time:
                self._labour(costs, part.fitting_time.value * max(self.units(key), 1))
        for step in world.steps:
            self._labour(costs, self.catalogue.work[step].minutes.value)
        for thing in world.things:
            mass = self.part(thing.part).mass
            if thing.place and mass:
                costs["mass"] += round(mass.value * 1000) * self.car.places[thing.place].count
        costs["lines"] = Fraction(len(world.new) + len(world.steps))
        return costs

    def _labour(self, costs: Costs, minutes: float) -> None:
        rate = self.catalogue.header.labour_rate
        assert rate is not None
        costs["minutes"] += round(minutes * 60)
        costs["money"] += round(Fraction(str(minutes)) * Fraction(rate.value) * 100 / 60)


def _subsets(items: Sequence[str]) -> Iterator[tuple[str, ...]]:
    for size in range(len(items) + 1):
        yield from combinations(items, size)
