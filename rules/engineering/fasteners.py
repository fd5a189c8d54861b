"""Threaded fasteners: stress area, strength, preload and torque, and thread engagement."""

import math
from typing import NamedTuple

from rules.engineering.guards import not_negative, positive, within
from rules.engineering.tolerance import Toleranced, plus_minus
from rules.engineering.tyres import MM_PER_INCH

REUSABLE_SHARE = 0.75
"""Preload over proof load where the joint is taken apart again (bolt tutorials, secondary)."""
PERMANENT_SHARE = 0.90
"""The same for a joint that stays (machine-design textbooks, from memory)."""

_COARSE = {
    3.0: 0.5, 4.0: 0.7, 5.0: 0.8, 6.0: 1.0, 8.0: 1.25, 10.0: 1.5, 12.0: 1.75, 14.0: 2.0,
    16.0: 2.0, 18.0: 2.5, 20.0: 2.5, 22.0: 2.5, 24.0: 3.0,
}  # fmt: skip

NUT_FACTORS = {
    "plain": 0.30, "zinc": 0.20, "cadmium": 0.16, "oiled": 0.18, "anti-seize": 0.12,
}  # fmt: skip
"""K of T = K d F by surface. Three as quoted from a textbook table (secondary); oiled and
anti-seize from memory."""

HAND_WRENCH_SCATTER = 0.35
"""Preload may differ by this share at one torque, hand wrench (secondary: 25 to 35 per cent)."""

MIN_ENGAGEMENT = {"nut": 1.0, "steel": 1.0, "aluminium": 1.5}
"""Least engaged thread over nominal diameter: wheel nut (secondary, SAE practice), tapped hole
in steel and in aluminium (workmanship text, secondary). Design for 2 in aluminium."""


class Strength(NamedTuple):
    """Proof stress and least tensile strength, N/mm2."""

    proof: float
    tensile: float


class _Step(NamedTuple):
    up_to: float
    strength: Strength


def _steps(*steps: tuple[float, float, float]) -> tuple[_Step, ...]:
    return tuple(_Step(d, Strength(proof, tensile)) for d, proof, tensile in steps)


# Nominal diameters up to which a row holds in mm, then N/mm2. ISO 898-1: 8.8, 10.9, 12.9 seen
# (secondary), the others from memory.
_METRIC = {
    "4.6": _steps((39.0, 225.0, 400.0)),
    "4.8": _steps((39.0, 310.0, 420.0)),
    "5.8": _steps((39.0, 380.0, 520.0)),
    "6.8": _steps((39.0, 440.0, 600.0)),
    "8.8": _steps((16.0, 580.0, 800.0), (39.0, 600.0, 830.0)),
    "9.8": _steps((16.0, 650.0, 900.0)),
    "10.9": _steps((39.0, 830.0, 1040.0)),
    "12.9": _steps((39.0, 970.0, 1220.0)),
}

_KSI = 6.894757
# Diameters in inches, then ksi. SAE J429, from memory.
_UNIFIED_KSI = {
    "2": ((0.75, 55.0, 74.0), (1.5, 33.0, 60.0)),
    "5": ((1.0, 85.0, 120.0), (1.5, 74.0, 105.0)),
    "8": ((1.5, 120.0, 150.0),),
}
_UNIFIED = {
    grade: _steps(*((MM_PER_INCH * d, _KSI * p, _KSI * t) for d, p, t in rows))
    for grade, rows in _UNIFIED_KSI.items()
}

_BOLTS_FOR_NUT = {"5": "5.8", "6": "6.8", "8": "8.8", "9": "9.8", "10": "10.9", "12": "12.9"}


def coarse_pitch(diameter: float) -> float:
    """Return the pitch meant by a metric callout without one, mm.

    `diameter` nominal in mm; valid for the sizes from M3 to M24 in the table, else ValueError.
    Source: ISO 261/262 (rule seen on a secondary page; pitches from memory).
    """
    if diameter not in _COARSE:
        raise ValueError(f"no coarse pitch is known for M{diameter:g}; give the pitch")
    return _COARSE[diameter]


