"""Do the joints of the brake lines match, and is the fluid the right grade?"""

from __future__ import annotations

from typing import Any

from kb.sizes import Thread
from rules.checking import Sheet, Verdict, check
from rules.engineering.brake_lines import (
    FLUIDS,
    Flare,
    LineEnd,
    dash_thread,
    dash_tube_diameter,
    fluid_faults,
    fluid_grade,
    joint_faults,
    mixed_grade,
    same_thread,
    usual_nut,
)
from rules.engineering.brake_lines import Thread as PlainThread

_SOURCE = (
    "SAE J533 and ISO 4038 flares do not interchange, 37 and 45 degree seats differ (published, "
    "read in secondary texts); banjo: common practice, no source"
)
_FLARES = {
    "inverted-flare": Flare.DOUBLE, "bubble-flare": Flare.BUBBLE, "cone": Flare.CONE_37,
}
"""The seat forms that are flares; a banjo is sealed by washers and matches a banjo only."""
DASHES = (3, 4, 5, 6)
"""Dash sizes that brake lines come in."""


@check(
    "hose-to-caliper", ("brake-hose", "caliper"), mounts=("brake-hose",),
    formula="thread and seat of the hose end = thread and seat of the caliper inlet",
    source=_SOURCE,
)
def hose_to_caliper(sheet: Sheet) -> Verdict:
    """The hose's caliper end must match the caliper's inlet in thread and seat."""
    hose = [sheet.dimension("brake-hose", name) for name in ("caliper_end", "caliper_seat")]
    inlet = [sheet.dimension("caliper", name) for name in ("inlet", "inlet_seat")]
    _note_dash(sheet, *hose)
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


@check(
    "pipe-nut", ("brake-pipe",), informs=True,
    formula="thread of the nut = thread that usually goes with the tube's diameter and flare",
    source="flare-identification page (published, read in secondary texts); SAE J512 (from memory)",
)
def pipe_nut(sheet: Sheet) -> Verdict | None:
    """Information: whether the nut is the usual one for its tube. Several threads exist."""
    thread, seat, across = (
        sheet.dimension("brake-pipe", name) for name in ("thread", "seat", "diameter")
    )
    if sheet.missing or seat not in _FLARES:
        return None
    usual = usual_nut(across.value, _FLARES[seat])
    if usual is None:
        return None
    word = "the usual" if same_thread(_plain(thread), usual) else "not the usual"
    return sheet.verdict("fits", f"{thread} is {word} nut for {across} tube with {seat}")


def _joint(sheet: Sheet, one: list[Any], other: list[Any], mine: str, its: str) -> Verdict:
    """Two ends of the same kind of joint: thread and seat each, told apart."""
    if sheet.missing:
        return sheet.not_known()
    if not _faults(*one, *other):
        return sheet.judge(True, f"both ends are {one[0]} {one[1]}")
    says = f"{mine} ends in {one[0]} {one[1]}, {its} in {other[0]} {other[1]}"
    return sheet.judge(False, f"{says}: {'; '.join(_faults(*one, *other))}")


def _faults(thread: Thread, seat: str, other_thread: Thread, other_seat: str) -> tuple[str, ...]:
    if seat in _FLARES and other_seat in _FLARES:
        mine = LineEnd(_plain(thread), _FLARES[seat])
        return joint_faults(mine, LineEnd(_plain(other_thread), _FLARES[other_seat]))
    faults = () if same_thread(_plain(thread), _plain(other_thread)) else ("the threads differ",)
    return faults if seat == other_seat else (*faults, f"a {seat} does not seal in a {other_seat}")


def _note_dash(sheet: Sheet, thread: Thread | None, seat: str | None) -> None:
    """The dash size by which 37 degree fittings are ordered."""
    if thread is None or seat != "cone":
        return
    for dash in DASHES:
        if same_thread(_plain(thread), dash_thread(dash)):
            tube = f"dash {dash}, for {dash_tube_diameter(dash):.2f} mm tube"
            sheet.note("size of the 37 degree fitting", tube)


def _plain(thread: Thread) -> PlainThread:
    return PlainThread(thread.diameter, thread.pitch)


@check(
    "fluid-grade", ("brake-fluid",), mounts=("brake-fluid",),
    formula="grade of the fluid is one the system allows",
    source="49 CFR 571.116 (colour codes exist so that fluid families are never mixed)",
)
def grade_allowed(sheet: Sheet) -> Verdict:
    """The fluid's grade must be one of those on the reservoir cap."""
    grade, allowed = sheet.dimension("brake-fluid", "grade"), sheet.fact("hydraulics.fluid_grades")
    if sheet.missing:
        return sheet.not_known()
    listed = ", ".join(allowed)
    if grade in allowed:
        _note_mixing(sheet, grade, allowed)
        return sheet.judge(True, f"{grade} is one of the car's grades ({listed})")
    says = f"the car takes {listed}, not {grade}"
    faults = _grade_faults(grade, allowed)
    return sheet.judge(False, f"{says}: {faults}" if faults else says)


def _grade_faults(grade: str, allowed: tuple[str, ...]) -> str:
    """What is wrong with a grade beside the nearest of those allowed; empty when not known."""
    if grade not in FLUIDS:
        return ""
    offered = fluid_grade(grade)
    found = [
        "; ".join(fluid_faults(offered, fluid_grade(name))) for name in allowed if name in FLUIDS
    ]
    return min(found, key=len, default="")


def _note_mixing(sheet: Sheet, grade: str, allowed: tuple[str, ...]) -> None:
    """What a top-up leaves: the lower class of the two."""
    for name in allowed:
        if name != grade and grade in FLUIDS and name in FLUIDS:
            try:
                left = mixed_grade(fluid_grade(grade), fluid_grade(name)).name
            except ValueError:
                left = "nothing that may be driven on: they must not mix"
            sheet.note(f"topped up on {name} it counts as", left)
