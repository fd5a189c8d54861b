"""What a tyre may carry: load index, speed symbol, pressure, and the trade-wide reductions."""

from typing import NamedTuple

from rules.engineering.guards import not_negative, positive, within

FIRST_LOAD_INDEX = 60
# kg per tyre, load index 60 onwards, ten to a line.
_LOADS = (
    *(250, 257, 265, 272, 280, 290, 300, 307, 315, 325),
    *(335, 345, 355, 365, 375, 387, 400, 412, 425, 437),
    *(450, 462, 475, 487, 500, 515, 530, 545, 560, 580),
    *(600, 615, 630, 650, 670, 690, 710, 730, 750, 775),
    *(800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030),
    *(1060, 1090, 1120, 1150, 1180, 1215, 1250, 1285, 1320, 1360),
    1400,
)
LAST_LOAD_INDEX = FIRST_LOAD_INDEX + len(_LOADS) - 1

_SPEEDS = {
    "F": 80, "G": 90, "J": 100, "K": 110, "L": 120, "M": 130, "N": 140, "P": 150, "Q": 160,
    "R": 170, "S": 180, "T": 190, "U": 200, "H": 210, "V": 240, "W": 270, "Y": 300,
}  # fmt: skip

class _Reduction(NamedTuple):
    full_load_up_to: float
    share_at_top_speed: float


# V and W were seen; Y follows the same regulation, from memory.
_REDUCTIONS = {"V": _Reduction(210, 0.91), "W": _Reduction(240, 0.85), "Y": _Reduction(270, 0.85)}

LIGHT_TRUCK_DIVISOR = 1.10
"""A passenger tyre on a truck, bus, multi-purpose vehicle or trailer: rated load over this."""

LOAD_EXPONENT_CAUTIOUS = 0.8
"""Load rises with pressure to this power: the European relation, the lower of the two."""
LOAD_EXPONENT_GENEROUS = 0.5
"""The same by the US relation for passenger tyres of 50 series and up."""

METRIC_PRESSURES = {"standard": 2.5, "extra": 2.9}
"""Pressure, bar, at which the load index holds, for standard and extra-load tyres.

Source: ETRTO reference pressures, from memory.
"""


def load_for_index(load_index: int) -> int:
    """Return the load one tyre may carry at its reference pressure, kg.

    Valid for load indices 60 to 120; raises ValueError for others.
    Source: UN Regulation No. 30 Annex 4 / ISO 4000-1 Annex B, seen in four secondary lists.
    """
    position = load_index - FIRST_LOAD_INDEX
    if position not in range(len(_LOADS)):
        raise ValueError(
            f"load index must be a whole number from {FIRST_LOAD_INDEX} to {LAST_LOAD_INDEX}, "
            f"not {load_index:g}"
        )
    return _LOADS[int(position)]


def index_for_load(load: float) -> int:
    """Return the lowest load index whose tyre carries `load` kg.

    Valid up to 1400 kg; raises ValueError above, or for a load that is not positive.
    Source: UN Regulation No. 30 Annex 4 / ISO 4000-1 Annex B, seen in four secondary lists.
    """
    within("tyre load", positive("tyre load", load), 0.0, _LOADS[-1])
    return next(i for i, kg in enumerate(_LOADS, FIRST_LOAD_INDEX) if kg >= load)


def speed_for_symbol(symbol: str) -> int:
    """Return the top speed of a speed symbol, km/h; H lies between U and V.

    Valid for F, G and J to Y without O and X; raises ValueError for others.
    Source: UN Regulation No. 30, 2.29; N to Y seen in a secondary list, F to M from memory.
    """
    if symbol not in _SPEEDS:
        raise ValueError(f"speed symbol must be one of {' '.join(_SPEEDS)}, not {symbol!r}")
    return _SPEEDS[symbol]


def symbol_for_speed(speed: float) -> str:
    """Return the slowest speed symbol that covers `speed` km/h.

    Valid up to 300 km/h; raises ValueError above.
    Source: UN Regulation No. 30, 2.29; N to Y seen in a secondary list, F to M from memory.
    """
    within("speed", speed, 0.0, _SPEEDS["Y"])
    return next(symbol for symbol, top in _SPEEDS.items() if top >= speed)


