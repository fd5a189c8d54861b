"""What changes for people between two catalogues: packages, not texts.

Asked in both: every part that can be ordered, by itself, on every car, and every remembered kit.
Cars that are alike in both catalogues are asked once; a question is answered again only where what
its cone reads is not the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from pydantic import Field

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.collection import no_collection
from kb.entries import Part
from rules import answers as a
from rules.alike import Cars, said
from rules.answers import CatalogRef, Model
from rules.audit_base import Scene
from rules.audit_kits import question_of
from rules.compare_answers import Answers, Brief, Found
from rules.compare_reads import Altered, altered, reads, touched
from rules.naming import catalog_ref

What = Literal[
    "impossible", "possible", "dearer", "cheaper", "other_lines", "to_measure", "measured",
]
Progress = Callable[[int, int], None]
"""Told how many questions are done, of how many."""


class Change(Model):
    """One question whose answer is another."""

    what: tuple[What, ...]
    picks: tuple[str, ...]
    names: tuple[str, ...]
    kit: str | None = Field(description="the remembered kit it is")
    cars: str = Field(description="where the change is the same")
    before: str | None = Field(description="price of the whole package")
    after: str | None = Field(description="price of the whole package")
    gained: tuple[str, ...] = Field(description="lines, as part or part with amount")
    lost: tuple[str, ...] = Field(description="lines, as part or part with amount")
    because: tuple[str, ...] = Field(description="altered entries it reads; why it is impossible")


class Comparison(Model):
    """What changes for people from one catalogue to the next."""

    old: CatalogRef
    new: CatalogRef
    altered: tuple[str, ...] = Field(description="entries that are not the same, and how")
    questions: int = Field(description="how many there are, cars that are alike counted once")
    asked_again: int = Field(description="of these, the ones whose cone is not the same")
    changes: tuple[Change, ...]

    @property
    def worse(self) -> bool:
        """Whether a package became impossible, or a remembered kit is not what it was."""
        return any("impossible" in change.what for change in self.changes)


@dataclass(frozen=True)
class _Question:
    """One question in both catalogues, and the cars it stands for."""

    cars: Cars
    question: a.Question
    kit: str | None = None


def compare(
    old: Catalogue, new: Catalogue, progress: Progress = lambda done, of: None,
    *, newest: bool = False, deadline: float = 10.0,
) -> Comparison:
    """Every question whose answer is another in the new catalogue, with the reason.

    `newest`: only the newest car of each variant, which is quicker. Raises OutOfTime when a
    question takes longer than `deadline` seconds, FaultyAnswer when a package fails its re-check.
    """
    what = altered(old, new)
    if not what.entries and not what.whole and old.kits == new.kits:
        return _comparison(old, new, what, 0, 0, [])
    with no_collection():
        questions, most = _questions(Scene(old), Scene(new), what, newest)
    answers = Answers(old, deadline), Answers(new, deadline)
    changes, again = [], 0
    for done, question in enumerate(questions):
        progress(done, len(questions))
        found = _compared(*answers, question, what)
        again += found is not None
        if isinstance(found, Change):
            changes.append(found)
    progress(len(questions), len(questions))
    return _comparison(old, new, what, most, again, _merged(changes))


def _comparison(
    old: Catalogue, new: Catalogue, what: Altered, questions: int, again: int,
    changes: Iterable[Change],
) -> Comparison:
    order = ("impossible", "possible", "dearer", "cheaper", "to_measure", "measured", "other_lines")
    return Comparison(
        old=catalog_ref(old), new=catalog_ref(new), questions=questions, asked_again=again,
        altered=(
            *(["the shop's own section"] if what.whole else []),
            *(f"{entry}: {how}" for entry, how in what.entries.items()),
        ),
        changes=tuple(sorted(
            changes, key=lambda c: (order.index(c.what[0]), c.kit or "~", c.picks, c.cars)
        )),
    )


# -- the questions --------------------------------------------------------------------------------


def _questions(
    before: Scene, after: Scene, what: Altered, newest: bool
) -> tuple[list[_Question], int]:
    """The questions that may be touched, and how many there are in all."""
    found: list[_Question] = []
    most = 0
    last = {(car.vehicle_id, car.variant_id): car.id for car in (*before.cars, *after.cars)}
    for was, now, cars in _groups(before, after):
        if newest and not any(car.id in last.values() for car in cars):
            continue
        sides = [(scene, group) for scene, group in ((before, was), (after, now)) if group]
        parts = {
            part for scene, group in sides for part, _ in scene.whole(group).problem.new_parts()
            if scene.whole(group).at.buyable(part)
        }
        most += len(parts)
        near = {part for scene, group in sides for part in touched(scene, group, what)}
        found += [_Question(cars, _single(cars[0], part)) for part in sorted(parts & near)]
    for key in sorted({*before.catalogue.kits, *after.catalogue.kits}):
        kit = after.catalogue.kits.get(key) or before.catalogue.kits[key]
        asked = question_of(kit)
        cars = tuple(
            car for car in (*before.cars, *after.cars) if car.vehicle_id == kit.vehicle
            and kit.variant in (None, car.variant_id) and kit.year in (None, car.year)
        )
        found.append(_Question(cars[:1], asked, key))
        most += 1
    return found, most


def _groups(before: Scene, after: Scene) -> Iterator[tuple[Cars, Cars, Cars]]:
    """Cars that are alike in both catalogues, with their group in each."""
    was = {car.id: group for group in before.groups for car in group}
    now = {car.id: group for group in after.groups for car in group}
    cars = {car.id: car for car in (*before.cars, *after.cars)}
    pairs: dict[tuple[str, str], list[Baseline]] = {}
    for key, car in cars.items():
        names = tuple(side[key][0].id if key in side else "" for side in (was, now))
        pairs.setdefault((names[0], names[1]), []).append(car)
    for found in pairs.values():
        key = found[0].id
        yield was.get(key, ()), now.get(key, ()), tuple(found)


def _single(car: Baseline, part: str) -> a.Question:
    return a.Question(
        vehicle=car.vehicle_id, variant=car.variant_id, year=car.year, alternatives=False,
        picks=(a.Item(part=part),),
    )


# -- the answers ----------------------------------------------------------------------------------


def _compared(
    old: Answers, new: Answers, question: _Question, what: Altered
) -> Change | Literal["same"] | None:
    """The change; "same" when asked again to the same answer, None when not even asked."""
    was, now = old.ask(question.question), new.ask(question.question)
    entries: frozenset[str] = frozenset()
    if was and now:
        (read, said_old), (read_new, said_new) = reads(was.cone), reads(now.cone)
        entries = read | read_new
        unaltered = not any(entry in what for entry in entries)
        if not what.whole and unaltered and read == read_new and said_old == said_new:
            return None
    found = old.find(was) if was else None, new.find(now) if now else None
    if found[0] and found[1] and found[0].mark == found[1].mark:
        return "same"
    before, after = _brief(old, found[0]), _brief(new, found[1])
    kinds = tuple(_kinds(before, after))
    if not kinds:
        return "same"
    because = [f"{entry}: {what.entries[entry]}" for entry in sorted(entries) if entry in what]
    named = {**old.catalogue.parts, **new.catalogue.parts}
    return _change(question, named, before, after, kinds, because)


def _brief(answers: Answers, found: Found | None) -> Brief:
    unknown = Brief("impossible", why="the catalogue does not have this car or this part")
    return answers.brief(found) if found else unknown


def _kinds(was: Brief, now: Brief) -> Iterator[What]:
    """How an answer differs, gravest first."""
    if "impossible" in (was.outcome, now.outcome):
        if was.outcome != now.outcome:
            yield "impossible" if now.outcome == "impossible" else "possible"
        return
    if was.price and now.price and was.price != now.price:
        yield "dearer" if Decimal(now.price) > Decimal(was.price) else "cheaper"
    if was.measures != now.measures:
        yield "measured" if now.measures < was.measures else "to_measure"
    if was.lines != now.lines:
        yield "other_lines"


def _change(
    question: _Question, parts: Mapping[str, Part], was: Brief, now: Brief,
    kinds: tuple[What, ...], because: list[str],
) -> Change:
    picks = tuple(item.part for item in question.question.picks)
    names = tuple(parts[p].name for p in picks)
    both = was.outcome != "impossible" and now.outcome != "impossible"
    why = now.why or was.why
    return Change(
        what=kinds, picks=picks, names=names, kit=question.kit, cars=said(question.cars),
        before=was.price, after=now.price,
        gained=_lines(now.lines - was.lines) if both else (),
        lost=_lines(was.lines - now.lines) if both else (),
        because=(
            *because, *([why] if why else []),
            *(f"to measure: {what}" for what in sorted(now.measures - was.measures) if both),
        ),
    )


def _lines(lines: Iterable[tuple[str, float, str]]) -> tuple[str, ...]:
    return tuple(f"{qty:g} {unit} {part}".replace("  ", " ") for part, qty, unit in sorted(lines))


def _merged(changes: Iterable[Change]) -> list[Change]:
    """Changes that are the same on several groups of cars, as one."""
    found: dict[str, list[Change]] = {}
    for change in changes:
        found.setdefault(change.model_dump_json(exclude={"cars"}), []).append(change)
    return [
        same[0].model_copy(update={"cars": ", ".join(change.cars for change in same)})
        for same in found.values()
    ]
