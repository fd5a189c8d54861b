"""Why there is no package although every statement can hold: the budget, or too little on hand."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from rules import answers as a
from rules.asking import Asked
from rules.naming import clash_of, money
from rules.problem import Reason
from rules.ways_out import BUDGET, given, needed_keys, with_only
from rules.whole_car import least_package

PLENTY = Fraction(10_000)


def clash_beyond(asked: Asked) -> a.Clash:
    """The picks and wishes that leave no package within the budget, or with what is on hand.

    Irreducible as every clash: without any one of its members there is a package. Raises OutOfTime.
    """
    needed = needed_keys(asked, sorted(given(asked), key=lambda key: key != BUDGET))
    said = [_reason(asked, key) for key in needed if key != BUDGET]
    last = _too_dear(asked, needed) if BUDGET in needed else _too_few(asked)
    return clash_of([*said, last])


def _reason(asked: Asked, key: str) -> Reason:
    kind, _, rest = key.partition(":")
    if kind == "pick":
        return asked.reasons.pick(rest)
    wish, _, value = rest.partition(":")
    return asked.reasons.wish(wish, value)


def _too_dear(asked: Asked, needed: list[str]) -> Reason:
    """By how much the budget falls short of the least cost of what is needed."""
    budget = Decimal(asked.question.budget or 0)
    free = with_only(asked, [key for key in needed if key != BUDGET], "least_cost")
    price = Decimal(money(free.costs["money"] if free else 0))
    costs, over, most = (
        f"{amount:.2f} {asked.catalogue.header.currency}"
        for amount in (price, price - budget, budget)
    )
    text = f"the least package costs {costs}, {over} more than the budget of {most}"
    return Reason("wish", "wish:budget:", text)


def _too_few(asked: Asked) -> Reason:
    """Which part there is too little of, where more of one part would do."""
    on_hand, name = asked.problem.on_hand, asked.situation.name
    for part, have in on_hand.items():
        if asked.situation.buyable(part) or asked.problem.known("new", part) is None:
            continue
        on_hand[part] = PLENTY
        try:
            enough = least_package(asked.cone, "least_cost", asked.left()) is not None
        finally:
            on_hand[part] = have
        if enough:
            text = f"there is too little of {name(part)}, which is on hand and cannot be ordered"
            return Reason("sale", f"amount:{part}", text)
    text = "there is too little of what is on hand and cannot be ordered"
    return Reason("sale", "amount:", text)
