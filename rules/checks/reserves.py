"""Verdicts on capacities: what a part can do, less what is asked of it."""

from __future__ import annotations

from rules.checking import Sheet, Verdict

_ROUNDING = 1e-9
"""Margins smaller than this are rounding errors of the arithmetic."""


def with_reserve(
    sheet: Sheet, says: str, spare: float, worst: float, unit: str, measure: str
) -> Verdict:
    """A verdict from what is left over, nominally and in the worst case of the tolerances.

    As with a clearance: it fits when even the worst case leaves something, it does not when the
    nominal is short, and in between `measure` says what has to be found out.
    """
    details = {"margin": spare, "required": 0.0, "worst_case": worst, "unit": unit}
    if worst >= -_ROUNDING:
        return sheet.verdict("fits", says, **details)
    if spare < -_ROUNDING:
        return sheet.verdict("does_not_fit", says, **details)
    return sheet.verdict(
        "not_known", f"{says}: the tolerances decide", measure=(measure,), **details
    )
