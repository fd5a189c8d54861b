"""What fitting takes: minutes, and what they cost at the shop's rate."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

from rules.problem import Problem
from rules.situation import Situation


def labour_cents(situation: Situation, minutes: float) -> int:
    """What so many minutes cost at the shop's rate, in hundredths of the currency."""
    rate = situation.catalogue.header.labour_rate
    if rate is None:
        return 0
    cents = Decimal(str(minutes)) * rate.value * 100 / 60
    return int(cents.quantize(Decimal(1), ROUND_HALF_UP))


def fitting_minutes(situation: Situation, problem: Problem, part: str) -> float:
    """Time to fit a part: per unit in its places, once for parts without."""
    time = situation.parts[part].fitting_time
    return time.value * max(problem.units.get(part, 0), 1) if time else 0.0
