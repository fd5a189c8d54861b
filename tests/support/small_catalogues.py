"""Random small catalogues that use the whole language of the package problem, with a question.

Small enough for the oracle to try every package; rich enough that stock parts, alternatives,
amounts, kits, steps, conditions and general rules meet each other in ways nobody thought of.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from hypothesis import strategies as st

from kb.catalogue import Catalogue, load_texts
from rules.answers import Item, Question
from tests.support.dice import Dice, DrawnDice, chance, pick, some

Entry = dict[str, Any]
HARDWARE = ("bolt", "nut")
"""Kinds that ask for nothing per unit, so that a need of such a kind never runs in a circle."""


@dataclass(frozen=True)
class Scenario:
    """A catalogue as data, and a question to it."""

    sections: dict[str, dict[str, Entry]]
    picks: tuple[tuple[str, int | None], ...]
    on_hand: tuple[tuple[str, int], ...]

    def texts(self) -> dict[str, str]:
        """The catalogue as one file. JSON is YAML's flow style, and quick to write."""
        return {"all.yaml": json.dumps(self.sections, indent=1)}

    def catalogue(self) -> Catalogue:
        """The catalogue, read and checked."""
        return load_texts(self.texts())

    def question(self, **more: Any) -> Question:
        """The question; `more` sets further fields of it."""
        return Question(
            vehicle="tern", year=2015, variant="p",
            picks=tuple(Item(part=part, qty=qty) for part, qty in self.picks),
            on_hand=tuple(Item(part=part, qty=qty) for part, qty in self.on_hand),
            **{"alternatives": False, **more},
        )


@st.composite
def scenarios(draw: Callable[[st.SearchStrategy[Any]], Any]) -> Scenario:
    """Random scenarios that shrink."""
    return small_scenario(DrawnDice(draw))


def small_scenario(dice: Dice) -> Scenario:
    """One random scenario, small enough to try every package of it."""
    return _Maker(dice, Sizes()).make()


def large_scenario(dice: Dice) -> Scenario:
    """One random scenario of the same language with 30 to 80 parts."""
    return _Maker(dice, LARGE).make()


Range = tuple[int, int]


@dataclass(frozen=True)
class Sizes:
    """How many there are of each, from the least to the most."""

    places: Range = (1, 3)
    parts: Range = (3, 6)
    steps: Range = (0, 2)
    kits: Range = (0, 2)
    rules: tuple[int, ...] = (0, 0, 1, 2)
    picks: int = 2


LARGE = Sizes(places=(6, 14), parts=(30, 65), steps=(2, 6), kits=(2, 8), rules=(2, 5, 8), picks=3)


