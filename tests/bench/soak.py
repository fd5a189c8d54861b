"""`python -m tests.bench.soak`: mixed load on a service for minutes, with its memory watched.

Questions that are kept and questions that are not, mistakes of every sort, and a reload now and
then, from one state of the catalogue to another and back.
"""

from __future__ import annotations

import json
import os
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import cycle
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import click
import psutil
from rich.console import Console
from rich.progress import track

from tests.bench.measure import written
from tests.bench.shop import shop_texts
from tests.support.hammer import Ask, Hammer
from tests.support.running import Running

EVERY = 1.0
"""Seconds between two looks at the memory."""


@dataclass
class Soaked:
    """What came of it: MB of all workers by time, answers by status, requests without any."""

    megabytes: list[float] = field(default_factory=list)
    statuses: Counter[int] = field(default_factory=Counter)
    lost: int = 0
    reloads: int = 0

    @property
    def growth(self) -> float:
        """The last third's greatest memory over that of the third before it."""
        third = len(self.megabytes) // 3
        return max(self.megabytes[-third:]) / max(self.megabytes[-2 * third:-third])


def soak(base: Path, size: int, seconds: float, reload_every: float) -> Soaked:
    """Load a service on a made-up catalogue of `size` parts, in the folder `base`."""
    found = Soaked()
    states = cycle([written(base / name, _state(size, name)) for name in ("one", "two")])
    served = base / "served"
    _point(served, next(states))
    with Running(served, "--no-audit", log=base / "log") as running:
        running.wait()
        with Hammer(running.port, list(_asks(size)), threads=3) as hammer:
            due = time.monotonic() + reload_every
            for _ in track(range(int(seconds / EVERY)), "soaking"):
                time.sleep(EVERY)
                found.megabytes.append(_megabytes(running))
                if time.monotonic() > due:
                    _point(served, next(states))
                    running.hang_up()
                    due += reload_every
        found.reloads = running.said.count("reload: ")
        assert "refused" not in running.said, running.said
    for got, count in hammer.got.items():
        found.statuses[got.status] += count
    found.lost = len(hammer.lost)
    return found


def _state(size: int, name: str) -> dict[str, str]:
    return {**shop_texts(size), "more.yaml": f"parts: {{only-{name}: {{kind: item, name: One}}}}\n"}


def _point(link: Path, target: Path) -> None:
    draft = link.with_name("draft")
    draft.symlink_to(target)
    os.replace(draft, link)


def _megabytes(running: Running) -> float:
    used = 0
    for pid in running.workers:
        used += psutil.Process(pid).memory_full_info().uss
    return used / 1e6


def _asks(size: int) -> Iterator[Ask]:
    random = Random(1)
    cars = max(size // 250, 1)
    for _ in range(300):
        car = f"car{random.randrange(min(cars, 10)):04}"
        variant, year = random.choice((("a", 2014), ("b", 2015)))
        part = f"h{random.randrange(20):04}"
        where = f"vehicle={car}&variant={variant}&year={year}"
        yield Ask("GET", f"/v1/parts/{part}/needed?{where}&cart=h{random.randrange(20):04}")
        yield Ask("POST", "/v1/package", json.dumps({
            "vehicle": car, "variant": variant, "year": year,
            "picks": [{"part": part}, {"part": f"h{random.randrange(20):04}"}],
        }))
        yield random.choice((
            Ask("GET", "/v1/parts?limit=20"), Ask("GET", "/readyz"), Ask("GET", "/metrics"),
            Ask("GET", f"/v1/parts/none-{random.random()}"), Ask("GET", "/v1/nothing"),
            Ask("POST", "/v1/package", "{"), Ask("POST", "/v1/package", '{"vehicle": "none"}'),
            Ask("DELETE", "/v1/parts"), Ask("GET", f"/v1/parts?q={random.random()}"),
        ))


@click.command()
@click.option("--minutes", default=10.0, show_default=True)
@click.option("--size", default=2000, show_default=True, help="parts of the catalogue")
@click.option("--reload-every", default=20.0, show_default=True, help="seconds")
def main(minutes: float, size: int, reload_every: float) -> None:
    """Soak a service and say whether its memory stays flat."""
    with TemporaryDirectory() as base:
        found = soak(Path(base), size, 60 * minutes, reload_every)
    console = Console()
    step = max(len(found.megabytes) // 20, 1)
    console.print("MB of both workers:", *(f"{m:.0f}" for m in found.megabytes[::step]))
    console.print(f"answers: {dict(sorted(found.statuses.items()))}, lost: {found.lost}, "
                  f"reloads: {found.reloads}")
    console.print(f"last third of the time over the third before: {found.growth:.2f}")


if __name__ == "__main__":
    main()
