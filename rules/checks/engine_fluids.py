"""Do the litres on the order fill the engine?"""

from __future__ import annotations

from collections.abc import Iterator

from kb.statements import Need
from rules.checking import Sheet, Verdict, check

ROUNDING = 0.05
"""Litres by which an amount on the order may fall short: capacities are rounded figures."""


@check(
    "engine-fluids", ("engine",),
    formula="litres on the order >= what the engine holds",
    source="common practice, no source",
)
def engine_fluids(sheet: Sheet) -> list[Verdict]:
    """What an engine asks for of oil and of coolant must be what it is stated to hold."""
    return [
        verdict for fluid in ("oil", "coolant")
        if (verdict := _enough(sheet, fluid)) is not None
    ]


def _enough(sheet: Sheet, fluid: str) -> Verdict | None:
    """The verdict on one fluid; None when the engine states or asks for none."""
    holds = sheet.dimension("engine", fluid, optional=True)
    asked = [float(need.amount.value) for need in _needs(sheet, fluid)]
    if holds is None or not asked:
        return None
    spare = max(asked) - holds.value
    says = f"the engine holds {holds} of {fluid}, {max(asked):g} L are on the order"
    details = {"margin": spare, "required": 0.0, "unit": "L", "aspect": fluid}
    if spare >= -ROUNDING:
        return sheet.judge(True, says, **details)
    measure = f"how much {fluid} {sheet.name('engine')} holds"
    return sheet.verdict("not_known", f"{says}: one is wrong", measure=(measure,), **details)


def _needs(sheet: Sheet, fluid: str) -> Iterator[Need]:
    """The engine's own needs of a fluid, in litres."""
    for need in sheet.parts["engine"][1].requires:
        kinds = {sheet.catalogue.parts[part].kind for part in need.listed} or {need.kind or ""}
        if kinds == {fluid} and need.amount.unit == "L":
            yield need