def _check_thread(diameter: float, pitch: float) -> None:
    positive("pitch", pitch)
    if not pitch < positive("thread diameter", diameter) / 2.0:
        raise ValueError(f"pitch {pitch:g} is too large for a thread of {diameter:g}")


def stress_area(diameter: float, pitch: float) -> float:
    """Return the stress area of a metric thread, mm2.

    Both in mm, above zero, the pitch below half of the diameter; raises ValueError outside.
    Source: ISO 898-1 nominal stress area (formula reproduces the tabulated areas, secondary).
    """
    _check_thread(diameter, pitch)
    return math.pi / 4.0 * (diameter - 0.938194 * pitch) ** 2


def unified_stress_area(diameter: float, threads_per_inch: float) -> float:
    """Return the stress area of a unified thread, mm2.

    `diameter` nominal in mm. Raises ValueError for values that are not positive or do not go
    together.
    Source: ASME B1.1 formula 0.7854 (d - 0.9743/n)^2, as in machine-design textbooks.
    """
    pitch = MM_PER_INCH / positive("threads per inch", threads_per_inch)
    _check_thread(diameter, pitch)
    return 0.7854 * (diameter - 0.9743 * pitch) ** 2


def _strength(table: dict[str, tuple[_Step, ...]], name: str, diameter: float) -> Strength:
    if name not in table:
        raise ValueError(f"strength is known for {', '.join(table)}, not {name!r}")
    positive("thread diameter", diameter)
    for step in table[name]:
        if diameter <= step.up_to:
            return step.strength
    raise ValueError(f"{name} has no strength stated for a diameter of {diameter:g}")


def class_strength(property_class: str, diameter: float) -> Strength:
    """Return proof stress and tensile strength of a metric property class, N/mm2.

    `diameter` nominal in mm, up to 39 (16 for 9.8). Raises ValueError outside or for an
    unknown class.
    Source: ISO 898-1; 8.8, 10.9, 12.9 secondary, the other classes from memory.
    """
    return _strength(_METRIC, property_class, diameter)


def grade_strength(grade: str, diameter: float) -> Strength:
    """Return proof stress and tensile strength of an inch grade (2, 5, 8), N/mm2.

    `diameter` nominal in mm, up to 38.1. Raises ValueError outside or for an unknown grade.
    Source: SAE J429, from memory.
    """
    return _strength(_UNIFIED, grade, diameter)


def nut_suits_bolt(nut_class: str, property_class: str) -> bool:
    """Return whether a nut class may be used on a bolt of a metric property class.

    A stronger nut may go on a weaker bolt, not the reverse. Raises ValueError for unknown names.
    Source: ISO 898-2 combinations (secondary pages).
    """
    if nut_class not in _BOLTS_FOR_NUT:
        raise ValueError(f"nut class must be one of {', '.join(_BOLTS_FOR_NUT)}, not {nut_class!r}")
    if property_class not in _METRIC:
        raise ValueError(f"strength is known for {', '.join(_METRIC)}, not {property_class!r}")
    return float(property_class) <= float(_BOLTS_FOR_NUT[nut_class])


def proof_load(area: float, proof_stress: float) -> float:
    """Return the load a fastener bears without lasting stretch, N.

    `area` in mm2, `proof_stress` in N/mm2, both above zero; raises ValueError outside. Printed
    tables are rounded and may differ by 0.7 per cent.
    Source: ISO 898-1, proof load = stress area x proof stress.
    """
    return positive("stress area", area) * positive("proof stress", proof_stress)


def preload(proof: float, share: float = REUSABLE_SHARE) -> float:
    """Return the clamp load a fastener is tightened to, N.

    `proof` is the proof load in N, `share` above 0 and up to 1; raises ValueError outside.
    Source: machine-design textbooks: 0.75 reusable (secondary), 0.90 permanent (from memory).
    """
    within("preload share", positive("preload share", share), 0.0, 1.0)
    return share * positive("proof load", proof)


def torque_estimate(nut_factor: float, diameter: float, clamp: float) -> float:
    """Return the tightening torque for a preload, N m; an estimate: the maker's torque wins.

    `diameter` nominal in mm, `clamp` in N, `nut_factor` 0.05 to 0.5; raises ValueError outside.
    Source: T = K d F, machine-design textbooks.
    """
    within("nut factor", nut_factor, 0.05, 0.5)
    return nut_factor * positive("thread diameter", diameter) * positive("preload", clamp) / 1000.0


