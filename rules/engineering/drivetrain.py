"""Engine swap, mechanical side: clutch and shaft capacity, injector and pump flow.

Units: mm, N, N·m, kW, rev/min, km/h, bar; fuel flow in litres per minute (1 L/min is 1000 cc/min
or 60 L/h); specific fuel consumption in g/kWh; fuel density in kg per litre.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from rules.engineering.ranges import above_zero, between, not_negative, ordered

STEEL_MODULUS = 207000.0
"""Young's modulus of steel, N/mm² (from memory)."""

STEEL_DENSITY = 7850.0
"""Density of steel, kg/m³ (from memory)."""

PETROL_DENSITY = 0.745
"""kg per litre; 0.72 to 0.775 in use (from memory)."""


class ClutchCapacity(NamedTuple):
    """Torque in N·m that a clutch carries: bedded in (uniform wear) and new (uniform pressure)."""

    bedded: float
    new: float


def torque_from_power(power: float, speed: float) -> float:
    """Torque in N·m of a `power` in kW at a `speed` in rev/min.

    Source: P = T·omega (computed).
    """
    above_zero(power=power, speed=speed)
    return power * 30000.0 / (math.pi * speed)


def clutch_capacity(
    clamp: float, friction: float, faces: int, outer_radius: float, inner_radius: float
) -> ClutchCapacity:
    """Torque that a dry plate clutch carries before it slips.

    `clamp` N of the pressure plate, `friction` coefficient (0.1 to 0.6), `faces` rubbing
    faces (two for each driven plate), radii of the lining in mm. Judge by the bedded value.

    Source: T = n·mu·W·R; Khurmi & Gupta, Theory of Machines, Ex. 10.23 p. 303 (uniform wear) and
    Jindal, Machine Design, Ex. 22-5 p. 591 (uniform pressure) (verified textbook).
    """
    above_zero(clamp=clamp, outer_radius=outer_radius, inner_radius=inner_radius)
    between(0.1, 0.6, friction=friction)
    between(1, 40, rubbing_faces=faces)
    ordered("inner radius", inner_radius, "outer radius", outer_radius)
    cubes = outer_radius**3 - inner_radius**3
    squares = outer_radius**2 - inner_radius**2
    grip = faces * friction * clamp / 1000.0
    return ClutchCapacity(
        grip * (outer_radius + inner_radius) / 2.0, grip * 2.0 / 3.0 * cubes / squares
    )


def shaft_torque(engine_torque: float, reduction: float, shafts: int = 1) -> float:
    """Torque in N·m in each of `shafts` behind a total `reduction` (1 to 60 of gear ratios).

    For a propeller shaft the reduction is the lowest gear; for two half shafts lowest gear times
    final drive, with an open differential sharing evenly. Losses are left out; a sudden clutch
    engagement can double it.

    Source: gear ratio in static balance (computed).
    """
    not_negative(engine_torque=engine_torque)
    between(0.4, 60.0, reduction=reduction)
    between(1, 4, shafts=shafts)
    return engine_torque * reduction / shafts


def _check_tube(outer_diameter: float, inner_diameter: float) -> None:
    above_zero(outer_diameter=outer_diameter)
    not_negative(inner_diameter=inner_diameter)
    ordered("inner diameter", inner_diameter, "outer diameter", outer_diameter)


def tube_torque(outer_diameter: float, inner_diameter: float, allowed_shear: float) -> float:
    """Torque in N·m that a round shaft carries at a shear stress in N/mm² at its surface.

    Diameters in mm; an inner diameter of zero is a solid shaft. Welds, splines and joints may be
    weaker than the tube.

    Source: torsion of a round bar, T = tau·pi·(D⁴ - d⁴)/(16·D) (textbook formula, from memory).
    """
    _check_tube(outer_diameter, inner_diameter)
    above_zero(allowed_shear=allowed_shear)
    section = math.pi * (outer_diameter**4 - inner_diameter**4) / (16.0 * outer_diameter)
    return allowed_shear * section / 1000.0


