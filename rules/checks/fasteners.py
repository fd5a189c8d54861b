"""Is there thread enough in the wheel nuts, and what do bolts bear?"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from kb.matching import same
from kb.units import Quantity
from rules.checking import Judgement, Sheet, Verdict, check
from rules.checks.tyre_sizes import spread
from rules.engineering.fasteners import (
    NUT_FACTORS,
    PERMANENT_SHARE,
    clamp_from_torque,
    class_strength,
    coarse_pitch,
    grade_strength,
    length_needed,
    nut_factor,
    nut_suits_bolt,
    preload,
    proof_load,
    stress_area,
    thread_engagement,
    torque_estimate,
    unified_stress_area,
)
from rules.engineering.tolerance import Toleranced, exactly, extremes
from rules.engineering.tyres import MM_PER_INCH

TIP_ROOM = 1.0
"""Least room between a stud's tip and the end of a closed nut, mm. Common practice, no source."""

_FORMULA = "thread = least of (stud - wheel seat - spacer - lead-in) and thread of the nut"
_SOURCE = "geometry; one diameter in a wheel nut attributed to SAE practice (secondary)"
_MAKER_WINS = "an estimate, the maker's torque wins"


@check(
    "nut-engagement", ("wheel-nut", "wheel", "wheel-stud"), modifier="spacer",
    formula=_FORMULA, source=_SOURCE,
)
def nut_engagement(sheet: Sheet) -> Judgement:
    """The nut must find thread enough on the stud fitted, and not bottom on its tip."""
    thread, length, lead_in = (
        sheet.dimension("wheel-stud", name, optional=name == "lead_in")
        for name in ("thread", "length", "lead_in")
    )
    return _engagement(sheet, thread, length, lead_in)


@check(
    "nut-engagement-hub", ("wheel-nut", "wheel"), modifier="spacer", unless="wheel-stud",
    formula=_FORMULA, source=_SOURCE,
)
def nut_engagement_hub(sheet: Sheet) -> Judgement:
    """The nut must find thread enough on the hub's own studs, and not bottom on their tips."""
    thread, length = sheet.fact("hub.stud_thread"), sheet.fact("hub.stud_length")
    return _engagement(sheet, thread, length, sheet.fact("hub.stud_lead_in", optional=True))


def _engagement(
    sheet: Sheet, stud: Any, length: Quantity | None, lead_in: Quantity | None
) -> Judgement:
    nut, nut_thread = (sheet.dimension("wheel-nut", name) for name in ("thread", "thread_length"))
    seats = sheet.dimension("wheel-nut", "seat"), sheet.dimension("wheel", "nut_seat")
    if (nut and stud and not same(nut, stud)) or (all(seats) and seats[0] != seats[1]):
        return None  # other checks say that these do not go together
    clamped = sheet.dimension("wheel", "seat_thickness")
    spacer = sheet.dimension("spacer", "thickness") if sheet.has("spacer") else None
    if sheet.missing or length is None:
        return sheet.not_known()
    reach = [
        spread(length), spread(clamped), spread(nut_thread),
        *(spread(value) if value else exactly(0.0) for value in (spacer, lead_in)),
    ]
    return [_thread(sheet, nut, reach), *_tip(sheet, nut, reach)]


def _thread(sheet: Sheet, nut: Any, reach: list[Toleranced]) -> Verdict:
    """Thread engaged against what the shop asks for."""
    least = sheet.limit("nut_engagement")

    def engaged(length: float, clamped: float, thread: float, spacer: float, lead: float) -> float:
        return thread_engagement(
            length, clamped, thread, nut.diameter, nut.pitch, spacer, lead, least
        ).engaged

    found = extremes(engaged, *reach)
    sheet.note("turns engaged", f"{found.nominal / nut.pitch:.1f}")
    _, clamped, _, spacer, lead = (value.high for value in reach)
    shortest = length_needed(clamped, nut.diameter, spacer, lead, least)
    sheet.note("shortest stud that will do", f"{shortest:.1f} mm")
    verdict = sheet.clearance(
        "thread engaged in the nut", found.nominal, found.low, least * nut.diameter
    )
    if verdict.verdict == "not_known":
        return replace(verdict, measure=("turns of the nut from first thread to seat",))
    return verdict


def _tip(sheet: Sheet, nut: Any, reach: list[Toleranced]) -> list[Verdict]:
    """A closed nut must not bottom on the stud before it clamps the wheel."""
    if not sheet.dimension("wheel-nut", "closed", optional=True):
        return []
    depth = sheet.dimension("wheel-nut", "depth")
    if depth is None:
        return [sheet.not_known(aspect="tip")]

    def room(length: float, clamped: float, thread: float, spacer: float, inside: float) -> float:
        past = thread_engagement(length, clamped, thread, nut.diameter, nut.pitch, spacer).past_nut
        return inside - thread - past

    found = extremes(room, *reach[:4], spread(depth))
    return [sheet.clearance(
        "stud tip to the closed end of the nut", found.nominal, found.low, TIP_ROOM, aspect="tip"
    )]


