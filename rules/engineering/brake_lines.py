"""Brake fluid, joints and hoses.

Units: mm, bar, °C, degrees of angle, mm³. Threads are given by major diameter and pitch in mm,
whatever their standard: a 3/8-24 thread is 9.525 by 25.4/24.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from enum import Enum
from types import MappingProxyType
from typing import NamedTuple

from rules.engineering.ranges import above_zero, between

_PSI_IN_BAR = 0.0689475729
_CC_PER_FOOT_IN_MM3_PER_MM = 1000.0 / 304.8
_INCH = 25.4


class FluidBase(Enum):
    """What a fluid is made of; bases never mix."""

    GLYCOL = "glycol"
    SILICONE = "silicone"
    MINERAL = "mineral oil"


class FluidGrade(NamedTuple):
    """Limits of a fluid class: lowest boiling points in °C, dry and wet (3.7 % water)."""

    name: str
    base: FluidBase
    dry_boiling: float
    wet_boiling: float
    colour: str


_GLYCOL_COLOUR = "colourless to amber"

# Boiling points of the DOT classes and the colours: 49 CFR 571.116 S5.1.1, S5.1.2, S5.1.14
# (verified through secondary texts that agree). ISO 4925:2020 Table 1: from memory; its colour
# is that of the glycol DOT classes.
FLUIDS: Mapping[str, FluidGrade] = MappingProxyType(
    {
        grade.name: grade
        for grade in (
            FluidGrade("DOT 3", FluidBase.GLYCOL, 205.0, 140.0, _GLYCOL_COLOUR),
            FluidGrade("DOT 4", FluidBase.GLYCOL, 230.0, 155.0, _GLYCOL_COLOUR),
            FluidGrade("DOT 5", FluidBase.SILICONE, 260.0, 180.0, "purple"),
            FluidGrade("DOT 5.1", FluidBase.GLYCOL, 260.0, 180.0, _GLYCOL_COLOUR),
            FluidGrade("ISO 4925 class 3", FluidBase.GLYCOL, 205.0, 140.0, _GLYCOL_COLOUR),
            FluidGrade("ISO 4925 class 4", FluidBase.GLYCOL, 230.0, 155.0, _GLYCOL_COLOUR),
            FluidGrade("ISO 4925 class 5-1", FluidBase.GLYCOL, 260.0, 180.0, _GLYCOL_COLOUR),
            FluidGrade("ISO 4925 class 6", FluidBase.GLYCOL, 250.0, 165.0, _GLYCOL_COLOUR),
            FluidGrade("ISO 4925 class 7", FluidBase.GLYCOL, 260.0, 180.0, _GLYCOL_COLOUR),
        )
    }
)
"""Fluid classes by name."""


class Flare(Enum):
    """How the end of a brake tube, or the seat for it, is shaped."""

    SINGLE = "single flare"
    DOUBLE = "double flare, 45 degree"
    BUBBLE = "bubble flare"
    CONE_37 = "37 degree flare"


class Thread(NamedTuple):
    """A thread by major diameter and pitch, both mm."""

    diameter: float
    pitch: float


class LineEnd(NamedTuple):
    """One side of a joint: its thread and the flare it carries or seats."""

    thread: Thread
    flare: Flare


def _unified(diameter_inch: float, threads_per_inch: int) -> Thread:
    return Thread(diameter_inch * _INCH, _INCH / threads_per_inch)


# Pairing seen on a flare-identification page (verified secondary); 1/4 and 5/16 in tube: SAE
# J512 (from memory).
_USUAL_NUTS: Mapping[tuple[float, Flare], Thread] = MappingProxyType(
    {
        (4.75, Flare.DOUBLE): _unified(3 / 8, 24),
        (4.75, Flare.BUBBLE): Thread(10.0, 1.0),
        (6.35, Flare.DOUBLE): _unified(7 / 16, 24),
        (7.94, Flare.DOUBLE): _unified(1 / 2, 20),
    }
)

# 37 degree fittings, SAE J514, by dash number (verified secondary).
_DASH_THREADS: Mapping[int, Thread] = MappingProxyType(
    {
        3: _unified(3 / 8, 24),
        4: _unified(7 / 16, 20),
        5: _unified(1 / 2, 20),
        6: _unified(9 / 16, 18),
        8: _unified(3 / 4, 16),
        10: _unified(7 / 8, 14),
        12: _unified(17 / 16, 12),
    }
)


def fluid_grade(name: str) -> FluidGrade:
    """The fluid class called `name`, such as "DOT 4"; ValueError names the known ones.

    Source: 49 CFR 571.116 (verified secondary) and ISO 4925:2020 Table 1 (from memory).
    """
    if name not in FLUIDS:
        raise ValueError(f"There is no fluid class {name!r}; known are {', '.join(FLUIDS)}.")
    return FLUIDS[name]


def fluids_mix(one: FluidGrade, other: FluidGrade) -> bool:
    """Whether a top-up of one fluid with the other is allowed at all.

    Source: 49 CFR 571.116 S5.1.14 keeps unlike bases apart by colour (verified secondary).
    """
    return one.base is other.base


def mixed_grade(one: FluidGrade, other: FluidGrade) -> FluidGrade:
    """Class to count on after mixing: the lower of the two. ValueError if they must not mix.

    Source: common practice, no source.
    """
    if not fluids_mix(one, other):
        raise ValueError(
            f"{one.name} ({one.base.value}) and {other.name} ({other.base.value}) must not mix."
        )
    return min(one, other, key=lambda grade: (grade.wet_boiling, grade.dry_boiling))


def fluid_faults(offered: FluidGrade, asked: FluidGrade) -> tuple[str, ...]:
    """Why the offered class cannot stand in for the one asked for; empty when it can.

    Compares base and boiling points. Cold viscosity, which an anti-lock unit may limit, is a
    question for the vehicle maker.

    Source: limits of 49 CFR 571.116 (verified secondary) and ISO 4925 (from memory).
    """
    if not fluids_mix(offered, asked):
        return (f"{offered.base.value} where {asked.base.value} is asked for",)
    pairs = (
        ("dry", offered.dry_boiling, asked.dry_boiling),
        ("wet", offered.wet_boiling, asked.wet_boiling),
    )
    return tuple(
        f"{state} boiling point {has:g} °C where {needs:g} °C is asked for"
        for state, has, needs in pairs
        if has < needs
    )


def boiling_reserve(grade: FluidGrade, peak_temperature: float, wet: bool = True) -> float:
    """Kelvin between the hottest fluid, in °C, and the lowest boiling point of its class.

    Aged fluid is judged as wet. Below zero means vapour and a lost pedal.

    Source: difference of temperatures (computed).
    """
    between(-60.0, 600.0, peak_temperature=peak_temperature)
    return (grade.wet_boiling if wet else grade.dry_boiling) - peak_temperature


def same_thread(one: Thread, other: Thread) -> bool:
    """Whether two threads are one: diameter within 0.1 mm and pitch within 0.01 mm.

    The bands are well under the closest pair in brake lines (3/8-24 and M10x1: 0.475 and 0.058).

    Source: comparison of sizes (computed).
    """
    return abs(one.diameter - other.diameter) <= 0.1 and abs(one.pitch - other.pitch) <= 0.01


def joint_faults(tube: LineEnd, port: LineEnd) -> tuple[str, ...]:
    """Why a tube end and a port do not make a sound joint; empty when they do.

    Thread and flare are judged apart, because one does not tell the other.

    Source: flare kinds of SAE J533 and ISO 4038 do not interchange, a single flare is not allowed
    on brake lines, 37 and 45 degree seats differ (verified secondary).
    """
    faults: list[str] = []
    if not same_thread(tube.thread, port.thread):
        faults.append(
            f"thread {tube.thread.diameter:.4g} x {tube.thread.pitch:.4g} mm in a port of "
            f"{port.thread.diameter:.4g} x {port.thread.pitch:.4g} mm"
        )
    if Flare.SINGLE in (tube.flare, port.flare):
        faults.append("a single flare is not allowed on a brake line")
    if tube.flare is not port.flare:
        faults.append(f"{tube.flare.value} in a seat for a {port.flare.value}")
    return tuple(faults)


def usual_nut(tube_diameter: float, flare: Flare) -> Thread | None:
    """Nut thread that usually goes with a tube diameter in mm and a flare; None if not known.

    A hint for what to measure, never a proof: several threads exist for each tube.

    Source: flare-identification page (verified secondary); SAE J512 (from memory).
    """
    above_zero(tube_diameter=tube_diameter)
    for (diameter, kind), thread in _USUAL_NUTS.items():
        if kind is flare and abs(diameter - tube_diameter) <= 0.05:
            return thread
    return None


def dash_tube_diameter(dash: int) -> float:
    """Outer tube diameter in mm of a dash size from 1 to 32: sixteenths of an inch.

    Source: fitting-identification appendix (verified secondary).
    """
    between(1, 32, dash_size=dash)
    return dash / 16 * _INCH


def dash_thread(dash: int) -> Thread:
    """Thread of a 37 degree fitting by dash size; ValueError for a size not in the table.

    Source: SAE J514 (verified secondary).
    """
    if dash not in _DASH_THREADS:
        known = ", ".join(str(size) for size in _DASH_THREADS)
        raise ValueError(f"There is no thread for dash size {dash}; known are {known}.")
    return _DASH_THREADS[dash]


def hose_burst_pressure(bore: float) -> float:
    """Least burst pressure in bar of a hydraulic brake hose assembly of this bore in mm (to 10).

    Source: FMVSS 106, 7,000 psi up to 1/8 in bore (from memory), else 5,000 psi (verified
    secondary).
    """
    above_zero(hose_bore=bore)
    between(0.0, 10.0, hose_bore=bore)
    return (7000.0 if bore <= _INCH / 8 else 5000.0) * _PSI_IN_BAR


def hose_swelling(bore: float, length: float, pressure: float) -> float:
    """Most extra fluid in mm³ that a regular hose may take up at a pressure.

    `bore` mm (below 6: wider hoses are not tabulated here), `length` mm, `pressure` bar
    (to 103.4, the last point of the table). Straight lines between the table's points.

    Source: FMVSS 106 Table I, 0.66/0.79 cc per ft up to 1/8 in bore, else 0.86/1.02, at 1,000 and
    1,500 psi (from memory).
    """
    above_zero(hose_bore=bore, hose_length=length)
    first, last = 1000.0 * _PSI_IN_BAR, 1500.0 * _PSI_IN_BAR
    between(0.0, math.nextafter(6.0, 0.0), hose_bore=bore)
    between(0.0, last + 1e-9, pressure=pressure)
    at_first, at_last = (0.66, 0.79) if bore <= _INCH / 8 else (0.86, 1.02)
    if pressure <= first:
        per_foot = at_first * pressure / first
    else:
        per_foot = at_first + (at_last - at_first) * (pressure - first) / (last - first)
    return per_foot * _CC_PER_FOOT_IN_MM3_PER_MM * length