def critical_speed(
    outer_diameter: float,
    inner_diameter: float,
    length: float,
    modulus: float = STEEL_MODULUS,
    density: float = STEEL_DENSITY,
) -> float:
    """First bending critical speed in rev/min of a tube between two joints `length` mm apart.

    Diameters in mm, `modulus` N/mm², `density` kg/m³. Valid for a straight tube of one
    section that is at least ten diameters long, simply held at both ends; joint angle, imbalance
    and soft mounts bring it down.

    Source: simply supported uniform beam, N = (60/2pi)·(pi/L)²·sqrt(E·I/(rho·A)) (textbook
    formula, from memory).
    """
    _check_tube(outer_diameter, inner_diameter)
    above_zero(length=length, modulus=modulus, density=density)
    between(10.0, math.inf, length_over_diameter=length / outer_diameter)
    gyration_squared = (outer_diameter**2 + inner_diameter**2) / 16.0
    # N/mm² over kg/m³ is 1e6 N·m/kg; with lengths in mm that is 1e12 mm²/s².
    wave_speed = math.sqrt(modulus / density * 1e12)
    return 30.0 * math.pi / length**2 * wave_speed * math.sqrt(gyration_squared)


def propshaft_speed(road_speed: float, rolling_circumference: float, final_drive: float) -> float:
    """Speed in rev/min of a propeller shaft at `road_speed` km/h.

    `rolling_circumference` of the driven tyre in mm, `final_drive` ratio 1 to 8.

    Source: kinematics of a rolling wheel (computed).
    """
    not_negative(road_speed=road_speed)
    above_zero(rolling_circumference=rolling_circumference)
    between(1.0, 8.0, final_drive=final_drive)
    return road_speed * final_drive * 1e6 / (60.0 * rolling_circumference)


def fuel_flow(power: float, consumption: float, density: float = PETROL_DENSITY) -> float:
    """Fuel in L/min that an engine burns at `power` kW.

    `consumption` g/kWh (150 to 600), `density` kg/L (0.5 to 1.0).

    Source: P·BSFC/rho; Rajput, Internal Combustion Engines, Ex. 12.1 p. 421 (verified textbook).
    """
    above_zero(power=power)
    between(150.0, 600.0, specific_consumption=consumption)
    between(0.5, 1.0, fuel_density=density)
    return power * consumption / (1000.0 * density * 60.0)


def injector_flow(
    power: float,
    consumption: float,
    injectors: int,
    duty: float,
    density: float = PETROL_DENSITY,
) -> float:
    """Rated flow in L/min that each injector needs, at the working pressure difference.

    `duty` is the largest open share of the time (0.1 to 1; usually 0.80 to 0.85).

    Source: published sizing sheet, flow = P·BSFC/(n·duty) (verified secondary).
    """
    between(1, 48, injectors=injectors)
    between(0.1, 1.0, duty=duty)
    return fuel_flow(power, consumption, density) / (injectors * duty)


def pump_flow(
    power: float, consumption: float, reserve: float = 0.15, density: float = PETROL_DENSITY
) -> float:
    """Flow in L/min that a fuel pump must give at working pressure and lowest supply voltage.

    `reserve` share on top (0 to 1).

    Source: fuel flow plus reserve (computed); the reserve is common practice, no source.
    """
    between(0.0, 1.0, reserve=reserve)
    return fuel_flow(power, consumption, density) * (1.0 + reserve)


def flow_at_pressure(rated_flow: float, rated_pressure: float, pressure: float) -> float:
    """Injector flow at another pressure difference; flow in L/min, pressures in bar.

    Valid from half to twice the rated pressure.

    Source: orifice flow, proportional to the root of the pressure difference (computed).
    """
    above_zero(rated_flow=rated_flow, rated_pressure=rated_pressure, pressure=pressure)
    between(0.5, 2.0, pressure_over_rated_pressure=pressure / rated_pressure)
    return rated_flow * math.sqrt(pressure / rated_pressure)
