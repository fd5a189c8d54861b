"""Seeded catalogues of a parts shop, of any size: the same seed and size give the same text.

Their shape is that of a real shop as we see it (common practice, no source): the number of cars
grows with the number of parts; each part is for one car or a few; some hardware is shared by all,
a little of it by very many; most needs name one part and a few name dozens.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random

PARTS_PER_CAR = 250
BOLT_CIRCLES = ("4 x 100", "5 x 100", "5 x 112", "5 x 120")
RIMS = (15, 16, 17, 18)
HARDWARE = ("bolt", "nut", "washer", "gasket", "seal", "item")
PLAIN = ("item", "gasket", "link", "exhaust", "seal", "coolant-hose")
PLACES = {
    "front-wheel": 2, "front-tyre": 2, "front-nut": 10, "front-caliper": 2, "front-disc": 2,
    "front-pad": 1, "intake": 1, "silencer": 1, "radiator": 1, "link-front": 2, "mirror": 2,
    "bonnet": 1,
}
PLAIN_PLACES = ("intake", "silencer", "radiator", "link-front", "mirror", "bonnet")


@dataclass
class _Car:
    """What is known of one car while the parts for it are made."""

    key: str
    circle: str
    systems: dict[str, list[str]] = field(default_factory=dict)
    """Parts for this car that are on sale, by the system of the car that they belong to."""

    @property
    def parts(self) -> list[str]:
        """All of them."""
        return [part for parts in self.systems.values() for part in parts]


def shop_texts(size: int, seed: int = 1) -> dict[str, str]:
    """A catalogue of exactly `size` parts as file names and YAML texts."""
    return _Shop(size, seed).texts()


def dead_parts(size: int) -> tuple[str, ...]:
    """Parts made so that no package can hold them."""
    return tuple(f"dead-{i}" for i in range(max(1, size // 500)))


class _Shop:
    def __init__(self, size: int, seed: int) -> None:
        self.random, self.size = Random(f"shop/{size}/{seed}"), size
        self.hardware = [f"h{i:04}" for i in range(min(max(size // 20, 20), 2000))]
        number = max(size // PARTS_PER_CAR, 1)
        self.cars = [
            _Car(f"car{i:04}", self.random.choice(BOLT_CIRCLES)) for i in range(number)
        ]
        self.made = 0
        self.steps: list[str] = []

    def texts(self) -> dict[str, str]:
        """Every file of the catalogue."""
        texts = {
            "shop.yaml": "catalog: {name: Bench shop, currency: EUR, labour_rate: 60.00 EUR}\n",
            "hardware.yaml": self._file(self._hardware()),
            "dead.yaml": self._file(self._dead()),
            "stock.yaml": self._file(line for car in self.cars for line in self._stock(car)),
        }
        for start in range(0, len(self.cars), 40):
            cars = self.cars[start:start + 40]
            body = "".join(map(self._car, cars))
            texts[f"cars/c{start:04}.yaml"] = f"vehicles:\n{body}"
        left = self.size - self.made
        for i, car in enumerate(self.cars):
            count = left * (i + 1) // len(self.cars) - left * i // len(self.cars)
            texts[f"parts/{car.key}.yaml"] = self._file(self._parts(car, count))
        texts["work.yaml"] = "work:\n" + "".join(
            f"  {key}: {{name: Work {key}, effect: makes room, minutes: "
            f"{self.random.randint(1, 12) * 5} min, reversible: "
            f"{self.random.choice(('true', 'false'))}}}\n" for key in self.steps
        )
        texts["rules.yaml"] = "rules:\n" + "".join(self._rules())
        return texts

    def _file(self, lines: Iterator[str]) -> str:
        return "parts:\n" + "".join(lines)

    # -- cars -----------------------------------------------------------------------------------

    def _car(self, car: _Car) -> str:
        places = ", ".join(
            f"{place}: {{count: {count}{', axle: front' if 'front' in place else ''}}}"
            for place, count in PLACES.items()
        )
        fitted = ", ".join(f"{place}: {car.key}-{place}" for place in PLACES)
        return (
            f"  {car.key}:\n    name: Bench {car.key}\n    years: 2014-2015\n"
            f"    variants: {{a: {{name: 1.4, engine: e14, years: 2014-2014}}, "
            f"b: {{name: 1.8, engine: e18, years: 2015-2015}}}}\n"
            f"    places: {{{places}}}\n    fitted: {{{fitted}}}\n    facts:\n"
            f"      - {{about: hub, axle: front, bolt_circle: {car.circle}, spigot: 57.1 mm, "
            f"stud_thread: M12 x 1.5, basis: maker}}\n"
        )

    def _stock(self, car: _Car) -> Iterator[str]:
        dimensions = {
            "front-wheel": ("wheel", self._wheel(car, 15)),
            "front-tyre": ("tyre", "size: 195/65 R15 91H"),
            "front-nut": ("wheel-nut", "thread: M12 x 1.5, seat: cone-60"),
            "front-caliper": ("caliper", "disc_diameter: 256 mm, pad_shape: old"),
            "front-disc": ("brake-disc", "diameter: 256 mm"),
            "front-pad": ("brake-pad", "shape: old"),
        }
        for place in PLACES:
            kind, size = dimensions.get(place, ("item", ""))
            self.made += 1
            sizes = f", dimensions: {{{size}}}" if size else ""
            yield (
                f"  {car.key}-{place}: {{kind: {kind}, name: Stock {place}, orderable: false, "
                f"takes: [{place}], fits: [{{vehicles: [{car.key}]}}]{sizes}}}\n"
            )

    def _wheel(self, car: _Car, rim: int) -> str:
        width = self.random.choice((6, 6.5, 7))
        return (
            f"rim: {width} J x {rim}, offset: {self.random.randint(30, 50)} mm, "
            f"bolt_circle: {car.circle}, centre_bore: 57.1 mm, nut_seat: cone-60"
        )

    # -- parts ----------------------------------------------------------------------------------

    def _hardware(self) -> Iterator[str]:
        for key in self.hardware:
            self.made += 1
            kind = self.random.choice(HARDWARE)
            pack = self.random.choice((1, 1, 2, 4, 5, 10, 50))
            yield (
                f"  {key}: {{kind: {kind}, name: Hardware {key}, price: {self._price(6)}, "
                f"pack: {pack}, mass: {self.random.randint(2, 90)} g}}\n"
            )

    def _dead(self) -> Iterator[str]:
        """Parts that need something that they cannot stand beside."""
        for key in dead_parts(self.size):
            self.made += 1
            other = self._screw()
            yield (
                f"  {key}:\n    kind: item\n    name: Part {key}\n    price: {self._price(80)}\n"
                f"    requires:\n      - {{part: {other}, each: 2, why: it is bolted on}}\n"
                f"    conflicts:\n      - {{part: {other}, why: it does not go with that}}\n"
            )

    def _parts(self, car: _Car, count: int) -> Iterator[str]:
        makers = (self._wheel_part, self._tyre, self._nut, self._brake, self._plain, self._kit)
        weights, plain = (5, 8, 2, 8, 74, 3), (self._plain, self._kit)
        for i in range(count):
            make = self.random.choices(makers, weights)[0]
            key = f"{car.key}-{i:03}"
            system = self.random.choice(PLAIN_PLACES) if make in plain else "corner"
            self.made += 1
            yield make(car, key, system)
            car.systems.setdefault(system, []).append(key)

    def _common(self, key: str, kind: str, most: int) -> str:
        return (
            f"  {key}:\n    kind: {kind}\n    name: {kind.capitalize()} {key}\n"
            f"    maker: Maker {self.random.randint(1, 60)}\n    price: {self._price(most)}\n"
            f"    mass: {self.random.randint(1, 90) / 10} kg\n"
            f"    fitting_time: {self.random.randint(1, 12) * 5} min\n"
        )

    def _fits(self, car: _Car) -> str:
        """Most parts are for one car, some for several."""
        more = min(int(self.random.paretovariate(2.5)) - 1, 12, len(self.cars) - 1)
        cars = dict.fromkeys([car.key, *(c.key for c in self.random.sample(self.cars, more))])
        return f"    fits: [{{vehicles: [{', '.join(cars)}], basis: maker}}]\n"

    def _wheel_part(self, car: _Car, key: str, system: str) -> str:
        rim = self.random.choice(RIMS)
        return (
            f"{self._common(key, 'wheel', 400)}    takes: [front-wheel]\n{self._fits(car)}"
            f"    dimensions: {{{self._wheel(car, rim)}}}\n    requires:\n"
            f"      - {{part: {self._screw()}, each: 1, why: a new valve in every wheel}}\n"
        )

    def _tyre(self, car: _Car, key: str, system: str) -> str:
        rim = self.random.choice(RIMS)
        size = f"{self.random.choice((195, 205, 215, 225))}/{70 - (rim - 14) * 5} R{rim} 91H"
        return (
            f"{self._common(key, 'tyre', 200)}    takes: [front-tyre]\n{self._fits(car)}"
            f"    dimensions: {{size: {size}}}\n"
        )

    def _nut(self, car: _Car, key: str, system: str) -> str:
        return (
            f"{self._common(key, 'wheel-nut', 8)}    takes: [front-nut]\n{self._fits(car)}"
            "    dimensions: {thread: M12 x 1.5, seat: cone-60}\n"
        )

    def _brake(self, car: _Car, key: str, system: str) -> str:
        kind = self.random.choice(("caliper", "brake-disc", "brake-disc", "brake-pad"))
        size, shape = self.random.choice((280, 300, 320)), self.random.choice(("s1", "s2", "s3"))
        if kind == "brake-disc":
            return (
                f"{self._common(key, kind, 150)}    takes: [front-disc]\n{self._fits(car)}"
                f"    dimensions: {{diameter: {size} mm}}\n"
            )
        if kind == "brake-pad":
            return (
                f"{self._common(key, kind, 90)}    takes: [front-pad]\n{self._fits(car)}"
                f"    dimensions: {{shape: {shape}}}\n"
            )
        return (
            f"{self._common(key, kind, 500)}    takes: [front-caliper]\n{self._fits(car)}"
            f"    dimensions: {{disc_diameter: {size} mm, pad_shape: {shape}}}\n    requires:\n"
            "      - {kind: brake-disc, at: front-disc, match: {diameter: {equals: "
            "{own: disc_diameter}}}, why: it spans that disc}\n"
            "      - {kind: brake-pad, match: {shape: {equals: {own: pad_shape}}}, "
            "why: the pads have a shape of their own}\n"
            f"      - {{part: {self._screw()}, each: 2, why: two bolts hold it}}\n"
        )

    def _plain(self, car: _Car, key: str, system: str) -> str:
        text = self._common(key, self.random.choice(PLAIN), 300)
        beside = self._beside(car, system)
        if self.random.random() < 0.35:
            text += f"    takes: [{system}]\n"
        text += self._fits(car)
        if needs := "".join(self._needs(beside)):
            text += f"    requires:\n{needs}"
        if beside and self.random.random() < 0.12:
            other = self.random.choice(beside)
            text += f"    conflicts:\n      - {{part: {other}, why: they touch}}\n"
        if self.random.random() < 0.03:
            self.steps.append(f"step-{len(self.steps)}")
        if self.steps and self.random.random() < 0.05:
            step = self.random.choice(self.steps[-20:])
            text += f"    work:\n      - {{step: {step}, why: there is no room as it stands}}\n"
        return text

    def _beside(self, car: _Car, system: str) -> list[str]:
        """What a part has to do with: nearly always its own system."""
        if self.random.random() < 0.03:
            system = self.random.choice(PLAIN_PLACES)
        return car.systems.get(system, [])

    def _needs(self, beside: list[str]) -> Iterator[str]:
        for _ in range(self.random.choices((0, 1, 2, 3, 5), (30, 34, 20, 12, 4))[0]):
            if self.random.random() < 0.5 or not beside:
                each = self.random.randint(1, 8)
                yield f"      - {{part: {self._screw()}, each: {each}, why: it is bolted on}}\n"
                continue
            number = min(int(self.random.paretovariate(1.2)), 40, len(beside))
            names = self.random.sample(beside, number)
            if self.random.random() < 0.2:
                names.append(self._screw())
            yield f"      - {{parts: [{', '.join(names)}], why: it works with one of them}}\n"

    def _kit(self, car: _Car, key: str, system: str) -> str:
        beside = self._beside(car, system)
        inside = self.random.sample(beside, min(len(beside), self.random.randint(2, 5)))
        screws = dict.fromkeys(self._screw() for _ in range(self.random.randint(1, 4)))
        contents = ", ".join(
            [f"{part}: 1" for part in inside]
            + [f"{part}: {self.random.randint(1, 12)}" for part in screws]
        )
        return f"{self._common(key, 'kit', 900)}{self._fits(car)}    contents: {{{contents}}}\n"

    # -- rules ----------------------------------------------------------------------------------

    def _rules(self) -> Iterator[str]:
        yield (
            "  new-wheel: {when: [{kind: wheel, fitted: false}], then_any: [{part: h0000}], "
            "each: 1, why: every new wheel gets a cap}\n"
        )
        for i in range(self.size // 200):
            car = self.random.choice(self.cars)
            beside = self._beside(car, self.random.choice(PLAIN_PLACES))
            if len(beside) < 3:
                continue
            one, two, three = self.random.sample(beside, 3)
            then = f"{{part: {self._screw()}}}, {{part: {three}}}"
            if self.random.random() < 0.3:
                then = ""
            yield (
                f"  rule-{i}: {{on: {{vehicles: [{car.key}]}}, when: [{{part: {one}}}, "
                f"{{part: {two}}}], then_any: [{then}], why: tried and found wanting}}\n"
            )

    # -- small things ---------------------------------------------------------------------------

    def _price(self, most: int) -> str:
        return f"{self.random.randint(1, most)}.{self.random.randint(0, 9)}0 EUR"

    def _screw(self) -> str:
        """A piece of hardware; the first of them are asked for by very many parts."""
        return self.hardware[min(int(self.random.paretovariate(0.6)), len(self.hardware)) - 1]
