"""Do the joints of the brake lines match, and is the fluid the right grade?"""

from __future__ import annotations

from typing import Any

from kb.matching import same
from rules.checking import Sheet, Verdict, check

_SOURCE = "common practice, no source: a joint seals only with one thread and one seat form"


@check(
    "hose-to-caliper", ("brake-hose", "caliper"), mounts=("brake-hose",),
    formula="thread and seat of the hose end = thread and seat of the caliper inlet",
    source=_SOURCE,
)
def hose_to_caliper(sheet: Sheet) -> Verdict:
    """The hose's caliper end must match the caliper's inlet in thread and seat."""
    hose = [sheet.dimension("brake-hose", name) for name in ("caliper_end", "caliper_seat")]
    inlet = [sheet.dimension("caliper", name) for name in ("inlet", "inlet_seat")]
    return _joint(sheet, hose, inlet, "the hose", "the caliper")


@check(
    "hose-to-pipe", ("brake-hose",),
    formula="thread and seat of the hose's body end = thread and seat of the car's pipe",
    source=_SOURCE,
)
def hose_to_pipe(sheet: Sheet) -> Verdict:
    """The hose's body end must match the car's own pipe."""
    hose = [sheet.dimension("brake-hose", name) for name in ("body_end", "body_seat")]
    pipe = [sheet.fact(f"hydraulics.{name}") for name in ("pipe_thread", "pipe_seat")]
    return _joint(sheet, hose, pipe, "the hose", "the car's pipe")


def _joint(sheet: Sheet, one: list[Any], other: list[Any], mine: str, its: str) -> Verdict:
    if sheet.missing:
        return sheet.not_known()
    if same(one[0], other[0]) and one[1] == other[1]:
        return sheet.judge(True, f"both ends are {one[0]} {one[1]}")
    says = f"{mine} ends in {one[0]} {one[1]}, {its} in {other[0]} {other[1]}"
    return sheet.judge(False, says)


@check(
    "fluid-grade", ("brake-fluid",), mounts=("brake-fluid",),
    formula="grade of the fluid is one the system allows",
    source="49 CFR 571.116 (colour codes exist so that fluid families are never mixed)",
)
def fluid_grade(sheet: Sheet) -> Verdict:
    """The fluid's grade must be one of those on the reservoir cap."""
    grade, allowed = sheet.dimension("brake-fluid", "grade"), sheet.fact("hydraulics.fluid_grades")
    if sheet.missing:
        return sheet.not_known()
    listed = ", ".join(allowed)
    if grade in allowed:
        return sheet.judge(True, f"{grade} is one of the car's grades ({listed})")
    return sheet.judge(False, f"the car takes {listed}, not {grade}")
