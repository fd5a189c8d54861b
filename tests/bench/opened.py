"""Takes the figures of the audit on open data, each step in a process of its own.

Run by `tests.bench` as `python -m tests.bench.opened STEP FOLDER [LIST...]`, where STEP is
"convert" (write the catalogue and ask the bare solver) or "audit" (load it and look for dead
parts). Prints JSON.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from kb.baseline import baselines
from kb.catalogue import load
from rules.audit import audit
from rules.possible import never_possible
from tests.bench.measure import Figures, peak, plainly_possible, timed, written
from tests.bench.open_data import bare_clauses, items, open_texts


def run(base: Path, lists: Sequence[Path]) -> Figures:
    """Every figure of the audit on the packages in some lists. `base` is an empty folder."""
    folder = base / "catalogue"
    found: Figures = _step("convert", folder, *map(str, lists))
    found |= _step("audit", folder)
    cache = {"KITWRIGHT_CACHE_FOLDER": str(base / "cache")}
    found["command s"], said = _command(folder, cache)
    found["again s"], again = _command(folder, cache)
    found["agree"] = sorted(found["bare dead"]) == sorted(found["dead"]) == said == again
    return found


def _step(name: str, *arguments: str | Path) -> Figures:
    command = [sys.executable, "-m", "tests.bench.opened", name, *map(str, arguments)]
    done = subprocess.run(command, stdout=subprocess.PIPE, check=True)
    figures: Figures = json.loads(done.stdout)
    return figures


def _command(folder: Path, environment: dict[str, str]) -> tuple[float, list[str]]:
    """Seconds of processor time of `kitwright audit --json` from start to end, and the dead parts
    it lists.
    """
    command = [sys.executable, "-m", "api.cli", "audit", "--json", "--catalog", str(folder)]
    start = _of_children()
    done = subprocess.run(command, stdout=subprocess.PIPE, env=os.environ | environment)
    seconds = _of_children() - start
    findings = json.loads(done.stdout)["findings"]
    return seconds, sorted(
        f["entry"].removeprefix("parts/") for f in findings if f["code"] == "dead-part"
    )


def _of_children() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def convert(folder: Path, lists: Sequence[Path]) -> Figures:
    """Write the catalogue of some lists, and ask the bare solver what in it is dead."""
    found = items(lists)
    written(folder, open_texts(found))
    stated, numbers = bare_clauses(found)
    seconds, possible = timed(lambda: plainly_possible(stated, numbers.values()))
    dead = [key for key, variable in numbers.items() if variable not in possible]
    return {
        "parts": len(found), "needs": sum(len(item.needs) for item in found),
        "conflicts": sum(len(item.conflicts) for item in found),
        "bare dead": sorted(dead), "bare s": seconds,
    }


def audited(folder: Path) -> Figures:
    """What the audit takes once the catalogue is loaded: the dead parts alone, and all of it."""
    load("demo_catalog")
    catalogue = load(folder)
    seconds, dead = timed(lambda: never_possible(catalogue, baselines(catalogue)))
    alone = peak()
    whole, _ = timed(lambda: audit(catalogue))
    return {"dead": sorted(dead), "dead s": seconds, "dead peak MB": alone,
            "audit s": whole, "audit peak MB": peak()}


if __name__ == "__main__":
    step, where, *rest = sys.argv[1:]
    if step == "convert":
        print(json.dumps(convert(Path(where), [Path(path) for path in rest])))
    else:
        print(json.dumps(audited(Path(where))))