def clamp_from_torque(torque: float, nut_factor: float, diameter: float) -> Toleranced:
    """Return the preload that a torque gives, N, with the scatter of a hand wrench.

    `torque` in N m, above zero, the rest as `torque_estimate`; raises ValueError outside.
    Source: T = K d F, machine-design textbooks; scatter from a bolt-torque FAQ (secondary).
    """
    within("nut factor", nut_factor, 0.05, 0.5)
    lever = nut_factor * positive("thread diameter", diameter)
    clamp = 1000.0 * positive("torque", torque) / lever
    return plus_minus(clamp, HAND_WRENCH_SCATTER * clamp)


def nut_factor(
    diameter: float,
    pitch: float,
    bearing_diameter: float,
    thread_friction: float,
    head_friction: float,
) -> float:
    """Return K of T = K d F for a metric 60 degree thread from its friction.

    Lengths in mm; `bearing_diameter` is the mean diameter of the contact under the head; the
    friction values from 0 to 0.5. Raises ValueError outside.
    Source: T/F = P/(2 pi) + 0.577 d2 mu + (Dk/2) mu_head (ISO 16047 form, from memory).
    """
    _check_thread(diameter, pitch)
    within("thread friction", thread_friction, 0.0, 0.5)
    within("head friction", head_friction, 0.0, 0.5)
    pitch_diameter = diameter - 0.649519 * pitch
    lift = pitch / (2.0 * math.pi)
    thread = 0.577 * pitch_diameter * thread_friction
    head = positive("bearing diameter", bearing_diameter) / 2.0 * head_friction
    return (lift + thread + head) / diameter


class Engagement(NamedTuple):
    """How a nut sits on a stud, mm; `turns` counts turns.

    `margin` is engaged thread beyond the least allowed; `past_nut` is how far the tip passes
    the end of the nut's thread (a closed nut bottoms when it is positive).
    """

    engaged: float
    turns: float
    margin: float
    past_nut: float


def thread_engagement(
    length: float,
    clamped: float,
    nut_thread: float,
    diameter: float,
    pitch: float,
    spacer: float = 0.0,
    lead_in: float = 0.0,
    least: float = MIN_ENGAGEMENT["nut"],
) -> Engagement:
    """Return the thread engaged between a stud and its nut, or a bolt and its hub.

    Lengths in mm. `length` runs from the hub face to the tip of the stud (for a bolt: from its
    seat to its tip); `clamped` is the wheel between hub face and first thread of the nut;
    `lead_in` the length of imperfect thread at the tip; `least` the engagement required over
    the diameter. A stud too short to reach gives no thread and a negative margin.
    Raises ValueError for negative lengths or sizes that are not positive.
    Source: geometry; 1.0 d for wheel nuts attributed to SAE practice (secondary).
    """
    _check_thread(diameter, pitch)
    positive("thread in the nut", nut_thread)
    positive("least engagement", least)
    tip = positive("length", length) - not_negative("clamped thickness", clamped)
    tip -= not_negative("spacer thickness", spacer)
    full = tip - not_negative("lead-in", lead_in)
    engaged = max(0.0, min(full, nut_thread))
    return Engagement(
        engaged, engaged / pitch, min(full, nut_thread) - least * diameter, tip - nut_thread
    )


def length_needed(
    clamped: float,
    diameter: float,
    spacer: float = 0.0,
    lead_in: float = 0.0,
    least: float = MIN_ENGAGEMENT["nut"],
) -> float:
    """Return the shortest stud, mm from hub face to tip, that a nut may be used on.

    Inputs and errors as for `thread_engagement`, which gives this length a margin of zero when
    the nut has thread enough.
    Source: geometry; 1.0 d for wheel nuts attributed to SAE practice (secondary).
    """
    stack = not_negative("clamped thickness", clamped) + not_negative("spacer thickness", spacer)
    thread = positive("least engagement", least) * positive("thread diameter", diameter)
    return stack + thread + not_negative("lead-in", lead_in)
