"""`python -m tests.bench.load`: requests a second of the service, beside a bare Flask route.

Both run under the same server with as many workers, in turns, and send as many bytes; so what
counts is the share. Then the service is asked at half the rate that it can do. Needs wrk.
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from random import Random
from urllib.parse import quote, urlencode
from urllib.request import urlopen

import click
from rich.console import Console
from rich.table import Table

from api.app import create_app
from api.asking import demo_folder
from api.settings import Settings
from kb.baseline import Baseline, baselines
from kb.catalogue import Catalogue, load
from rules import answers as a
from tests.bench import wrk
from tests.bench.measure import CARS, cart, written
from tests.bench.shop import shop_texts
from tests.bench.wrk import Asked, Load
from tests.support.running import Running, free_port

ROUNDS = 3
NEEDED, PACKAGES = 200, 40
"""Questions of each sort."""
WARM_SECONDS, WARM_RUNS = 5, 30


@dataclass(frozen=True)
class Figure:
    """One sort of question: the share of the bare route's rate, and what half the rate takes."""

    what: str
    bare: float
    full: float
    half: Load

    @property
    def share(self) -> float:
        """Requests a second as a share of the bare route's."""
        return self.full / self.bare


@click.command()
@click.option("--size", default=10_000, show_default=True, help="parts of the made-up catalogue")
@click.option("--workers", default=os.cpu_count() or 1, show_default=True)
@click.option("--seconds", default=5, show_default=True, help="of each run")
@click.option("--only", default="", help="catalogues whose name holds this")
@click.option("--seed", default=1, show_default=True)
def main(size: int, workers: int, seconds: int, only: str, seed: int) -> None:
    """Measure the service on the demo and on a made-up catalogue."""
    if not wrk.there_is_wrk():
        raise click.ClickException("wrk is not installed: apt-get install wrk")
    with tempfile.TemporaryDirectory() as base:
        shop = written(Path(base, "shop"), shop_texts(size, seed))
        named = {"demo": demo_folder(), f"shop of {size:,}": shop}
        found = [(name, figure) for name, folder in named.items() if only in name
                 for figure in _figures(folder, Path(base), workers, seconds, seed)]
    console = Console(width=None if sys.stdout.isatty() else 110)
    console.print(_table(found))
    console.print(f"load average {os.getloadavg()[0]:.1f} after; {os.cpu_count()} processors, "
                  f"shared with wrk; {workers} workers; times in ms")


def _figures(
    folder: Path, base: Path, workers: int, seconds: int, seed: int
) -> Iterator[Figure]:
    catalogue = load(folder)
    needed = list(_needed(catalogue, Random(seed)))
    packages = list(_packages(catalogue, Random(seed)))
    for what, asked, kept in (
        ("needed, kept", needed, True), ("needed, worked out", needed, False),
        ("package of 5, kept", packages, True), ("package of 5, worked out", packages, False),
    ):
        sizes = _sizes(catalogue, asked)
        bare = [Asked(each.method, f"/bare/{sizes[each]}", each.body) for each in asked]
        flags = () if kept else ("--answer-bytes", "0")
        with _bare_server(workers) as port, Running(
            folder, "--workers", str(workers), *flags, log=base / "log"
        ) as running:
            running.wait()
            _warm(running, asked, kept)
            figure = _figure(what, running.port, asked, port, bare, seconds)
        print(f"{folder.name}: {what}: {figure.share:.0%}; at half the rate "
              f"{figure.half.p50:.1f} / {figure.half.p99:.1f} ms", file=sys.stderr, flush=True)
        yield figure


def _figure(
    what: str, port: int, asked: Sequence[Asked], bare_port: int, bare: Sequence[Asked],
    seconds: int,
) -> Figure:
    """Take turns, so that neither has the quieter moments to itself."""
    rates: tuple[list[float], list[float]] = ([], [])
    for _ in range(ROUNDS):
        for kept, (at, listed) in zip(rates, ((bare_port, bare), (port, asked)), strict=True):
            done = wrk.run(at, listed, seconds)
            if done.bad:
                raise click.ClickException(f"{what}: {done.bad} requests without an answer")
            kept.append(done.rate)
    full = statistics.median(rates[1])
    half = wrk.run(port, asked, seconds * 2, rate=full / 2)
    return Figure(what, statistics.median(rates[0]), full, half)


@contextmanager
def _bare_server(workers: int) -> Iterator[int]:
    port = free_port()
    words = [str(port), str(workers), str(Settings().threads)]
    process = subprocess.Popen([sys.executable, "-m", "tests.bench.bare", *words])
    try:
        yield port
    finally:
        process.terminate()
        process.wait()


def _warm(running: Running, asked: Sequence[Asked], kept: bool) -> None:
    """Load it until every worker has met every question, as in a service that has run for a while.
    """
    before = -1
    for _ in range(WARM_RUNS):
        wrk.run(running.port, asked, WARM_SECONDS)
        now = _searches(running)
        if now == before or not kept:
            return
        before = now


def _searches(running: Running) -> int:
    """How many answers were worked out so far."""
    with urlopen(f"http://127.0.0.1:{running.port}/metrics") as response:
        lines = response.read().decode().splitlines()
    counts = [line for line in lines if line.startswith("kitwright_search_seconds_count")]
    return sum(int(float(line.rpartition(" ")[2])) for line in counts)


# -- questions ----------------------------------------------------------------------------------


def _needed(catalogue: Catalogue, random: Random) -> Iterator[Asked]:
    for question in _questions(catalogue, random, 1, NEEDED):
        car = {"vehicle": question.vehicle, "year": question.year, "variant": question.variant}
        part = quote(question.picks[0].part, safe="")
        yield Asked("GET", f"/v1/parts/{part}/needed?{urlencode(car)}")


def _packages(catalogue: Catalogue, random: Random) -> Iterator[Asked]:
    for question in _questions(catalogue, random, 5, PACKAGES):
        body = question.model_dump(mode="json", exclude_defaults=True)
        yield Asked("POST", "/v1/package", json.dumps(body))


def _questions(
    catalogue: Catalogue, random: Random, picks: int, count: int
) -> Iterator[a.Question]:
    every = list(baselines(catalogue))
    cars: list[Baseline] = random.sample(every, min(CARS, len(every)))
    for _ in range(count):
        question = cart(catalogue, random, random.choice(cars), picks)
        if question.picks:
            yield question


def _sizes(catalogue: Catalogue, asked: Sequence[Asked]) -> dict[Asked, int]:
    """Bytes of the answer to each request."""
    client = create_app(catalogue).test_client()

    def size(each: Asked) -> int:
        response = client.open(
            each.path, method=each.method, data=each.body or None,
            content_type="application/json",
        )
        return len(response.get_data())

    return {each: size(each) for each in asked}


# -- the table ----------------------------------------------------------------------------------


def _table(found: Sequence[tuple[str, Figure]]) -> Table:
    table = Table(title="The service under load")
    for column in ("catalogue", "question"):
        table.add_column(column)
    for column in ("bare, 1/s", "service, 1/s", "share", "at half, 1/s", "median", "99 in 100"):
        table.add_column(column, justify="right")
    for name, figure in found:
        table.add_row(
            name, figure.what, f"{figure.bare:.0f}", f"{figure.full:.0f}", f"{figure.share:.0%}",
            f"{figure.half.rate:.0f}", f"{figure.half.p50:.1f}", f"{figure.half.p99:.1f}",
        )
    return table


if __name__ == "__main__":
    main()