def load_share_at_speed(symbol: str, speed: float) -> float:
    """Return the share of the rated load allowed at `speed` km/h, from 0.85 to 1.

    The share falls in a straight line: V from 210, W from 240, Y from 270 km/h to its top speed.
    Raises ValueError above the speed of the symbol, where the tyre may not be used at all.
    Source: chassis textbook, "Tyre load capacity" (V, W, secondary); Y from memory.
    """
    top = speed_for_symbol(symbol)
    within(f"speed on a tyre with symbol {symbol}", speed, 0.0, top)
    reduction = _REDUCTIONS.get(symbol)
    if reduction is None or speed <= reduction.full_load_up_to:
        return 1.0
    way = (speed - reduction.full_load_up_to) / (top - reduction.full_load_up_to)
    return 1.0 - way * (1.0 - reduction.share_at_top_speed)


def usable_load(load_index: int, symbol: str, speed: float, divisor: float = 1.0) -> float:
    """Return what one tyre may carry at a vehicle's top speed, kg.

    `speed` in km/h; `divisor` is 1, or `LIGHT_TRUCK_DIVISOR` for a passenger tyre on a truck,
    bus, multi-purpose vehicle or trailer. Raises ValueError outside the ranges of
    `load_for_index` and `load_share_at_speed`, or for a divisor below 1.
    Source: as those two; FMVSS 120 S5.1.2 for the divisor (quoted in NHTSA nht76-1.47).
    """
    if not divisor >= 1.0:
        raise ValueError(f"load divisor must be 1 or more, not {divisor:g}")
    return load_for_index(load_index) * load_share_at_speed(symbol, speed) / divisor


def load_at_pressure(
    rated_load: float,
    reference_pressure: float,
    pressure: float,
    exponent: float = LOAD_EXPONENT_CAUTIOUS,
) -> float:
    """Return the load one tyre may carry at a cold pressure, kg.

    Pressures in bar (gauge), load in kg. More pressure than the reference allows no more load.
    The two exponents in use are `LOAD_EXPONENT_CAUTIOUS` and `LOAD_EXPONENT_GENEROUS`.
    Raises ValueError for values that are not positive or an exponent outside 0.5 to 1.
    Source: ETRTO relation, exponent 0.8 (secondary); US relation, exponent 0.5 (secondary).
    """
    positive("rated load", rated_load)
    positive("reference pressure", reference_pressure)
    positive("pressure", pressure)
    within("load exponent", exponent, 0.5, 1.0)
    return float(rated_load * min(1.0, pressure / reference_pressure) ** exponent)


def pressure_for_load(
    load: float,
    rated_load: float,
    reference_pressure: float,
    exponent: float = LOAD_EXPONENT_CAUTIOUS,
) -> float:
    """Return the least cold pressure for a load on one tyre, bar (gauge).

    Loads in kg, pressure in bar. The vehicle maker's pressure wins where it is higher.
    Raises ValueError when the load is above the rated load, or as `load_at_pressure`.
    Source: ETRTO relation, exponent 0.8 (secondary); US relation, exponent 0.5 (secondary).
    """
    positive("rated load", rated_load)
    positive("reference pressure", reference_pressure)
    within("load exponent", exponent, 0.5, 1.0)
    within("tyre load", not_negative("tyre load", load), 0.0, rated_load)
    return float(reference_pressure * (load / rated_load) ** (1.0 / exponent))


class Treadwear(NamedTuple):
    """What a treadwear grade says: wear life beside the reference tyre, and the usual use."""

    relative_life: float
    usual_use: str


def treadwear(grade: int) -> Treadwear:
    """Return what a treadwear grade means; information, never a check.

    `relative_life` is a multiple of the life of the reference tyre (grade 100). The maker
    assigns the grade, and deep-tread, winter, temporary and limited-production tyres have none.
    Valid for 1 to 1000; raises ValueError outside.
    Source: 49 CFR 575.104 (secondary pages) for the life; uses are common practice, no source.
    """
    within("treadwear grade", grade, 1, 1000)
    bands = ((100, "track"), (200, "street and track"), (400, "street, sporting"))
    use = next((words for top, words in bands if grade <= top), "street, long life")
    return Treadwear(grade / 100.0, use)
