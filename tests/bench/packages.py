"""Seeded catalogues without places or dimensions, as converted from package collections: every part
asks once for any of some parts, and conflicts with a few. The same seed gives the same text.

A few parts are asked for by very many (new needs prefer what is asked for already, after Barabási
and Albert, "Emergence of scaling in random networks", Science 286, 1999), and most needs name one.
"""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

PER_FILE = 5000
CORE = 3000
"""So many parts make up what all others build on; the rest are families that lean on them."""
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
    count = min(int(random.paretovariate(1.1)), 30) if random.random() < 0.85 else 0
    for _ in range(count):
        width = 1 if random.random() < 0.9 else min(1 + int(random.paretovariate(1.4)), 40)
        names = dict.fromkeys(_target(random, number, size, asked) for _ in range(width))
        names.pop(number, None)
        if names:
            if number < CORE:
                asked.extend(names)
            yield f"      - {{parts: [{', '.join(f'p{n}' for n in names)}]}}\n"


def _target(random: Random, number: int, size: int, asked: list[int]) -> int:
    """Mostly what is asked for already, sometimes a core part or one of its family, seldom one
    that comes later; an outer part never.
    """
    chance = random.random()
    if asked and chance < 0.75:
        return random.choice(asked)
    if chance < 0.85:
        target = random.randrange(max(min(number, CORE), 1))
    elif chance < 0.992:
        target = max(number - random.randint(1, 60), 0)
    else:
        target = min(number + random.randint(1, 9), size - 1)
    return target if not _outer(target) else max(target - 2, 0)


def _outer(number: int) -> bool:
    """Whether nothing is built on a part."""
    return number % 10 in (8, 9)


def _conflicts(random: Random, number: int, size: int) -> Iterator[int]:
    """Outer parts have rivals that their own family does not build on, and seldom any part."""
    if _outer(number) and random.random() < 0.5:
        for _ in range(min(int(random.paretovariate(1.3)), 10)):
            rival = number + random.choice((-1, 1)) * random.randint(61, 300)
            chosen = rival if random.random() < 0.9 else random.randrange(size)
            yield min(max(chosen, 0), size - 1)
