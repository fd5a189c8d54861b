"""The maker of random catalogues is itself tested: what it never makes is never tested."""

from __future__ import annotations

from collections import Counter

import pytest

from rules import answers as a
from rules.resolve import package
from tests.support.dice import SeededDice
from tests.support.small_catalogues import Scenario, small_scenario

MADE = 300


@pytest.fixture(scope="module")
def seen() -> Counter[str]:
    """How many of the packages show each feature."""
    found: Counter[str] = Counter()
    for seed in range(MADE):
        scenario = small_scenario(SeededDice(seed))
        answer = package(scenario.catalogue(), scenario.question(alternatives=True))
        found.update(features(scenario, answer))
    return found


def features(scenario: Scenario, answer: a.Package) -> set[str]:
    if answer.outcome == "impossible":
        return {"impossible", f"clash of {min(len(answer.clashes[0].members), 4)}"} \
            if answer.clashes else {"impossible", "too little on hand"}
    lines = answer.lines
    found = {"possible", *(f"status {line.status}" for line in lines)}
    shows = {
        "several parts": len(lines) > 1,
        "alternatives": any(line.instead for line in lines),
        "a kit is bought": any(line.kind == "kit" and line.packs for line in lines),
        "out of a kit": any(line.in_kit for line in lines),
        "a part left over from a pack": any(line.spare for line in lines),
        "by measure": any(line.unit for line in lines),
        "more than one of a part": any(line.qty > 1 for line in lines),
        "work": bool(answer.work),
        "a stock part comes off": bool(answer.comes_off),
        "a rule asks": any(s.asked_by.startswith("rule") for li in lines for s in li.serves),
        "a stock part asks": any(s.need.startswith("stock") for li in lines for s in li.serves),
        "an old part was asked for": bool(answer.notes),
        "no price": bool(answer.totals and answer.totals.unpriced),
    }
    return found | {name for name, shown in shows.items() if shown}


@pytest.mark.parametrize(("feature", "least", "most"), [
    ("possible", 0.35, 0.75),
    ("impossible", 0.25, 0.65),
    ("clash of 2", 0.02, 0.3),
    ("clash of 4", 0.02, 0.4),
    ("several parts", 0.15, 0.7),
    ("status needed", 0.1, 0.6),
    ("status chosen", 0.05, 0.4),
    ("status kept", 0.03, 0.4),
    ("status on_hand", 0.01, 0.3),
    ("alternatives", 0.03, 0.4),
    ("a kit is bought", 0.05, 0.3),
    ("out of a kit", 0.05, 0.3),
    ("a part left over from a pack", 0.05, 0.4),
    ("by measure", 0.01, 0.2),
    ("more than one of a part", 0.2, 0.7),
    ("work", 0.04, 0.3),
    ("a stock part comes off", 0.15, 0.6),
    ("a rule asks", 0.05, 0.3),
    ("a stock part asks", 0.003, 0.1),
    ("an old part was asked for", 0.01, 0.3),
    ("no price", 0.005, 0.15),
])
def test_the_catalogues_show_everything_in_fair_shares(
    seen: Counter[str], feature: str, least: float, most: float
) -> None:
    assert least <= seen[feature] / MADE <= most
