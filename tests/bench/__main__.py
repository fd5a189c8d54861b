"""`python -m tests.bench`: one table of how fast Kitwright is, each figure beside its baseline.

Every catalogue is measured in a process of its own. Nothing is compared with figures of another
day or machine: every baseline was taken in the same run. `--open LIST` measures the audit on open
data instead of catalogues that are made up.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.table import Table

from tests.bench import opened
from tests.bench.measure import PICKS, SHAPES, Figures, written


@click.command()
@click.option("--size", "sizes", multiple=True, type=int, default=(1000, 10_000),
              show_default=True, help="parts in the catalogue; may be given several times")
@click.option("--shape", "shapes", multiple=True, type=click.Choice(list(SHAPES)),
              default=tuple(SHAPES), help="a parts shop, or packages without places")
@click.option("--questions", default=200, show_default=True,
              help="questions per figure; 0 leaves them out")
@click.option("--questions-alone", "alone", is_flag=True,
              help="leave loading and the audit out")
@click.option("--seed", default=1, show_default=True)
@click.option("--json", "as_json", is_flag=True, help="the figures as JSON")
@click.option("--open", "lists", multiple=True, type=click.Path(path_type=Path, exists=True),
              metavar="LIST", help="only the audit, of a list of software packages in Debian "
              "control format; may be given several times")
def main(
    sizes: tuple[int, ...], shapes: tuple[str, ...], questions: int, seed: int, as_json: bool,
    lists: tuple[Path, ...], alone: bool,
) -> None:
    """Measure loading, questions and the audit on made-up catalogues, or the audit on open data."""
    load = os.getloadavg()[0]
    if lists:
        with tempfile.TemporaryDirectory() as base:
            found = opened.run(Path(base), lists)
        if as_json:
            print(json.dumps(found))
        else:
            _show(_open_table(found), load)
        return
    runs = {(shape, size): _run(shape, size, seed, questions, alone)
            for shape in shapes for size in sizes}
    if as_json:
        print(json.dumps([{"shape": s, "size": n, **found} for (s, n), found in runs.items()]))
        return
    _show(_table(runs), load)


def _show(table: Table, load: float) -> None:
    console = Console(width=None if sys.stdout.isatty() else 34 + 26 * len(table.columns))
    console.print(table)
    console.print(f"load average {load:.1f} before, {os.getloadavg()[0]:.1f} after; "
                  f"{os.cpu_count()} processors; questions: ms, median / 99 in 100; "
                  "s: of processor time")


def _run(shape: str, size: int, seed: int, questions: int, alone: bool) -> Figures:
    with tempfile.TemporaryDirectory() as base:
        folder = written(Path(base, "catalogue"), SHAPES[shape](size, seed))
        if alone:
            return dict(_child("questions", folder, seed, questions))
        found: Figures = _child("all", folder, seed, questions)
        found["yaml s"] = _child("yaml", folder, seed, questions)
        found |= _child("warm", folder, seed, questions)
    return found


def _child(what: str, folder: Path, seed: int, questions: int) -> Any:
    command = [sys.executable, "-m", "tests.bench.measure", what, str(folder), str(seed)]
    done = subprocess.run([*command, str(questions)], stdout=subprocess.PIPE, check=True)
    return json.loads(done.stdout)


def _table(runs: dict[tuple[str, int], Figures]) -> Table:
    table = Table(title="Kitwright, measured")
    table.add_column("figure")
    for shape, size in runs:
        table.add_column(f"{shape} {size:,}", justify="right")
    found = list(runs.values())
    for picks in PICKS if "needed 1" in found[0] else ():
        _spreads(table, f"needed, {picks} picks", f"needed {picks}", found)
        _spreads(table, "  bare MiniSat, same clauses", f"bare needed {picks}", found)
    for picks in PICKS if "package 1" in found[0] else ():
        _spreads(table, f"package, {picks} picks", f"package {picks}", found)
        _spreads(table, "  bare clingo, same rules", f"bare package {picks}", found)
    if "cold load s" in found[0]:
        _whole(table, found)
    return table


def _whole(table: Table, found: list[Figures]) -> None:
    """Loading, memory and the audit."""
    _numbers(table, "cold load, s", "cold load s", found)
    _numbers(table, "  yaml.load(CSafeLoader) of the text, s", "yaml s", found)
    table.add_row("  times faster", *(f"{f['yaml s'] / f['cold load s']:.1f}" for f in found))
    _numbers(table, "warm load, s", "warm load s", found)
    table.add_row(
        "  share of cold", *(f"1/{f['cold load s'] / f['warm load s']:.1f}" for f in found)
    )
    _numbers(table, "ready for questions, s: cold, with the graph", "ready s", found)
    _numbers(table, "  warm, all entries and the graph made", "warm ready s", found)
    _numbers(table, "memory per 1,000 parts, MB", "MB per 1000 parts", found)
    _numbers(table, "  with the graph", "with graph", found)
    _numbers(table, "dead-part search, s", "audit s", found)
    _numbers(table, "  bare CaDiCaL, clauses given, s", "bare audit s", found)
    _numbers(table, "  peak memory, MB", "audit peak MB", found)
    _numbers(table, "  peak of loading and the snapshot before, MB", "loading peak MB", found)
    table.add_row("  parts in no package", *(str(f["dead"]) for f in found))


def _open_table(found: Figures) -> Table:
    table = Table(title="Kitwright's audit of open data, measured")
    table.add_column("figure")
    table.add_column(f"{found['parts']:,} packages", justify="right")
    table.add_row("needs / conflicts", f"{found['needs']:,} / {found['conflicts']:,}")
    _numbers(table, "dead parts alone, s", "dead s", [found])
    _numbers(table, "  bare CaDiCaL, same clauses, s", "bare s", [found])
    table.add_row("  times faster", f"{found['bare s'] / found['dead s']:.1f}")
    _numbers(table, "  peak memory, MB", "dead peak MB", [found])
    _numbers(table, "the whole audit, s", "audit s", [found])
    _numbers(table, "  peak memory, MB", "audit peak MB", [found])
    _numbers(table, "kitwright audit --json, s", "command s", [found])
    _numbers(table, "  again, from the snapshot", "again s", [found])
    table.add_row("parts in no package", str(len(found["dead"])))
    table.add_row("  the bare solver says the same", "yes" if found["agree"] else "NO")
    return table


def _spreads(table: Table, label: str, key: str, found: list[Figures]) -> None:
    table.add_row(label, *(f"{f[key][0]:.2f} / {f[key][1]:.1f}" for f in found))


def _numbers(table: Table, label: str, key: str, found: list[Figures]) -> None:
    table.add_row(label, *(f"{f[key]:.2f}" for f in found))


if __name__ == "__main__":
    main()
