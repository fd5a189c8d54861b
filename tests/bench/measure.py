"""Takes the figures of one catalogue in a process of its own, and prints them as JSON.

Run by `tests.bench` as `python -m tests.bench.measure WHAT FOLDER SEED QUESTIONS`, where WHAT is
"all", "yaml" (only what PyYAML's own loader takes) or "warm" (only loading from the snapshot that
"all" left behind).
"""

from __future__ import annotations

import ctypes
import gc
import json
import resource
import statistics
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from random import Random
from time import perf_counter, process_time
from typing import Any

import yaml
from pysat.solvers import Solver

from kb.baseline import Baseline, baselines
from kb.catalogue import Catalogue, load
from kb.graph import graph_of
from kb.snapshot import load_cached
from rules import answers as a
from rules.asking import Asked, ask
from rules.cone import Cone
from rules.least import Search, what_is_left
from rules.needed import needed
from rules.possible import never_possible
from rules.resolve import package
from rules.sat import Sat, clauses
from rules.situation import Situation
from rules.solution import LEVELS
from tests.bench.packages import package_texts
from tests.bench.shop import shop_texts

SHAPES: dict[str, Callable[[int, int], dict[str, str]]] = {
    "shop": shop_texts, "packages": package_texts,
}
CARS = 10
"""So many cars are asked about, each several times: a counter does not meet a new one each time."""
PICKS = (1, 5, 20)

Figures = dict[str, Any]


def measure(folder: Path, seed: int, questions: int) -> Figures:
    """Every figure of one catalogue: seconds, milliseconds, MB."""
    found, catalogue = _loading(folder)
    found |= _audit(catalogue)
    if questions:
        found |= _questions(catalogue, Random(seed), questions)
    return found


def questions_alone(folder: Path, seed: int, questions: int) -> Figures:
    """The figures of questions, without those of loading and the audit."""
    catalogue = load(folder)
    graph_of(catalogue)
    return _questions(catalogue, Random(seed), questions)


def written(folder: Path, texts: dict[str, str]) -> Path:
    """The texts as files below a folder."""
    for name, text in texts.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def bare_yaml(folder: Path) -> float:
    """The seconds that PyYAML's loader over libyaml takes, used as its manual shows it."""
    texts = [path.read_text(encoding="utf-8") for path in sorted(folder.rglob("*.yaml"))]
    return timed(lambda: [yaml.load(text, yaml.CSafeLoader) for text in texts])[0]


# -- loading ------------------------------------------------------------------------------------


def warm_load(folder: Path) -> Figures:
    """Seconds to load a catalogue of which there is a snapshot, and to make all its entries."""
    load("demo_catalog")
    seconds, catalogue = timed(lambda: load_cached(folder, _cache(folder)))
    graph, _ = timed(lambda: graph_of(catalogue))
    return {"warm load s": seconds, "warm ready s": seconds + graph}


def _cache(folder: Path) -> Path:
    return folder.with_name("cache")


def _loading(folder: Path) -> tuple[Figures, Catalogue]:
    load("demo_catalog")  # models and units are made once in a process, not once per catalogue
    before = _resident()
    cold, catalogue = timed(lambda: load(folder))
    loaded = _resident() - before
    graph, _ = timed(lambda: graph_of(catalogue))
    whole = _resident() - before
    assert load_cached(folder, _cache(folder)).digest == catalogue.digest
    thousands = len(catalogue.parts) / 1000
    return {
        "cold load s": cold, "ready s": cold + graph,
        "MB per 1000 parts": loaded / thousands, "with graph": whole / thousands,
    }, catalogue


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    """The seconds of processor time that some work takes, and what comes of it.

    All that is timed so runs in one thread; what else the machine does is not counted.
    """
    gc.collect()
    start = process_time()
    done = work()
    return process_time() - start, done


def _resident() -> float:
    """MB of this process in memory, with freed memory given back."""
    gc.collect()
    ctypes.CDLL(None).malloc_trim(0)
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * resource.getpagesize() / 2**20


def peak() -> float:
    """The most memory this process had since `forget_peak`, or ever, in MB."""
    status = Path("/proc/self/status").read_text(encoding="utf-8")
    return int(status.partition("VmHWM:")[2].split()[0]) / 1024


def forget_peak() -> None:
    """Count the most memory from now on: loading and its snapshot take more than what is next."""
    _resident()
    Path("/proc/self/clear_refs").write_text("5", encoding="utf-8")


# -- the audit of every part --------------------------------------------------------------------


def _audit(catalogue: Catalogue) -> Figures:
    cars = _one_of_each(catalogue)
    loading = peak()
    forget_peak()
    seconds, dead = timed(lambda: never_possible(catalogue, cars))
    found = {"audit s": seconds, "audit peak MB": peak(), "dead": len(dead),
             "loading peak MB": loading}
    return found | {"bare audit s": _bare_audit(catalogue, cars)}


def _bare_audit(catalogue: Catalogue, cars: Iterable[Baseline]) -> float:
    """The seconds CaDiCaL alone takes for the same, by the plain method: the clauses of each car
    are given to it, and each part that no answer held so far is assumed, one after the other.
    """
    left, taken = set(catalogue.parts), 0.0
    for car in cars:
        at = Situation(catalogue, car)
        cone = Cone(at, {}, {})
        cone.enter(part for part in at.graph.parts_on(at.car)
                   if part in left and at.buyable(part) and not at.refusal(part))
        stated = [clause.literals for clause in clauses(cone.problem, cone.say)]
        parts = {v: key for key, v in cone.problem.new_parts() if key in left}
        seconds, cleared = timed(lambda s=stated, p=parts: plainly_possible(s, p))
        taken += seconds
        left.difference_update(parts[variable] for variable in cleared)
    return taken


