"""What a change of tyre does to the speedometer, the odometer and the gearing."""

import math
from typing import NamedTuple

from rules.engineering.guards import positive, within

ROLLING_FACTOR = 3.05
"""Rolling circumference over overall diameter of a radial tyre near 60 km/h."""

_MM_PER_KM = 1.0e6
_MINUTES_PER_HOUR = 60.0


class TyreChange(NamedTuple):
    """Effect of other tyres, each as a share of the value with the old tyres (0.01 = 1 %).

    `true_speed`: change of the road speed at the same speedometer reading.
    `odometer`: change of the distance counted over the same road; negative counts too little.
    `engine_speed`: change of the engine speed at the same road speed.
    """

    true_speed: float
    odometer: float
    engine_speed: float


def rolling_circumference(overall_diameter: float, factor: float = ROLLING_FACTOR) -> float:
    """Return the distance a radial tyre rolls in one turn, mm.

    `overall_diameter` in mm, above zero; `factor` from 2.9 to pi. Real tyres lie within about
    1.5 per cent. Raises ValueError outside.
    Source: ETRTO standards manual, general notes, factor 3.05, from memory.
    """
    within("rolling factor", factor, 2.9, math.pi)
    return factor * positive("overall diameter", overall_diameter)


def turns_per_km(circumference: float) -> float:
    """Return the turns of a wheel in one kilometre; `circumference` in mm, above zero.

    Raises ValueError outside.
    Source: arithmetic.
    """
    return _MM_PER_KM / positive("rolling circumference", circumference)


def tyre_change(old_circumference: float, new_circumference: float) -> TyreChange:
    """Return what replacing tyres does to speedometer, odometer and engine speed.

    Both circumferences in mm, above zero; any error the instrument had before stays on top.
    Raises ValueError outside.
    Source: arithmetic on the ratio of circumferences.
    """
    positive("old rolling circumference", old_circumference)
    positive("new rolling circumference", new_circumference)
    ratio = new_circumference / old_circumference
    return TyreChange(ratio - 1.0, 1.0 / ratio - 1.0, 1.0 / ratio - 1.0)


def road_speed(
    circumference: float, final_drive: float, gear: float, engine_speed: float = 1000.0
) -> float:
    """Return the road speed, km/h, by default at 1000 turns of the engine per minute.

    `circumference` in mm, `engine_speed` in 1/min, ratios as turns of the input per turn of the
    output, all above zero; no slip. Raises ValueError outside.
    Source: arithmetic.
    """
    total = positive("final drive ratio", final_drive) * positive("gear ratio", gear)
    wheel_turns = positive("engine speed", engine_speed) / total * _MINUTES_PER_HOUR
    return wheel_turns * positive("rolling circumference", circumference) / _MM_PER_KM


def engine_speed(circumference: float, final_drive: float, gear: float, speed: float) -> float:
    """Return the engine speed, 1/min, at a road speed in km/h.

    Inputs, range and errors as for `road_speed`.
    Source: arithmetic, the inverse of `road_speed`.
    """
    positive("road speed", speed)
    return 1000.0 * speed / road_speed(circumference, final_drive, gear)
