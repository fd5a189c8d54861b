"""Hydraulic disc brakes: pressure, clamp, torque, rubbing area, pedal travel and heat.

Units: mm, kg, N, N·m, bar, km/h, °C (or kelvin for a difference), joule for energy. One bar is
0.1 N/mm². Every formula is quasi-static: no hysteresis, no knock-back, no fade.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from rules.engineering.ranges import above_zero, between, not_negative, ordered

STANDARD_GRAVITY = 9.80665
"""m/s², by definition (CGPM 1901)."""

GREY_IRON_HEAT = 480.0
"""Specific heat of a grey-iron disc, J/(kg·K); 460 to 500 in use (from memory)."""

_NEWTON_PER_MM2_IN_BAR = 10.0
_KMH_PER_M_S = 3.6


class PadRadii(NamedTuple):
    """Inner and outer radius of the ring that the pads rub, mm."""

    outer: float
    inner: float


class PedalTravel(NamedTuple):
    """Master-cylinder stroke, pedal travel and stroke in reserve (all mm), and reserve share."""

    stroke: float
    travel: float
    reserve: float
    reserve_share: float


def bore_area(bore: float) -> float:
    """Area in mm² of a round bore or piston of diameter `bore` in mm (above zero).

    Source: area of a circle (computed).
    """
    above_zero(bore=bore)
    return math.pi / 4.0 * bore**2


def line_pressure(
    pedal_force: float,
    pedal_ratio: float,
    master_bore: float,
    booster_gain: float = 1.0,
    most_assist: float = math.inf,
) -> float:
    """Pressure in the brake lines, bar.

    `pedal_force` N, `pedal_ratio` pedal travel over rod travel (1 to 10), `master_bore` mm,
    `booster_gain` rod force out over rod force in (1 means no booster), `most_assist` N that
    the booster can add before it runs out. Past run-out only the foot adds force. Valid without
    seal friction and spring force, which cost some bar in a real cylinder.

    Source: lever and hydraulic cylinder in static balance, p = F·i·gain/A (computed).
    """
    not_negative(pedal_force=pedal_force)
    between(1.0, 10.0, pedal_ratio=pedal_ratio)
    between(1.0, 20.0, booster_gain=booster_gain)
    between(0.0, math.inf, most_assist=most_assist)
    rod_force = pedal_force * pedal_ratio
    assisted = rod_force + min(rod_force * (booster_gain - 1.0), most_assist)
    return assisted / bore_area(master_bore) * _NEWTON_PER_MM2_IN_BAR


def piston_area(piston_diameters: Sequence[float]) -> float:
    """Total area in mm² of pistons given by their diameters in mm (at least one).

    Source: area of a circle (computed).
    """
    if not piston_diameters:
        raise ValueError("A caliper needs at least one piston, but no diameter is given.")
    return sum(bore_area(diameter) for diameter in piston_diameters)


def clamp_force(pressure: float, one_side_pistons: Sequence[float]) -> float:
    """Force in N that presses one pad on the disc.

    `pressure` bar; `one_side_pistons` diameters in mm of the pistons on one side of the disc.
    A fixed caliper has as many on the other side, a floating one has none there: both clamp alike.

    Source: hydraulic cylinder in static balance, F = p·A (computed).
    """
    not_negative(pressure=pressure)
    return pressure / _NEWTON_PER_MM2_IN_BAR * piston_area(one_side_pistons)


def disc_torque(clamp: float, pad_friction: float, effective_radius: float) -> float:
    """Brake torque in N·m of one disc with a pad on each face.

    `clamp` N on one pad, `pad_friction` coefficient (0.1 to 0.8), `effective_radius` mm.

    Source: T = 2·mu·F·r, Shigley, Mechanical Engineering Design, caliper brakes (from memory).
    """
    not_negative(clamp=clamp)
    between(0.1, 0.8, pad_friction=pad_friction)
    above_zero(effective_radius=effective_radius)
    return 2.0 * pad_friction * clamp * effective_radius / 1000.0


def drum_torque(push: float, brake_factor: float, drum_diameter: float) -> float:
    """Brake torque in N·m of one drum.

    `push` N that the wheel cylinder puts on each shoe, `brake_factor` friction force at the drum
    over that push (0.5 to 6; about 2 for a leading and a trailing shoe), `drum_diameter` mm.

    Source: T = C*·F·r, brake factor of drum brakes (from memory).
    """
    not_negative(push=push)
    between(0.5, 6.0, brake_factor=brake_factor)
    above_zero(drum_diameter=drum_diameter)
    return brake_factor * push * drum_diameter / 2000.0


def pad_radii(disc_diameter: float, pad_height: float, edge_gap: float = 0.0) -> PadRadii:
    """Ring rubbed by a pad of radial `pad_height` whose top lies `edge_gap` inside the edge.

    All in mm. Raises ValueError when the pad would reach the centre of the disc.

    Source: geometry (computed).
    """
    above_zero(disc_diameter=disc_diameter, pad_height=pad_height)
    not_negative(edge_gap=edge_gap)
    outer = disc_diameter / 2.0 - edge_gap
    ordered("pad height", pad_height, "outer pad radius", outer)
    return PadRadii(outer, outer - pad_height)


def _check_radii(outer: float, inner: float) -> None:
    above_zero(outer_radius=outer, inner_radius=inner)
    ordered("inner radius", inner, "outer radius", outer)


def effective_radius_bedded(outer: float, inner: float) -> float:
    """Effective radius in mm of bedded pads (uniform wear), from the ring's two radii in mm.

    Source: r = (ro + ri)/2, Shigley, Mechanical Engineering Design, uniform wear (from memory).
    """
    _check_radii(outer, inner)
    return (outer + inner) / 2.0


def effective_radius_new(outer: float, inner: float) -> float:
    """Effective radius in mm of new pads (uniform pressure), from the ring's two radii in mm.

    Source: r = 2/3·(ro³ - ri³)/(ro² - ri²), Shigley, Mechanical Engineering Design, uniform
    pressure (from memory).
    """
    _check_radii(outer, inner)
    return 2.0 / 3.0 * (outer**3 - inner**3) / (outer**2 - inner**2)


def swept_area(outer: float, inner: float) -> float:
    """Area in mm² that the pads rub on both faces of one disc, from the ring's radii in mm.

    Source: geometry of a ring, both faces (computed).
    """
    _check_radii(outer, inner)
    return 2.0 * math.pi * (outer**2 - inner**2)


def pad_area(outer: float, inner: float, angle: float) -> float:
    """Area in mm² of one pad that is a sector of the ring, `angle` in degrees (to 360).

    Source: geometry of a ring sector (computed).
    """
    _check_radii(outer, inner)
    above_zero(pad_angle=angle)
    between(0.0, 360.0, pad_angle=angle)
    return math.radians(angle) / 2.0 * (outer**2 - inner**2)


def fluid_volume(piston_diameters: Sequence[float], piston_travel: float) -> float:
    """Fluid in mm³ that moves all given pistons by `piston_travel` mm.

    Count every piston that the master cylinder feeds, both sides of fixed calipers included. In a
    floating caliper the piston travels the gaps of both pads.

    Source: V = sum(A)·s, conservation of volume (computed).
    """
    not_negative(piston_travel=piston_travel)
    return piston_area(piston_diameters) * piston_travel


def pedal_travel(
    volume: float, master_bore: float, pedal_ratio: float, available_stroke: float
) -> PedalTravel:
    """Travel that a fluid `volume` in mm³ costs at the pedal, and what stroke is left.

    `master_bore` and `available_stroke` in mm. For a tandem cylinder give the volume of both
    circuits and the stroke of both chambers: the front piston pushes through the rear one. Add
    hose swelling to the volume; seal roll-back and caliper spread are not modelled, so a real
    pedal goes lower. A reserve below zero means the cylinder runs out before the pads clamp.

    Source: volume balance s = V/A, times the pedal ratio (computed).
    """
    not_negative(volume=volume)
    above_zero(available_stroke=available_stroke)
    between(1.0, 10.0, pedal_ratio=pedal_ratio)
    stroke = volume / bore_area(master_bore)
    reserve = available_stroke - stroke
    return PedalTravel(stroke, stroke * pedal_ratio, reserve, reserve / available_stroke)


def least_master_bore(volume: float, available_stroke: float, reserve_share: float) -> float:
    """Smallest master bore in mm that displaces `volume` mm³ and keeps a share of its stroke.

    `available_stroke` mm; `reserve_share` 0 to 0.9 of that stroke stays unused.

    Source: volume balance A = V/s (computed).
    """
    above_zero(volume=volume, available_stroke=available_stroke)
    between(0.0, 0.9, reserve_share=reserve_share)
    return math.sqrt(4.0 / math.pi * volume / (available_stroke * (1.0 - reserve_share)))


def stop_energy(
    mass: float, speed: float, end_speed: float = 0.0, rotating_factor: float = 1.0
) -> float:
    """Energy in J that the brakes take up between two speeds in km/h.

    `mass` kg; `rotating_factor` 1 to 1.5 raises the mass for wheels and driveline. Engine
    braking, air and rolling drag are left out, which overstates the heat a little.

    Source: kinetic energy; Jindal, Machine Design, Ex. 23-5 p. 621 (verified textbook).
    """
    above_zero(mass=mass)
    not_negative(speed=speed, end_speed=end_speed)
    between(1.0, 1.5, rotating_factor=rotating_factor)
    between(0.0, speed, end_speed=end_speed)
    return rotating_factor * mass * (speed**2 - end_speed**2) / (2.0 * _KMH_PER_M_S**2)


def disc_temperature_rise(
    energy: float, disc_share: float, disc_mass: float, specific_heat: float = GREY_IRON_HEAT
) -> float:
    """Rise in kelvin of one disc in a single stop that is too short to shed heat.

    `energy` J of the whole stop, `disc_share` 0 to 1 taken by this disc, `disc_mass` kg of
    its rubbing ring, `specific_heat` J/(kg·K). The mean of the ring: its face runs hotter.

    Source: heat balance; Jindal, Machine Design, Ex. 23-5 p. 621 (verified textbook).
    """
    not_negative(energy=energy)
    between(0.0, 1.0, disc_share=disc_share)
    above_zero(disc_mass=disc_mass, specific_heat=specific_heat)
    return energy * disc_share / (disc_mass * specific_heat)


def stopping_distance(speed: float, braking_rate: float) -> float:
    """Distance in metres from `speed` km/h to rest at a constant `braking_rate` (a/g, to 2).

    Reaction and pressure build-up time are not included.

    Source: uniform deceleration, s = v²/(2·z·g); Bevan, The Theory of Machines, Ch. 8 Ex. 6
    p. 264 (verified textbook).
    """
    not_negative(speed=speed)
    above_zero(braking_rate=braking_rate)
    between(0.0, 2.0, braking_rate=braking_rate)
    return (speed / _KMH_PER_M_S) ** 2 / (2.0 * braking_rate * STANDARD_GRAVITY)
