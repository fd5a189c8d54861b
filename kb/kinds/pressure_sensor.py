"""Tyre-pressure sensors and the car's receiver."""

from __future__ import annotations

from typing import Literal

from kb.dimensions import Dimensions, Facts
from kb.texts import Flag
from kb.units import Frequency, Length

Valve = Literal["rubber", "clamped"]


class PressureSensor(Dimensions, kind="pressure-sensor"):
    """A sensor in the wheel."""

    stage = "wheels-and-tyres"

    frequency: Frequency | None = None
    valve: Valve | None = None
    valve_hole: Length | None = None


class SensorService(Dimensions, kind="sensor-service"):
    """Valve core, seal, washer and nut to move a sensor to another wheel."""

    stage = "wheels-and-tyres"

    valve: Valve | None = None


class Receiver(Facts, group="receiver"):
    """The receiver of the tyre-pressure monitor. `sensor_frequency` is what it listens to.

    `rule` is whose rule for warning of low pressure the car was built to. `by_wheel_speed` is true
    for a car that compares the speeds of its wheels and needs no sensors in them.
    """

    sensor_frequency: Frequency | None = None
    rule: Literal["us", "eu"] | None = None
    by_wheel_speed: Flag | None = None
