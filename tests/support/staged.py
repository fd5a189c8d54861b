"""Random small catalogues in which parts and work steps also state when they are done."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from hypothesis import strategies as st

from kb.stages import STAGES
from tests.support.dice import Dice, DrawnDice, chance, pick
from tests.support.small_catalogues import Scenario, small_scenario


@st.composite
def staged_scenarios(draw: Callable[[st.SearchStrategy[Any]], Any]) -> Scenario:
    """Random scenarios that shrink; the order they state may run in a circle."""
    dice = DrawnDice(draw)
    return staged(small_scenario(dice), dice)


def staged(scenario: Scenario, dice: Dice) -> Scenario:
    """A scenario with stages, orders and times strewn over it."""
    sections = {name: dict(entries) for name, entries in scenario.sections.items()}
    for section in ("parts", "work"):
        for key, entry in sections[section].items():
            sections[section][key] = {**entry, **_when(dice, key, sections)}
    return replace(scenario, sections=sections)


def _when(dice: Dice, key: str, sections: dict[str, dict[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if chance(dice, 40):
        found["stage"] = pick(dice, STAGES)
    for field in ("after", "before"):
        if chance(dice, 25):
            found[field] = [_order(dice, key, sections)]
    return found


def _order(dice: Dice, key: str, sections: dict[str, dict[str, Any]]) -> dict[str, Any]:
    if sections["work"] and chance(dice, 30):
        return {"step": pick(dice, list(sections["work"]))}
    if chance(dice, 20):
        return {"kind": pick(dice, ("bolt", "nut"))}
    return {"part": pick(dice, list(sections["parts"]))}
