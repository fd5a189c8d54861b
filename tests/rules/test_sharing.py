"""Verdicts are shared between cars only where the check read the same of both."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from kb.baseline import baselines
from rules import sharing
from rules.checking import Check, Role, Sheet, Verdict
from rules.sharing import run_shared
from tests.support.sound import sound

ROOT = Path(__file__).parents[2]


def runs(judge_by: str, more: str = "") -> tuple[int, list[str]]:
    """How often a check ran over all cars, and what it said of each."""
    catalogue = sound(more, ("spigot: 56.0 mm, basis: maker}",
                             "basis: maker}\n      - {about: hub, axle: front, years: 2016-, "
                             "spigot: 57.0 mm}\n      - {about: hub, axle: front, years: -2015, "
                             "spigot: 56.0 mm}"))
    ran: list[str] = []

    def judge(sheet: Sheet) -> Verdict:
        seen = {
            "nothing": lambda: "", "year": lambda: str(sheet.baseline.year),
            "spigot": lambda: str(sheet.fact("hub.spigot")),
            "circle": lambda: str(sheet.fact("hub.bolt_circle")),
            "stock": lambda: str(sheet.stock("wheel", "rim")),
        }[judge_by]()
        ran.append(seen)
        return sheet.judge(True, seen)

    check = Check("try", (Role("wheel"),), judge, "", "")
    parts = [("rim-new", catalogue.parts["rim-new"])]
    said = [
        run_shared(check, parts, catalogue, car, "front")[0].says for car in baselines(catalogue)
    ]
    return len(ran), said


def test_a_check_that_reads_nothing_of_the_car_runs_once() -> None:
    assert runs("nothing") == (1, [""] * 6)


def test_a_check_runs_again_only_where_what_it_read_differs() -> None:
    assert runs("circle")[0] == 1
    assert runs("stock")[0] == 1
    count, said = runs("spigot")
    assert count == 2
    assert said == ["56 mm", "56 mm", "57 mm"] * 2


def test_a_check_that_reads_the_year_is_shared_by_cars_of_that_year() -> None:
    assert runs("year") == (3, ["2014", "2015", "2016"] * 2)


def test_what_is_kept_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sharing, "MOST_COMBINATIONS", 0)
    assert runs("nothing") == (6, [""] * 6), "each time all was let go, and said the same again"


def test_only_the_law_on_sensors_reads_the_year_of_a_car() -> None:
    """Cars are taken as alike by `rules.alike`, which knows of this one use of the year."""
    readers = {
        path.name for path in (ROOT / "rules" / "checks").glob("*.py")
        if re.search(r"baseline\.(year|id|name)\b", path.read_text(encoding="utf-8"))
    }
    assert readers == {"pressure_sensors.py"}
