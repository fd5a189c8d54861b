"""Litres on the order against what the engine holds."""

from __future__ import annotations

import pytest

from kb.baseline import find_baseline
from rules.checking import Verdict, checks
from rules.situation import Member, situation_of
from tests.support.engine_bay import engine_bay, part


def filled(holds: str | None, *asked: str) -> dict[str, Verdict]:
    engine = part("engine", **({"oil": holds, "coolant": "6 L"} if holds else {}))
    engine["requires"] = [{"parts": ["thin", "thick"], "once": litres} for litres in asked]
    oils = {key: {**part("oil"), "pack": "1 L"} for key in ("thin", "thick")}
    catalogue = engine_bay({"e": engine, **oils})
    at = situation_of(catalogue, find_baseline(catalogue, "tern"))
    found = at.verdicts(checks()["engine-fluids"], (Member("e"),), None)
    return {verdict.aspect: verdict for verdict in found}


@pytest.mark.parametrize(("asked", "expected", "spare"), [
    ("4.3 L", "fits", 0.0), ("5 L", "fits", 0.7), ("3.9 L", "not_known", -0.4),
])
def test_the_order_has_to_fill_the_engine(asked: str, expected: str, spare: float) -> None:
    found = filled("4.3 L", asked)["oil"]
    assert (found.verdict, found.margin) == (expected, pytest.approx(spare))
    assert bool(found.measure) is (expected == "not_known")


def test_a_capacity_in_other_units_is_the_same() -> None:
    assert filled("4300 mL", "4.3 L")["oil"].margin == pytest.approx(0.0)


def test_an_engine_that_states_or_asks_for_nothing_is_not_judged() -> None:
    assert filled(None, "4.3 L") == {}
    assert filled("4.3 L") == {}
    assert set(filled("4.3 L", "4.3 L")) == {"oil"}  # it holds coolant, but none is asked for
