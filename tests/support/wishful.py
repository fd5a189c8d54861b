"""Questions with wishes and a budget, and by trying every package which of them can be granted.

Every wish is judged on finished packages of the oracle, one by one, from its plain meaning.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from itertools import combinations
from typing import Any

from kb.catalogue import Catalogue
from rules.answers import Question
from tests.support.asking import oracle_for
from tests.support.dice import Dice, SeededDice, chance, pick, some
from tests.support.oracle import Findings, Oracle, World
from tests.support.small_catalogues import Scenario, small_scenario

MAKERS = ("Fellrim", "Tarnworks")
Keys = frozenset[str]


@dataclass(frozen=True)
class Wishful:
    """A scenario, and what the asker does not want: keys such as `wish:avoid:a1`."""

    seed: int
    scenario: Scenario
    wishes: tuple[str, ...]
    budget: Fraction | None = None
    """In hundredths of the currency."""
    _tried: dict[Keys, Findings] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def catalogue(self) -> Catalogue:
        return self.scenario.catalogue()

    @cached_property
    def oracle(self) -> Oracle:
        return oracle_for(self.catalogue, self.scenario)

    def question(self, **more: Any) -> Question:
        """The question with its wishes and its budget."""
        wishes: dict[str, Any] = {}
        for key in self.wishes:
            _, field_name, value = key.split(":")
            wishes[field_name] = (*wishes.get(field_name, ()), value) if value else True
        if self.budget is not None:
            wishes["budget"] = f"{float(self.budget / 100):.2f}"
        return self.scenario.question(**{**wishes, **more})

    @property
    def keys(self) -> tuple[str, ...]:
        """Everything that could be given up."""
        budget = () if self.budget is None else ("budget",)
        return (*(f"pick:{part}" for part in self.oracle.picks), *self.wishes, *budget)

    def also_picking(self, part: str) -> Wishful:
        """The same with one more pick."""
        scenario = replace(self.scenario, picks=(*self.scenario.picks, (part, None)))
        return Wishful(self.seed, scenario, self.wishes, self.budget)

    # -- by trying everything -------------------------------------------------------------------

    def findings(self, kept: Iterable[str]) -> Findings:
        """The packages when only these keys count. Raises TooLarge."""
        kept = frozenset(kept)
        picks = frozenset(key for key in kept if key.startswith("pick:"))
        if picks not in self._tried:
            wanted = tuple(
                (part, int(qty)) for part, qty in self.oracle.picks.items()
                if f"pick:{part}" in picks
            )
            fewer = replace(self.scenario, picks=wanted)
            self._tried[picks] = oracle_for(self.catalogue, fewer).findings(512)
        found = self._tried[picks]
        wishes = kept - picks - {"budget"}
        packages = [
            (world, [c for c in ways if "budget" not in kept or c["money"] <= (self.budget or 0)])
            for world, ways in found.packages if self.grants_all(wishes, world)
        ]
        return Findings(
            worlds=[world for world in found.worlds if self.grants_all(wishes, world)],
            packages=[(world, ways) for world, ways in packages if ways],
        )

    def grants_all(self, wishes: Iterable[str], world: World) -> bool:
        """Whether a package is as all these wishes want it."""
        return all(self._grants(wish, world) for wish in wishes)

    def _grants(self, wish: str, world: World) -> bool:
        _, kind, value = wish.split(":")
        work = self.catalogue.work
        return {
            "keep": lambda: any(thing.place == value for thing in world.things),
            "avoid": lambda: value not in world.new,
            "avoid_makers": lambda: all(
                self.catalogue.parts[part].maker != value for part in world.new
            ),
            "refuse_work": lambda: value not in world.steps,
            "reversible_only": lambda: all(work[step].reversible for step in world.steps),
        }[kind]()

    def smallest_to_give_up(self) -> set[Keys]:
        """Every set of keys without which there is a package, and with any one of which is none."""
        found: set[Keys] = set()
        for size in range(len(self.keys) + 1):
            for out in map(frozenset, combinations(self.keys, size)):
                if not any(smaller <= out for smaller in found) and \
                        self.findings(set(self.keys) - out).possible:
                    found.add(out)
        return found


def wishful(seed: int) -> Wishful:
    """One random scenario with more picks than usual, some wishes and perhaps a budget."""
    dice = SeededDice(seed)
    scenario = _furnished(dice, small_scenario(dice))
    made = Wishful(seed, scenario, tuple(_wishes(dice, scenario)))
    if chance(dice, 40):
        made = replace(made, budget=Fraction(dice.whole(1, 120) * 50))
    return made


def _furnished(dice: Dice, scenario: Scenario) -> Scenario:
    """Makers, work that cannot be undone, and up to two picks more."""
    parts, work = scenario.sections["parts"], scenario.sections["work"]
    for part in parts.values():
        if chance(dice, 50):
            part["maker"] = pick(dice, MAKERS)
    for step in work.values():
        step["reversible"] = chance(dice, 50)
    asked = {part for part, _ in scenario.picks}
    others = [part for part in parts if part not in asked and part != "oil"]
    more = some(dice, others, 2) if others and chance(dice, 40) else []
    return replace(scenario, picks=(*scenario.picks, *((part, None) for part in more)))


def _wishes(dice: Dice, scenario: Scenario) -> Iterator[str]:
    car = scenario.sections["vehicles"]["tern"]
    fitted, work = list(car["fitted"]), list(scenario.sections["work"])
    new = [part for part in scenario.sections["parts"] if not part.startswith("s")]
    made = {part["maker"] for part in scenario.sections["parts"].values() if "maker" in part}
    if fitted and chance(dice, 20):
        yield f"wish:keep:{pick(dice, fitted)}"
    if chance(dice, 30):
        yield from (f"wish:avoid:{part}" for part in some(dice, new, 2))
    if made and chance(dice, 12):
        yield f"wish:avoid_makers:{pick(dice, sorted(made))}"
    if work and chance(dice, 25):
        yield f"wish:refuse_work:{pick(dice, work)}"
    if chance(dice, 15):
        yield "wish:reversible_only:"


