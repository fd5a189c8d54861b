"""Every answer there is, in bulk: each part on each car, and each remembered kit.

The work is cut into tasks that need nothing of each other. A task has a key made from all that its
rows depend on, so that rows worked out anywhere, at any time, are the right ones for that key.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from hashlib import blake2b
from importlib.metadata import version
from pathlib import Path
from typing import NamedTuple

import kb
import rules
from kb.baseline import Baseline, find_baseline
from kb.catalogue import Catalogue
from kb.errors import FaultyAnswer, KitwrightError, OutOfTime
from rules import answers as a
from rules.alike import Cars, alike
from rules.audit_kits import question_of
from rules.needed import needed
from rules.resolve import package
from rules.situation import situation_of

PARTS_A_TASK, KITS_A_TASK = 250, 20
LIBRARIES = ("pydantic", "pint", "python-sat", "clingo", "shapely", "numpy")

YES, ONCE_MEASURED, NO, NO_ANSWER = "yes", "yes_once_measured", "no", "no_answer"
"""Verdicts. The last means that there is no answer, mostly for want of time; `reason` says."""


class PartRow(NamedTuple):
    """What is needed with a part on a car. Lists are texts such as `16 nut-12; 0.5 L fluid`."""

    vehicle: str
    variant: str
    year: int
    part: str
    verdict: str
    needs: str = ""
    choices: str = ""
    offers: str = ""
    work: str = ""
    measure: str = ""
    comes_off: str = ""
    reason: str = ""


class KitRow(NamedTuple):
    """The answer to a remembered kit; sums of money are decimal texts."""

    kit: str
    vehicle: str
    variant: str
    year: int
    outcome: str
    lines: str = ""
    price: str = ""
    currency: str = ""
    minutes: float = 0.0
    reason: str = ""


Row = PartRow | KitRow


@dataclass(frozen=True, slots=True)
class Task:
    """Some parts on cars that are all alike, or some remembered kits where there are no cars.

    `cars` are ids of baselines, `names` ids of parts or kits.
    """

    cars: tuple[tuple[str, str, int], ...]
    names: tuple[str, ...]
    deadline: float

    def key(self, digest: str) -> str:
        """Names the rows: the same catalogue, program and task give the same."""
        text = f"{program()}\n{digest}\n{self.cars}\n{self.names}\n{self.deadline}"
        return blake2b(text.encode(), digest_size=20).hexdigest()


def tasks(catalogue: Catalogue, deadline: float) -> Iterator[Task]:
    """All tasks of a catalogue, in the order of their rows; seconds for each question."""
    for cars in alike(catalogue):
        named = tuple((car.vehicle_id, car.variant_id, car.year) for car in cars)
        at = situation_of(catalogue, cars[0])
        for parts in _cut([part for part in catalogue.parts if at.buyable(part)], PARTS_A_TASK):
            yield Task(named, parts, deadline)
    for kits in _cut(list(catalogue.kits), KITS_A_TASK):
        yield Task((), kits, deadline)


def work_out(catalogue: Catalogue, task: Task) -> list[Row]:
    """The rows of a task: for each part one for each car, or one for each kit."""
    if not task.cars:
        return [_kit_row(catalogue, kit, task.deadline) for kit in task.names]
    cars = tuple(find_baseline(catalogue, vehicle, year, variant)
                 for vehicle, variant, year in task.cars)
    return [row for part in task.names for row in _part_rows(catalogue, cars, part, task.deadline)]


def unanswered(rows: Iterable[Row]) -> int:
    """How many of the rows have no answer."""
    return sum(
        (row.verdict if isinstance(row, PartRow) else row.outcome) == NO_ANSWER for row in rows
    )


@cache
def program() -> str:
    """A digest of the code and the libraries that answers depend on."""
    found = blake2b(digest_size=20)
    for module in (kb, rules):
        root = Path(module.__file__ or "").parent
        for path in sorted(root.rglob("*.py")):
            found.update(path.relative_to(root.parent).as_posix().encode() + path.read_bytes())
    used = [f"{name} {version(name)}" for name in LIBRARIES]
    found.update("; ".join([sys.version, *used]).encode())
    return found.hexdigest()


def _cut(names: list[str], size: int) -> Iterator[tuple[str, ...]]:
    for start in range(0, len(names), size):
        yield tuple(names[start:start + size])


def _part_rows(
    catalogue: Catalogue, cars: Cars, part: str, deadline: float
) -> Iterator[PartRow]:
    first = _part_row(catalogue, cars[0], part, deadline)
    for car in cars:
        yield first._replace(variant=car.variant_id, year=car.year)


def _part_row(catalogue: Catalogue, car: Baseline, part: str, deadline: float) -> PartRow:
    named = (car.vehicle_id, car.variant_id, car.year, part)
    asked = a.Question(
        vehicle=car.vehicle_id, variant=car.variant_id, year=car.year, deadline=deadline)
    try:
        found = needed(catalogue, part, asked)
    except (OutOfTime, FaultyAnswer) as error:
        return PartRow(*named, NO_ANSWER, reason=str(error))
    if not found.possible:
        return PartRow(*named, NO, reason=_reason(found.clashes))
    return PartRow(
        *named, ONCE_MEASURED if found.measure_first else YES,
        needs=_listed(found.must),
        choices=" & ".join(" | ".join(p.part for p in group.options) for group in found.choose),
        offers=_listed(found.offer), work="; ".join(step.step for step in found.work),
        measure="; ".join(measure.what for measure in found.measure_first),
        comes_off=_listed(found.comes_off),
    )


def _kit_row(catalogue: Catalogue, kit: str, deadline: float) -> KitRow:
    stated = catalogue.kits[kit]
    try:
        found = package(
            catalogue, question_of(stated).model_copy(update={"deadline": deadline}))
    except KitwrightError as error:
        return KitRow(kit, stated.vehicle, stated.variant or "", stated.year or 0, NO_ANSWER,
                      reason=str(error))
    named = (kit, found.baseline.vehicle, found.baseline.variant, found.baseline.year)
    if found.totals is None:
        return KitRow(*named, found.outcome, reason=_reason(found.clashes))
    return KitRow(
        *named, found.outcome,
        lines="; ".join(_amount(line.qty, line.unit, line.part) for line in found.lines
                        if line.status != "kept"),
        price=found.totals.price, currency=found.totals.currency, minutes=found.totals.minutes,
    )


def _listed(parts: Iterable[a.PartRef]) -> str:
    return "; ".join(_amount(each.qty, each.unit, each.part) for each in parts)


def _amount(qty: float | None, unit: str, part: str) -> str:
    """An amount of a part; ids hold neither spaces nor semicolons."""
    return " ".join(word for word in ("" if qty is None else f"{qty:g}", unit, part) if word)


def _reason(clashes: Iterable[a.Clash]) -> str:
    """The first clash, in words."""
    return next(("; ".join(m.text for m in clash.members) for clash in clashes), "")