@dataclass
class _Maker:
    dice: Dice
    sizes: Sizes
    places: dict[str, Entry] = field(default_factory=dict)
    fitted: dict[str, str] = field(default_factory=dict)
    parts: dict[str, Entry] = field(default_factory=dict)
    work: dict[str, Entry] = field(default_factory=dict)
    added: list[str] = field(default_factory=list)
    """Parts that are not stock, kits last; needs counted per unit point down this list."""
    stock: list[str] = field(default_factory=list)

    def make(self) -> Scenario:
        self._vehicle()
        for i in range(self.dice.whole(*self.sizes.parts)):
            self._part(f"a{i}")
        for i in range(self.dice.whole(*self.sizes.steps)):
            self._step(f"w{i}")
        if chance(self.dice, 20):
            self.parts["oil"] = {
                "kind": "oil", "name": "Oil", "pack": "0.5 L", "price": self._price()
            }
            self.added.append("oil")
        for i in range(self.dice.whole(*self.sizes.kits)):
            self._kit(f"k{i}")
        for key in [*self.stock, *self.added]:
            if key != "oil" and not (key.startswith("k") and chance(self.dice, 70)):
                self._statements(key)
        rules = {f"r{i}": self._rule() for i in range(pick(self.dice, self.sizes.rules))}
        sections = {
            "catalog": {"name": "random", "labour_rate": "60.00 EUR"},
            "vehicles": {"tern": self._car()},
            "parts": self.parts,
            "work": self.work,
            "rules": rules,
        }
        return Scenario(sections, self._picks(), self._on_hand())

    # -- the car --------------------------------------------------------------------------------

    def _vehicle(self) -> None:
        for i in range(self.dice.whole(*self.sizes.places)):
            self.places[f"p{i}"] = {"count": self.dice.whole(1, 3)}
            if chance(self.dice, 65):
                self.fitted[f"p{i}"] = self._stock_part(f"s{i}", f"p{i}")
        if len(self.stock) > 1 and chance(self.dice, 10):
            # One stock part in two places.
            first, second = self.stock[0], self.stock.pop()
            place = next(p for p, part in self.fitted.items() if part == second)
            del self.parts[second]
            self.fitted[place] = first
            self.parts[first]["takes"].append(place)

    def _stock_part(self, key: str, place: str) -> str:
        part: Entry = {"kind": self._kind(), "name": f"Stock {key}", "takes": [place],
                       "fits": [{"vehicles": ["tern"]}]}
        if chance(self.dice, 30):
            part["price"] = self._price()
        else:
            part["orderable"] = False
        if chance(self.dice, 20):
            part["one_time_use"] = True
        if chance(self.dice, 30):
            part["mass"] = f"{self.dice.whole(1, 9) * 100} g"
        self.parts[key] = part
        self.stock.append(key)
        return key

    def _car(self) -> Entry:
        return {
            "name": "Tern", "years": "2015",
            "variants": {"p": {"name": "P", "engine": "e1"}, "q": {"name": "Q", "engine": "e2"}},
            "equipment": {"towing": {"variants": ["p"]}, "cooler": {"variants": ["q"]}},
            "places": self.places, "fitted": self.fitted,
        }

    # -- parts ----------------------------------------------------------------------------------

    def _part(self, key: str) -> None:
        part: Entry = {"kind": self._kind(), "name": f"Part {key}"}
        if chance(self.dice, 45):
            part["takes"] = some(self.dice, list(self.places), 2 if chance(self.dice, 15) else 1)
            part["fits"] = [{"vehicles": ["tern"]}]
        if chance(self.dice, 8):
            part["fits"] = [{"variants": [pick(self.dice, "qp")]}]
        if chance(self.dice, 8):
            part["clears"] = [pick(self.dice, list(self.places))]
        if not chance(self.dice, 5):
            part["price"] = self._price()
        if chance(self.dice, 25):
            part["pack"] = self.dice.whole(2, 4)
        if chance(self.dice, 25):
            part["fitting_time"] = f"{self.dice.whole(1, 20)} min"
        if chance(self.dice, 30):
            part["mass"] = f"{self.dice.whole(1, 9) * 100} g"
        if chance(self.dice, 8):
            part["orderable"] = False
        replaced = {old for other in self.parts.values() for old in other.get("supersedes", ())}
        current = [other for other in self.added if other not in replaced]
        if current and chance(self.dice, 8):
            part["supersedes"] = [pick(self.dice, current)]
            part["kind"] = self.parts[part["supersedes"][0]]["kind"]
        self.parts[key] = part
        self.added.append(key)

    def _kit(self, key: str) -> None:
        inside = some(self.dice, self.added, 3)
        contents = {
            part: "0.5 L" if part == "oil" else self.dice.whole(1, 4) for part in inside
        }
        kit: Entry = {"kind": "kit", "name": f"Kit {key}", "contents": contents,
                      "price": f"{self.dice.whole(2, 60)}.00 EUR"}
        if chance(self.dice, 10):
            kit["orderable"] = False
        self.parts[key] = kit
        self.added.append(key)

    def _kind(self) -> str:
        return pick(self.dice, ("item", "bolt", "nut"))

    def _price(self) -> str:
        return f"{self.dice.whole(1, 40)}.{self.dice.whole(0, 1) * 5}0 EUR"

    # -- statements -----------------------------------------------------------------------------

    def _statements(self, key: str) -> None:
        part = self.parts[key]
        needs = [self._need(key) for _ in range(pick(self.dice, (0, 1, 1, 2)))]
        if found := [need for need in needs if need]:
            part["requires"] = found
        if chance(self.dice, 15):
            part["conflicts"] = [self._conflict(key)]
        if self.work and key not in self.stock and chance(self.dice, 20):
            part["work"] = [self._work_need(key)]
        if self.work and part.get("fits") == [{"vehicles": ["tern"]}] and chance(self.dice, 8):
            step = pick(self.dice, list(self.work))
            part["fits"] = [{"vehicles": ["tern"], "verdict": "fits_with_work", "work": [step]}]

    def _need(self, key: str) -> Entry | None:
        """What a part needs. Counted per unit, it points down the list or at hardware."""
        uncounted = self.parts[key]["kind"] in (*HARDWARE, "kit")
        below = self._below(key)
        counted = not uncounted and chance(self.dice, 40)
        targets = below if counted else [p for p in (*self.added, *self.stock) if p != key]
        need = self._selector(targets, kind_first=20)
        if need is None:
            return None
        if need.pop("oil", False):
            return {"part": "oil", "once": pick(self.dice, ("0.4 L", "0.7 L", "1.1 L"))}
        if counted:
            need["each"] = self.dice.whole(1, 3)
        elif chance(self.dice, 30):
            need["once"] = self.dice.whole(1, 5)
        if chance(self.dice, 30):
            need["when"] = self._when(key)
        return need

    def _below(self, key: str) -> list[str]:
        """Where needs counted per unit may point, so that they never run in a circle."""
        if key in self.stock:
            return list(self.added)
        return self.added[self.added.index(key) + 1:] + (
            [s for s in self.stock if "requires" not in self.parts[s]]
        )

    def _selector(self, targets: Sequence[str], kind_first: int) -> Entry | None:
        selector: Entry
        if chance(self.dice, kind_first):
            selector = {"kind": pick(self.dice, HARDWARE)}
        else:
            pieces = [part for part in targets if part != "oil"]
            if "oil" in targets and chance(self.dice, 25):
                return {"oil": True}
            if not pieces:
                return None
            named = some(self.dice, pieces, 3)
            selector = {"part": named[0]} if len(named) == 1 else {"parts": named}
        if chance(self.dice, 8):
            selector["fitted"] = chance(self.dice, 30)
        if chance(self.dice, 4):
            selector["at"] = pick(self.dice, list(self.places))
        return selector

    def _others(self, key: str) -> list[str]:
        return [p for p in (*self.added, *self.stock) if p not in (key, "oil")]

    def _when(self, key: str) -> Entry:
        sort = self.dice.whole(0, 3)
        if sort == 0:
            return {pick(self.dice, ("equipment", "without")):
                    [pick(self.dice, ("towing", "cooler"))]}
        what = self._thing(key)
        return {"present" if sort == 1 else "absent": [what]}

    def _thing(self, key: str) -> Entry:
        if self.work and chance(self.dice, 12):
            return {"step": pick(self.dice, list(self.work))}
        return self._selector(self._others(key), 15) or {"kind": "bolt"}

    def _conflict(self, key: str) -> Entry:
        conflict = self._thing(key)
        if chance(self.dice, 20):
            conflict["when"] = self._when(key)
        return conflict

    def _work_need(self, key: str) -> Entry:
        steps = list(self.work)
        need: Entry = {"steps": steps} if len(steps) > 1 and chance(self.dice, 40) else {
            "step": pick(self.dice, steps)
        }
        if chance(self.dice, 25):
            need["when"] = self._when(key)
        return need

    def _step(self, key: str) -> None:
        step: Entry = {"name": f"Work {key}", "effect": "room", "reversible": True,
                       "minutes": f"{self.dice.whole(1, 30)} min"}
        if chance(self.dice, 12):
            step["on"] = {"variants": [pick(self.dice, "qp")]}
        if chance(self.dice, 35):
            need = self._selector(self._others(key), 15)
            assert need is not None
            need[pick(self.dice, ("each", "once"))] = self.dice.whole(1, 3)
            step["requires"] = [need]
        if chance(self.dice, 25):
            step["conflicts"] = [self._selector(self._others(key), 15)]
        self.work[key] = step

    def _rule(self) -> Entry:
        when = [self._thing("") for _ in range(pick(self.dice, (0, 1, 1, 2)))]
        then = [self._thing("") for _ in range(pick(self.dice, (0, 1, 1, 2, 2)))]
        if not when and not then:
            then = [self._thing("")]
        rule: Entry = {"when": when, "then_any": then}
        asks = self._kinds(when[:1])
        if asks and asks.isdisjoint(HARDWARE) and self._kinds(then) <= {*HARDWARE} and then \
                and chance(self.dice, 40):
            rule["each"] = self.dice.whole(1, 3)
        elif then and chance(self.dice, 20):
            rule["once"] = self.dice.whole(1, 3)
        if chance(self.dice, 12):
            rule["on"] = {pick(self.dice, ("equipment", "without")): ["towing"]}
        return rule

    def _kinds(self, selectors: list[Entry]) -> set[str]:
        """The kinds of all that is meant: hardware alone may be counted by a general rule."""
        found = {selector["kind"] for selector in selectors if "kind" in selector}
        named = [[s["part"]] if "part" in s else s.get("parts", []) for s in selectors]
        return found | {self.parts[part]["kind"] for parts in named for part in parts}

    # -- the question ---------------------------------------------------------------------------

    def _picks(self) -> tuple[tuple[str, int | None], ...]:
        most = self.sizes.picks if chance(self.dice, 40) else 1
        choices = [p for p in (*self.added, *self.stock) if p != "oil"]
        sold = [part for part in choices if self.parts[part].get("orderable", True)]
        wanted = some(self.dice, choices if chance(self.dice, 10) or not sold else sold, most)
        return tuple(
            (part, self.dice.whole(1, 3) if chance(self.dice, 20) else None) for part in wanted
        )

    def _on_hand(self) -> tuple[tuple[str, int], ...]:
        if not chance(self.dice, 35):
            return ()
        have = some(self.dice, [p for p in (*self.added, *self.stock) if p != "oil"], 2)
        return tuple((part, self.dice.whole(1, 5)) for part in have)
