"""Random shops of a few cars, with parts that checks compare and parts that none does.

`small_catalogues` has the whole language on one car and no checks. Here there are several cars that
are alike in this and not in that, dimensions from a few sizes so that much fits and much does not,
stated fits, trial fits, and plain parts that hang on each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tests.support.dice import Dice, chance, pick, some
from tests.support.small_catalogues import Entry, Scenario

CARS = ("vole", "stoat", "marten")
CIRCLES = ("4 x 100", "5 x 112")
BORES = ("57.1 mm", "63.4 mm")
SEATS = ("cone-60", "ball-R12")
PLACES: dict[str, Entry] = {
    "front-wheel": {"count": 2, "axle": "front"}, "front-tyre": {"count": 2, "axle": "front"},
    "front-nut": {"count": 8, "axle": "front"}, "front-caliper": {"count": 2, "axle": "front"},
    "front-disc": {"count": 2, "axle": "front"}, "front-pad": {"axle": "front"},
    "front-sensor": {"count": 2, "axle": "front"}, "mirror": {}, "tray": {},
}
SIZED = {
    "front-wheel": "wheel", "front-tyre": "tyre", "front-nut": "wheel-nut",
    "front-caliper": "caliper", "front-disc": "brake-disc", "front-pad": "brake-pad",
    "front-sensor": "pressure-sensor",
}
PLAIN = ("item", "gasket", "bolt")


def random_shop(dice: Dice) -> Scenario:
    """One random shop."""
    return _Shop(dice).make()


class _Shop:
    def __init__(self, dice: Dice) -> None:
        self.dice = dice
        self.parts: dict[str, Entry] = {}
        self.added: list[str] = []

    def make(self) -> Scenario:
        """The shop as a scenario without picks."""
        vehicles = {car: self._car(car) for car in CARS[:self.dice.whole(2, 3)]}
        self.cars = list(vehicles)
        for i in range(self.dice.whole(5, 9)):
            place = pick(self.dice, list(SIZED))
            self._add(f"c{i}", {"kind": SIZED[place], "takes": [place],
                                "dimensions": self._dimensions(SIZED[place])})
        for i in range(self.dice.whole(0, 2)):
            self._add(f"x{i}", self._extra())
        for i in range(self.dice.whole(4, 10)):
            self._add(f"p{i}", self._plain())
        for key in self.added:
            self._statements(key)
        rules = {f"r{i}": self._rule() for i in range(pick(self.dice, (0, 0, 1, 2)))}
        trials = {f"t{i}": self._trial() for i in range(pick(self.dice, (0, 0, 1)))}
        work = {"fold": {"name": "Fold", "effect": "room", "minutes": "10 min", "reversible": True,
                         "relieves": [{"obstacle": "strut", "by": "30 mm"}]}}
        return Scenario({
            "catalog": {"name": "random shop"}, "vehicles": vehicles, "parts": self.parts,
            "work": work, "rules": rules, "trials": trials,
        }, (), ())

    # -- cars -----------------------------------------------------------------------------------

    def _car(self, car: str) -> Entry:
        fitted = {}
        for place in PLACES:
            if chance(self.dice, 70):
                key = f"{car}-{place}"
                kind = SIZED.get(place, "item")
                self.parts[key] = {
                    "kind": kind, "name": f"Stock {key}", "takes": [place], "orderable": False,
                    "dimensions": self._dimensions(kind), "fits": [{"vehicles": [car]}],
                }
                fitted[place] = key
        return {
            "name": car, "years": "2014-2015", "places": PLACES, "fitted": fitted,
            "variants": {"a": {"name": "A", "engine": "e1"},
                         "b": {"name": "B", "engine": "e2"}},
            "facts": self._facts(),
        }

    def _facts(self) -> list[Entry]:
        hub: Entry = {"about": "hub", "axle": "front", "basis": "maker"}
        hub |= self._sizes({
            "bolt_circle": CIRCLES, "spigot": BORES, "stud_thread": ("M12 x 1.5", "M14 x 1.5"),
        })
        facts = [hub]
        if chance(self.dice, 40):
            left = self.dice.whole(-20, -10) * 10
            facts.append({
                "about": "room", "axle": "front", "basis": "measured", "obstacles": {"strut": {
                    "name": "strut", "outline": [
                        f"{left}, 190 mm", f"{left + 30}, 190 mm", f"{left + 30}, 330 mm",
                        f"{left}, 330 mm",
                    ],
                }},
            })
        if chance(self.dice, 40):
            facts.append({"about": "receiver", "basis": "maker", "sensor_frequency": "433.92 MHz",
                          "variants": ["b"]})
        return facts

    # -- parts ----------------------------------------------------------------------------------

    def _add(self, key: str, part: Entry) -> None:
        part |= {"name": f"Part {key}"}
        if chance(self.dice, 60):
            part["fits"] = [{"vehicles": some(self.dice, self.cars, 2)}]
        elif chance(self.dice, 15):
            part["fits"] = [{"engines": ["e2"]}]
        if chance(self.dice, 6):
            part["orderable"] = False
        self.parts[key] = part
        self.added.append(key)

    def _sizes(self, sizes: dict[str, Sequence[str]]) -> Entry:
        """One of each, some of them left out."""
        return {name: pick(self.dice, of) for name, of in sizes.items()
                if not chance(self.dice, 12)}

    def _dimensions(self, kind: str) -> Entry:
        of: dict[str, dict[str, Sequence[str]]] = {
            "wheel": {"rim": ("6 J x 15", "7 J x 16"), "offset": ("20 mm", "45 mm"),
                      "bolt_circle": CIRCLES, "centre_bore": BORES, "nut_seat": SEATS},
            "tyre": {"size": ("195/65 R15 91H", "205/55 R16 91H", "225/50 R16 91H")},
            "wheel-nut": {"thread": ("M12 x 1.5", "M14 x 1.5"), "seat": SEATS},
            "caliper": {"disc_diameter": ("280 mm", "300 mm"), "pad_shape": ("s1", "s2")},
            "brake-disc": {"diameter": ("280 mm", "300 mm")},
            "brake-pad": {"shape": ("s1", "s2")},
            "pressure-sensor": {"frequency": ("433.92 MHz", "315 MHz")},
        }
        return self._sizes(of.get(kind, {}))

    def _extra(self) -> Entry:
        """What goes between others, and changes what is said of them."""
        if chance(self.dice, 50):
            return {"kind": "spacer", "dimensions": self._sizes({"thickness": ("5 mm", "20 mm")})}
        return {"kind": "centring-ring", "dimensions": self._sizes(
            {"outer_diameter": BORES[1:], "inner_diameter": BORES[:1]}
        )}

    def _plain(self) -> Entry:
        if self.added and chance(self.dice, 15):
            inside = some(self.dice, self.added, 3)
            return {"kind": "kit", "contents": dict.fromkeys(inside, 1)}
        part: Entry = {"kind": pick(self.dice, PLAIN)}
        if chance(self.dice, 30):
            part["takes"] = [pick(self.dice, ("mirror", "tray"))]
        return part

    # -- statements -----------------------------------------------------------------------------

    def _statements(self, key: str) -> None:
        part = self.parts[key]
        needs = [self._need(key) for _ in range(pick(self.dice, (0, 1, 1, 2)))]
        if part["kind"] == "caliper":
            needs.append({"kind": "brake-disc", "at": "front-disc",
                          "match": {"diameter": {"equals": {"own": "disc_diameter"}}}})
        if needs:
            part["requires"] = needs
        if chance(self.dice, 25):
            part["conflicts"] = [self._when({"parts": self._others(key)})]
        if chance(self.dice, 6):
            part["work"] = [{"step": "fold"}]

    def _need(self, key: str) -> Entry:
        need: Entry = {"parts": self._others(key)}
        if chance(self.dice, 5):
            need = {"kind": pick(self.dice, (*PLAIN, "wheel-nut"))}
        return self._when(need)

    def _when(self, statement: Entry) -> Entry:
        if chance(self.dice, 12):
            what = {"parts": some(self.dice, self.added, 1)}
            statement["when"] = {pick(self.dice, ("present", "absent")): [what]}
        elif chance(self.dice, 8):
            statement["when"] = {"engines": [pick(self.dice, ("e1", "e2"))]}
        return statement

    def _others(self, key: str) -> list[str]:
        stock = [part for part in self.parts if part not in self.added]
        pool = [part for part in self.added if part != key]
        return some(self.dice, stock if stock and chance(self.dice, 15) else pool, 2)

    def _rule(self) -> Entry:
        when: list[Any] = [{"parts": some(self.dice, self.added, 1)}]
        if chance(self.dice, 30):
            when = [{"kind": pick(self.dice, ("wheel", "item")), "fitted": False}]
        then = [{"parts": some(self.dice, self.added, 2)}] if chance(self.dice, 70) else []
        return {"when": [] if then and chance(self.dice, 10) else when, "then_any": then}

    def _trial(self) -> Entry:
        sized = [key for key in self.parts if self.parts[key].get("dimensions")]
        verdict = pick(self.dice, ("does_not_fit", "fits", "fits_with_work"))
        trial: Entry = {"parts": some(self.dice, sized or self.added, 2), "verdict": verdict,
                        "basis": "trial_fitted", "source": "shop car"}
        return trial | ({"work": ["fold"]} if verdict == "fits_with_work" else {})
