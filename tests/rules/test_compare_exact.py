"""The quick comparison tells what asking every question in both catalogues tells."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random
from shutil import copytree

import pytest

from api.asking import demo_folder
from kb.baseline import Baseline, baselines
from kb.catalogue import Catalogue, load, load_texts
from kb.errors import CatalogueError, QuestionError
from rules import answers as a
from rules.compare import Comparison, compare
from rules.resolve import package
from rules.situation import situation_of
from tests.support.dice import SeededDice
from tests.support.small_catalogues import Entry, small_scenario

Told = tuple[object, ...]


def told(catalogue: Catalogue, car: Baseline, part: str) -> Told:
    """An answer as `package` gives it, as far as it is compared."""
    try:
        answer = package(catalogue, a.Question(
            vehicle=car.vehicle_id, variant=car.variant_id, year=car.year, alternatives=False,
            picks=(a.Item(part=part),), deadline=60,
        ))
    except QuestionError:
        return ("impossible",)
    if answer.totals is None:
        return ("impossible",)
    lines = {(n.part, n.qty, n.unit) for n in answer.lines if n.status != "kept"}
    measures = {measure.what for measure in answer.measure_first}
    return (answer.totals.price, frozenset(lines), frozenset(measures))


def asked_about(old: Catalogue, new: Catalogue) -> Iterator[tuple[Baseline, str]]:
    """Every part on every car on which either catalogue sells it."""
    found = {
        (car.id, part): car for side in (old, new) for car in baselines(side)
        for part in side.parts if situation_of(side, car).for_sale(part)
    }
    for car_id, part in sorted(found):
        yield found[car_id, part], part


def changed(found: Comparison) -> set[tuple[str, str]]:
    """Part and cars of each change, for catalogues in which no two cars are alike."""
    return {
        (change.picks[0], car) for change in found.changes if change.kit is None
        for car in change.cars.split(", ")
    }


# -- small catalogues, edited at random -----------------------------------------------------------


def _price(sections: dict[str, dict[str, Entry]], random: Random) -> None:
    key = random.choice(sorted(sections["parts"]))
    sections["parts"][key]["price"] = f"{random.randint(1, 60)}.00 EUR"


def _field(sections: dict[str, dict[str, Entry]], random: Random) -> None:
    """A field of a part taken away: a need, a conflict, a mass, a place it takes, a kit's content.
    """
    part = sections["parts"][random.choice(sorted(sections["parts"]))]
    part.pop(random.choice(sorted(set(part) - {"kind", "name"}) or ["name"]))


def _work(sections: dict[str, dict[str, Entry]], random: Random) -> None:
    for step in sections["work"].values():
        step["minutes"] = f"{random.randint(1, 40)} min"


def _rules(sections: dict[str, dict[str, Entry]], random: Random) -> None:
    sections["rules"] = {}


def _shop(sections: dict[str, dict[str, Entry]], random: Random) -> None:
    sections["catalog"]["labour_rate"] = "90.00 EUR"  # type: ignore[assignment]


def _equipment(sections: dict[str, dict[str, Entry]], random: Random) -> None:
    sections["vehicles"]["tern"]["equipment"] = {
        "towing": {"variants": ["q"]}, "cooler": {"variants": ["q"]},
    }


EDITS: tuple[Callable[[dict[str, dict[str, Entry]], Random], None], ...] = (
    _price, _price, _field, _field, _field, _work, _rules, _shop, _equipment,
)


def edited(seed: int) -> tuple[Catalogue, Catalogue] | None:
    """A catalogue, and the same with one to three random edits; None where that is not sound."""
    random = Random(seed)
    sections = small_scenario(SeededDice(seed)).sections
    after = copy.deepcopy(sections)
    for edit in random.sample(EDITS, random.randint(1, 3)):
        edit(after, random)
    try:
        old, new = (load_texts({"all.yaml": json.dumps(text)}) for text in (sections, after))
    except CatalogueError:
        return None
    return old, new


def brute(old: Catalogue, new: Catalogue) -> set[tuple[str, str]]:
    return {
        (part, f"{car.vehicle_id}/{car.variant_id} {car.year}")
        for car, part in asked_about(old, new) if told(old, car, part) != told(new, car, part)
    }


def agreeing(seeds: range) -> int:
    """How many pairs were compared; each as quickly as by brute force."""
    pairs = [pair for pair in map(edited, seeds) if pair]
    for old, new in pairs:
        assert changed(compare(old, new)) == brute(old, new)
    return len(pairs)


def test_small_catalogues_with_random_edits() -> None:
    assert agreeing(range(40)) > 20


@pytest.mark.slow
def test_many_small_catalogues_with_random_edits() -> None:
    assert agreeing(range(40, 300)) > 130


# -- the demo -------------------------------------------------------------------------------------

DEMO_EDITS = {
    "a price": ("kits/kits.yaml", 'price: "798.00 EUR"', 'price: "1098.00 EUR"'),
    "a fact": ("vehicles/quernby.yaml", 'spigot: "59.0 ± 0.05 mm", stud_thread: M12 x 1.5, '
               'stud_length: "27.0 ± 0.5 mm"', 'stud_thread: M12 x 1.5, stud_length: "22 mm"'),
}


@pytest.mark.slow
@pytest.mark.parametrize("edit", DEMO_EDITS)
def test_the_demo_with_an_edit(tmp_path: Path, edit: str) -> None:
    file, was, now = DEMO_EDITS[edit]
    copytree(demo_folder(), tmp_path / "new")
    text = (tmp_path / "new" / file).read_text()
    assert was in text
    (tmp_path / "new" / file).write_text(text.replace(was, now, 1))
    old, new = load(demo_folder()), load(tmp_path / "new")
    found = {
        (change.picks[0], car) for change in compare(old, new, newest=True).changes
        if change.kit is None for car in _spelled(change.cars)
    }
    assert len(found) > 2
    newest = {(car.vehicle_id, car.variant_id): car.id for car in baselines(new)}
    every = [pair for pair in asked_about(old, new) if pair[0].id in newest.values()]
    random = Random(7)
    wanted = [pair for pair in every if (pair[1], pair[0].id) in found]
    for car, part in [*random.sample(wanted, min(10, len(wanted))), *random.sample(every, 25)]:
        other = told(old, car, part) != told(new, car, part)
        assert other == ((part, car.id) in found), (car.id, part)


def _spelled(cars: str) -> Iterator[str]:
    """Every car that "quernby/q12 2012-2013 and 2015, haulwick/h12 2014" names."""
    for group in cars.split(", "):
        name, _, years = group.partition(" ")
        for span in years.split(" and "):
            first, _, last = span.partition("-")
            for year in range(int(first), int(last or first) + 1):
                yield f"{name}/{year}"