@check(
    "nut-class", ("wheel-nut", "wheel-stud"),
    formula="property class of the stud <= the one the nut class is made for",
    source="ISO 898-2 combinations (secondary pages)",
)
def nut_class(sheet: Sheet) -> Verdict | None:
    """A weaker nut strips on a stronger stud; judged where both are marked."""
    nut = sheet.dimension("wheel-nut", "nut_class", optional=True)
    stud = sheet.dimension("wheel-stud", "property_class", optional=True)
    if not nut or not stud:
        return None
    fits = nut_suits_bolt(nut, stud)
    return sheet.judge(fits, f"a class {nut} nut on a class {stud} stud")


@check(
    "wheel-clamp-load", ("wheel-nut", "wheel-stud"), informs=True,
    formula="clamp = torque / (0.20 x diameter), +- 35 %; proof load = stress area x proof stress",
    source="T = K d F, machine-design textbooks; scatter of a hand wrench (secondary); ISO 898-1",
)
def wheel_clamp_load(sheet: Sheet) -> Verdict | None:
    """Information: the clamp load that the vehicle maker's torque gives on this stud."""
    torque = sheet.fact("hub.wheel_torque", optional=True)
    thread = sheet.dimension("wheel-stud", "thread")
    strength = sheet.dimension("wheel-stud", "property_class", optional=True)
    if not torque or thread is None or not strength:
        return None
    try:
        proof = _proof(thread, strength, None)
    except ValueError:
        return None
    clamp = clamp_from_torque(torque.value, NUT_FACTORS["zinc"], thread.diameter)
    says = (
        f"{torque.value:g} N·m gives about {_kn(clamp.nominal)} ({_kn(clamp.low)} to "
        f"{_kn(clamp.high)} by hand wrench), proof load {_kn(proof)}; {_MAKER_WINS}"
    )
    return sheet.verdict("fits", says)


@check(
    "bolt-strength", ("bolt",), informs=True,
    formula="proof load = stress area x proof stress; preload = 0.75 x proof load; T = K d F",
    source="ISO 898-1 and ASME B1.1 stress areas; SAE J429 from memory; nut factors secondary, "
           "oiled and anti-seize from memory",
)
def bolt_strength(sheet: Sheet) -> Verdict | None:
    """Information: what a bolt bears, and the torque that should come of it."""
    thread = sheet.dimension("bolt", "thread", optional=True)
    strength = sheet.dimension("bolt", "property_class", optional=True)
    grade = sheet.dimension("bolt", "grade", optional=True)
    if thread is None or not (strength or grade):
        return None
    try:
        proof, factors = _proof(thread, strength, grade), _factors(sheet, thread)
    except ValueError:
        return None
    clamp = preload(proof)
    sheet.note("stress area", f"{_area(thread):.1f} mm²")
    sheet.note("proof load", _kn(proof))
    sheet.note("preload of a joint that is taken apart again", _kn(clamp))
    sheet.note("preload of a joint that stays", _kn(preload(proof, PERMANENT_SHARE)))
    torques = [f"{torque_estimate(k, thread.diameter, clamp):.0f}" for k in factors]
    sheet.note("nut factor", " to ".join(f"{k:.2f}" for k in factors))
    mark = f"class {strength}" if strength else f"grade {grade}"
    says = (
        f"{thread}{_pitch(thread)} {mark}: proof load {_kn(proof)}, "
        f"torque about {' to '.join(torques)} N·m, {_MAKER_WINS}"
    )
    return sheet.verdict("fits", says)


def _pitch(thread: Any) -> str:
    """Whether a metric thread is a coarse or a fine one; nothing where no coarse one is known."""
    try:
        return " (coarse)" if same(thread.pitch, coarse_pitch(thread.diameter)) else " (fine)"
    except ValueError:
        return ""


def _factors(sheet: Sheet, thread: Any) -> tuple[float, ...]:
    """Nut factor from the friction stated, else of the surface, else the range of surfaces."""
    friction = sheet.dimension("bolt", "friction", optional=True)
    bearing = sheet.dimension("bolt", "bearing_diameter", optional=True)
    surface = sheet.dimension("bolt", "surface", optional=True)
    if friction and bearing:
        k = nut_factor(thread.diameter, thread.pitch, bearing.value, friction, friction)
        return (k,)
    if surface:
        return (NUT_FACTORS[surface],)
    return min(NUT_FACTORS.values()), max(NUT_FACTORS.values())


def _area(thread: Any) -> float:
    """Stress area, mm²; inch threads by their own formula."""
    if "/" in thread.callout:
        return unified_stress_area(thread.diameter, MM_PER_INCH / thread.pitch)
    return stress_area(thread.diameter, thread.pitch)


def _proof(thread: Any, property_class: str | None, grade: str | None) -> float:
    """Proof load, N. Raises ValueError for a size that has no strength stated."""
    known = (
        class_strength(property_class, thread.diameter) if property_class
        else grade_strength(grade or "", thread.diameter)
    )
    return proof_load(_area(thread), known.proof)


def _kn(force: float) -> str:
    return f"{force / 1000.0:.1f} kN"
