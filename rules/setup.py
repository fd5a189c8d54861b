"""Corner weights and ride height: from four scale readings to the turns of each perch."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from kb.baseline import find_baseline
from kb.catalogue import Catalogue
from rules.engineering.corner_weights import (
    CarOnScales,
    PerchPlan,
    cross_range,
    plan_perches,
    weight_shares,
)
from rules.naming import baseline_ref, catalog_ref
from rules.setup_models import (
    CORNERS,
    CornerPlan,
    CornerQuestion,
    CornerShares,
    CornerWeights,
)
from rules.setup_readings import Readings
from rules.situation import situation_of

__all__ = ["CornerQuestion", "CornerWeights", "corner_weights"]

NEAR_CROSS = 0.05
"""Cross weight counts as reached within so many per cent of the total: scales show no more."""
NEAR_HEIGHT = 0.5
"""A height counts as reached within so many mm: a rule on a tyred car shows no more."""

_TYRES = (
    "tyres count as rigid, so a little more than these turns may be needed: read the scales again "
    "and repeat"
)


def corner_weights(catalogue: Catalogue, question: CornerQuestion) -> CornerWeights:
    """The perch turns that bring the wanted cross weight at the wanted heights.

    Raises QuestionError for a car or a part that is not there.
    """
    car = find_baseline(catalogue, question.vehicle, question.year, question.variant)
    readings = Readings(question, situation_of(catalogue, car))
    on_scales = readings.car()
    scales = [corner.scale for corner in question.corners.each()]
    answer = CornerWeights(
        catalog=catalog_ref(catalogue), baseline=baseline_ref(car), outcome="not_known",
        total=sum(scales), now=_shares(scales), wanted_cross=question.cross,
        values=tuple(readings.values), notes=(*readings.notes, _fixed(scales), _TYRES),
        measure_first=tuple(readings.measures()),
    )
    if on_scales is None:
        return answer
    try:
        plan = plan_perches(on_scales, question.cross / 100, _changes(question))
    except ValueError as error:
        return answer.model_copy(update={"outcome": "short", "notes": (*answer.notes, str(error))})
    return _with_plan(answer, on_scales, plan)


def _with_plan(answer: CornerWeights, car: CarOnScales, plan: PerchPlan) -> CornerWeights:
    low, high = (share * 100 for share in cross_range(car))
    missed = max(map(abs, plan.height_missing))
    reached = abs(plan.cross_missing) * 100 <= NEAR_CROSS and missed <= NEAR_HEIGHT
    return answer.model_copy(update={
        "outcome": "reached" if reached else "short",
        "after": _shares(plan.outcome.scales),
        "corners": tuple(_corner_plans(car, plan)),
        "cross_from": low, "cross_to": high,
        "notes": (*answer.notes, *_shortfalls(plan, low, high)),
    })


def _corner_plans(car: CarOnScales, plan: PerchPlan) -> Iterator[CornerPlan]:
    for i, name in enumerate(CORNERS):
        yield CornerPlan(
            corner=name, scale=car.corners[i].scale, turns=plan.turns[i], move=plan.moves[i],
            scale_after=plan.outcome.scales[i], height_change=plan.outcome.height_changes[i],
            height_missing=plan.height_missing[i], at_limit=plan.at_limit[i],
        )


def _shortfalls(plan: PerchPlan, low: float, high: float) -> Iterator[str]:
    """What the perches do not reach, and why."""
    yield f"with heights left free the threads allow a cross weight from {low:.1f} to {high:.1f} %"
    if abs(plan.cross_missing) * 100 > NEAR_CROSS:
        yield f"{plan.cross_missing * 100:+.2f} % of cross weight is missing: the threads end"
    if max(map(abs, plan.height_missing)) > NEAR_HEIGHT:
        why = (
            "the threads end" if any(plan.at_limit)
            else "the four heights wanted do not lie in one plane, and a body is rigid"
        )
        yield f"not every height is reached: {why}"


def _fixed(scales: Sequence[float]) -> str:
    """What no perch can change."""
    shares = weight_shares(scales)
    return (
        f"perches move load between the diagonals only: the total and {shares.front:.1%} on the "
        f"front stay, and {shares.left:.1%} on the left but for a difference of the tracks; only "
        "moving mass changes those"
    )


def _shares(scales: Sequence[float]) -> CornerShares:
    shares = weight_shares(scales)
    return CornerShares(
        cross=shares.cross * 100, front=shares.front * 100, left=shares.left * 100
    )


def _changes(question: CornerQuestion) -> tuple[float | None, ...]:
    """Wanted changes of height, mm; None where the height is free."""
    return tuple(
        None if corner.wanted_height is None or corner.height is None
        else corner.wanted_height - corner.height
        for corner in question.corners.each()
    )