def plainly_possible(stated: Iterable[Sequence[int]], variables: Iterable[int]) -> set[int]:
    """Those of the variables that can hold; each not held so far is assumed, one by one."""
    left, found = dict.fromkeys(variables), set[int]()
    with Solver(name="cadical153", bootstrap_with=stated) as solver:
        for variable in left:
            if variable not in found and solver.solve([variable]):
                found.update(solver.get_model())
    return found & left.keys()


def _one_of_each(catalogue: Catalogue) -> list[Baseline]:
    """Every car of the catalogue, but for years in which nothing differs."""
    return list({(b.vehicle_id, b.variant_id): b for b in baselines(catalogue)}.values())


# -- questions ----------------------------------------------------------------------------------


def _questions(catalogue: Catalogue, random: Random, count: int) -> Figures:
    every = list(baselines(catalogue))
    cars = random.sample(every, min(CARS, len(every)))
    found: Figures = {}
    carts = {k: [cart(catalogue, random, random.choice(cars), k)
                 for _ in range(count if k == 1 else max(count // 5, 10))] for k in PICKS}
    first, rest = carts[1][:count // 4], carts[1][count // 4:]
    for question in first:  # each car is met before it is measured
        _needed(catalogue, question)
    for k, questions in carts.items():
        asked = rest if k == 1 else questions
        found[f"needed {k}"] = _spread(lambda q: _needed(catalogue, q), asked)
        found[f"bare needed {k}"] = _spread_of(_bare_needed(ask(catalogue, q)) for q in asked)
    for k, questions in carts.items():
        asked = rest[:count // 4] if k == 1 else questions[:max(count // 10, 10)]
        found[f"package {k}"] = _spread(lambda q: package(catalogue, q), asked)
        found[f"bare package {k}"] = _spread_of(_bare_package(ask(catalogue, q)) for q in asked)
    return found


def cart(catalogue: Catalogue, random: Random, car: Baseline, picks: int) -> a.Question:
    """A question for parts of one car that go together."""
    part_of_car = [
        key for key, part in catalogue.parts.items() if part.orderable
        and (not part.fits or any(car.applies(fits) for fits in part.fits))
        and (part.fits or part.kind == "item" or random.random() < 0.02)
    ]
    chosen: list[str] = []
    for key in random.sample(part_of_car, min(len(part_of_car), picks * 6)):
        if len(chosen) == picks:
            break
        question = _question(car, [*chosen, key])
        asked = ask(catalogue, question)
        with Sat(asked.problem, asked.reasons) as sat:
            if sat.solve():
                chosen.append(key)
    return _question(car, chosen)


def _question(car: Baseline, parts: Sequence[str]) -> a.Question:
    return a.Question(
        vehicle=car.vehicle_id, year=car.year, variant=car.variant_id, alternatives=False,
        picks=tuple(a.Item(part=part) for part in parts),
    )


def _needed(catalogue: Catalogue, question: a.Question) -> a.Needed:
    first, *cart = question.picks
    return needed(catalogue, first.part, question.model_copy(update={"picks": tuple(cart)}))


def _bare_needed(asked: Asked) -> float:
    """Milliseconds for what is in every package, from clauses alone: load, solve, take each away.
    """
    stated = [clause.literals for clause in clauses(asked.problem, asked.reasons)]
    start = perf_counter()
    with Solver(name="minisat22", bootstrap_with=stated) as solver:
        solver.set_phases([-v for v in range(1, solver.nof_vars() + 1)])
        solver.solve()
        left = {v for v in solver.get_model() if v > 0}
        for variable in sorted(left):
            if variable in left and solver.solve([-variable]):
                left.intersection_update(solver.get_model())
    return (perf_counter() - start) * 1000


def _bare_package(asked: Asked) -> float:
    """Milliseconds clingo itself counts for the least package of the same rules."""
    deadline = asked.question.deadline
    left = what_is_left(asked.situation, asked.problem, deadline)
    assert left is not None, "carts go together"
    search = Search(asked.situation, left, LEVELS["least_cost"])
    search.least(deadline)
    return float(search.control.statistics["summary"]["times"]["total"]) * 1000


def _spread(work: Callable[[a.Question], Any], questions: Iterable[a.Question]) -> list[float]:
    def one(question: a.Question) -> float:
        start = perf_counter()
        work(question)
        return (perf_counter() - start) * 1000

    return _spread_of(one(question) for question in questions)


def _spread_of(times: Iterable[float]) -> list[float]:
    """The median, and the time that 99 in 100 keep to."""
    found = sorted(times)
    return [statistics.median(found), found[min(len(found) - 1, int(len(found) * 0.99))]]


if __name__ == "__main__":
    what, where = sys.argv[1], Path(sys.argv[2])
    if what == "yaml":
        print(json.dumps(bare_yaml(where)))
    elif what == "warm":
        print(json.dumps(warm_load(where)))
    elif what == "questions":
        print(json.dumps(questions_alone(where, int(sys.argv[3]), int(sys.argv[4]))))
    else:
        print(json.dumps(measure(where, int(sys.argv[3]), int(sys.argv[4]))))
