"""Engine swap, electrical side: wire resistance and size, voltage drop, fuse, charging balance.

Units: ampere, volt, ohm, ampere-hour, mm for lengths, mm² for wire sections, °C, min.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from rules.engineering.ranges import above_zero, between, not_negative

# Highest resistance at 20 °C in ohm per km, by section in mm²: IEC 60228 as reproduced on three
# pages that agree (verified secondary).
FLEXIBLE_RESISTANCE: Mapping[float, float] = MappingProxyType(
    {
        0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95,
        6.0: 3.30, 10.0: 1.91, 16.0: 1.21, 25.0: 0.780, 35.0: 0.554, 50.0: 0.386,
    }
)  # fmt: skip
"""Class 5, fine-stranded plain copper: the kind used in vehicles."""

RIGID_RESISTANCE: Mapping[float, float] = MappingProxyType(
    {
        0.5: 36.0, 0.75: 24.5, 1.0: 18.1, 1.5: 12.1, 2.5: 7.41, 4.0: 4.61,
        6.0: 3.08, 10.0: 1.83, 16.0: 1.15, 25.0: 0.727, 35.0: 0.524, 50.0: 0.387,
    }
)  # fmt: skip
"""Class 1 and 2, solid and coarse-stranded plain copper."""

COPPER_COEFFICIENT = 0.00393
"""Rise of resistance per kelvin, from 20 °C (IEC 60287 Table 1, verified secondary)."""

SAFE_DENSITY = 5.0
"""A/mm² that a single wire in free air carries without running hot (common practice, no source)."""

FUSE_LOAD_SHARE = 0.7
"""Most of a fuse's rating that a lasting load may use; 0.7 to 0.8 (common practice, no source)."""

FUSE_COLOURS: Mapping[float, str] = MappingProxyType(
    {
        1.0: "black", 2.0: "grey", 3.0: "violet", 4.0: "pink", 5.0: "tan", 7.5: "brown",
        10.0: "red", 15.0: "blue", 20.0: "yellow", 25.0: "clear", 30.0: "green", 40.0: "orange",
    }
)  # fmt: skip
"""Blade fuses by rating in A (ISO 8820-3, verified secondary; the printed number decides)."""


class Load(NamedTuple):
    """A consumer: its current in A while on, and the share of the time it is on (0 to 1)."""

    current: float
    duty: float = 1.0


class ChargingBalance(NamedTuple):
    """Current in A drawn on average and left over, and minutes until the battery is down.

    `minutes` is None while the alternator keeps up.
    """

    drawn: float
    spare: float
    minutes: float | None


def wire_resistance(section: float, temperature: float = 20.0, flexible: bool = True) -> float:
    """Highest resistance in ohm per km of a copper wire of a standard `section` in mm².

    `temperature` -40 to 150 °C. ValueError names the standard sections.

    Source: IEC 60228 table and R = R20·(1 + 0.00393·(T - 20)), IEC 60287 (verified secondary).
    """
    table = FLEXIBLE_RESISTANCE if flexible else RIGID_RESISTANCE
    if section not in table:
        known = ", ".join(f"{size:g}" for size in table)
        raise ValueError(f"A wire of {section:g} mm² is not in the table; it has {known}.")
    between(-40.0, 150.0, temperature=temperature)
    return table[section] * (1.0 + COPPER_COEFFICIENT * (temperature - 20.0))


def voltage_drop(
    current: float,
    section: float,
    length: float,
    temperature: float = 20.0,
    wired_return: bool = False,
) -> float:
    """Volts lost in a flexible copper wire of `length` mm one way.

    `wired_return` counts the same wire back; without it the body carries the return for free.

    Source: Ohm's law on `wire_resistance` (computed).
    """
    not_negative(current=current)
    above_zero(length=length)
    ways = 2.0 if wired_return else 1.0
    return current * wire_resistance(section, temperature) * length * ways / 1e6


def least_section(
    current: float,
    length: float,
    allowed_drop: float,
    temperature: float = 60.0,
    wired_return: bool = False,
    density: float = SAFE_DENSITY,
) -> float:
    """Smallest standard section in mm² that keeps the drop in V and runs cool enough.

    `density` A/mm² is the most that the wire may carry: without it a short wire would pass on
    voltage drop alone and melt. ValueError when no section in the table is enough.

    Source: `voltage_drop` (computed) and `SAFE_DENSITY` (common practice, no source).
    """
    above_zero(current=current, allowed_drop=allowed_drop, current_density=density)
    for section in FLEXIBLE_RESISTANCE:
        drop = voltage_drop(current, section, length, temperature, wired_return)
        if drop <= allowed_drop and current <= density * section:
            return section
    raise ValueError(
        f"No single wire in the table carries {current:g} A over {length:g} mm with "
        f"{allowed_drop:g} V to lose."
    )


def fuse_rating(
    load_current: float, wire_capacity: float, load_share: float = FUSE_LOAD_SHARE
) -> float:
    """Smallest blade fuse in A for a lasting load on a wire that carries `wire_capacity` A.

    The fuse protects the wire: its rating may not be above what the wire carries, and the load
    may use only `load_share` (0.5 to 1) of it. ValueError when the wire is too thin for the
    load or no blade fuse is large enough.

    Source: common practice, no source; ratings of ISO 8820-3 (verified secondary).
    """
    above_zero(load_current=load_current, wire_capacity=wire_capacity)
    between(0.5, 1.0, load_share=load_share)
    for rating in FUSE_COLOURS:
        if load_current <= load_share * rating:
            if rating <= wire_capacity:
                return rating
            raise ValueError(
                f"A load of {load_current:g} A needs a {rating:g} A fuse, but the wire carries "
                f"only {wire_capacity:g} A: use a thicker wire."
            )
    raise ValueError(f"A load of {load_current:g} A is too much for one blade fuse.")


def charging_balance(
    alternator_current: float,
    loads: Sequence[Load],
    battery_capacity: float,
    usable_share: float = 0.5,
) -> ChargingBalance:
    """Balance of what the alternator gives, in A at the speed judged, and what the loads draw.

    Judge at idle, hot, where an alternator gives least. `battery_capacity` Ah, of which
    `usable_share` (0 to 1) may be lost before the engine no longer starts.

    Source: sum of currents; time = charge over deficit (computed).
    """
    not_negative(alternator_current=alternator_current)
    above_zero(battery_capacity=battery_capacity)
    between(0.0, 1.0, usable_share=usable_share)
    for load in loads:
        not_negative(load_current=load.current)
        between(0.0, 1.0, load_duty=load.duty)
    drawn = sum(load.current * load.duty for load in loads)
    spare = alternator_current - drawn
    minutes = None if spare >= 0.0 else 60.0 * battery_capacity * usable_share / -spare
    return ChargingBalance(drawn, spare, minutes)
