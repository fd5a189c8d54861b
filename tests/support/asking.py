"""How the tests ask the oracle what they ask the solver."""

from __future__ import annotations

from kb.baseline import find_baseline
from kb.catalogue import Catalogue
from tests.support.oracle import Oracle
from tests.support.small_catalogues import Scenario


def oracle_for(
    catalogue: Catalogue, scenario: Scenario, only: frozenset[str] | None = None
) -> Oracle:
    """The oracle for the question of a scenario; `only`: leave all other parts out of account."""
    car = find_baseline(catalogue, "tern", 2015, "p")
    return Oracle(catalogue, car, scenario.picks, scenario.on_hand, only)
