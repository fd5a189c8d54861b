"""Seeded catalogues without places or dimensions, as converted from package collections: every part
asks once for any of some parts, and conflicts with a few. The same seed gives the same text.

A few parts are asked for by very many (new needs prefer what is asked for already, after Barabási
and Albert, "Emergence of scaling in random networks", Science 286, 1999), and most needs name one.
"""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

PER_FILE = 5000
HEADER = (
    "catalog: {name: Bench packages}\n"
    "vehicles:\n"
    "  host: {name: Host, years: 2020-2020, variants: {plain: {name: plain, engine: none}}}\n"
)


def package_texts(size: int, seed: int = 1) -> dict[str, str]:
    """A catalogue of exactly `size` parts as file names and YAML texts."""
    random = Random(f"packages/{size}/{seed}")
    asked: list[int] = []
    lines = [_part(random, i, size, asked) for i in range(size)]
    texts = {"host.yaml": HEADER}
    for start in range(0, size, PER_FILE):
        body = "".join(lines[start:start + PER_FILE])
        texts[f"parts-{start // PER_FILE:03}.yaml"] = f"parts:\n{body}"
    return texts


def _part(random: Random, number: int, size: int, asked: list[int]) -> str:
    text = f"  p{number}:\n    kind: item\n    name: Package {number}\n    price: 1.00 EUR\n"
    if needs := "".join(_needs(random, number, size, asked)):
        text += f"    requires:\n{needs}"
    if others := [o for o in _conflicts(random, number, size) if o != number]:
        text += "    conflicts:\n" + "".join(f"      - {{part: p{other}}}\n" for other in others)
    return text


def _needs(random: Random, number: int, size: int, asked: list[int]) -> Iterator[str]:
    count = min(int(random.paretovariate(0.9)), 40) if random.random() < 0.85 else 0
    for _ in range(count):
        width = 1 if random.random() < 0.8 else min(1 + int(random.paretovariate(1.1)), 60)
        names = dict.fromkeys(_target(random, number, size, asked) for _ in range(width))
        names.pop(number, None)
        if names:
            asked.extend(names)
            yield f"      - {{parts: [{', '.join(f'p{n}' for n in names)}]}}\n"


def _target(random: Random, number: int, size: int, asked: list[int]) -> int:
    """Mostly what is asked for already, sometimes something earlier, seldom anything at all."""
    chance = random.random()
    if asked and chance < 0.6:
        return random.choice(asked)
    return random.randrange(max(number, 1)) if chance < 0.97 else random.randrange(size)


def _conflicts(random: Random, number: int, size: int) -> Iterator[int]:
    if random.random() < 0.12:
        for _ in range(min(int(random.paretovariate(1.3)), 10)):
            yield random.randrange(size)
