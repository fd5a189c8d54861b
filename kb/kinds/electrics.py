"""Control units, harnesses, sensors and supply wires, and what the car's own electrics give."""

from __future__ import annotations

from typing import Literal

from kb.dimensions import Dimensions, Facts
from kb.frozen import FrozenDict
from kb.sizes import ThreadSize
from kb.statements import Id
from kb.units import Area, Charge, Current, Length

_WIRING = (
    "Wiring: disconnect the battery first, put the fuse where the wire begins, and never fit a "
    "larger fuse than the wire carries."
)

Measured = Literal[
    "crank-speed", "cam-position", "intake-pressure", "coolant-temperature", "air-temperature",
    "exhaust-oxygen", "knock", "oil-pressure", "throttle-position", "road-speed",
]
"""What a sensor of the engine or gearbox measures."""


class ControlUnit(Dimensions, kind="control-unit"):
    """An engine control unit. `sensors`: what it has to be told, and by which form of plug."""

    stage = "engine-bay"
    fitted_after = ("harness",)

    harness_plug: Id | None = None
    sensors: FrozenDict[Measured, Id] | None = None


class Harness(Dimensions, kind="harness"):
    """A wiring harness. `sensor_plugs`: the sensors it reaches, and its form of plug there."""

    stage = "engine-bay"
    fitted_after = ("engine",)

    unit_plug: Id | None = None
    body_plug: Id | None = None
    sensor_plugs: FrozenDict[Measured, Id] | None = None


class SensorLead(Dimensions, kind="sensor-lead"):
    """A lead that adds the plug of one sensor to a harness."""

    stage = "engine-bay"
    fitted_after = ("sensor",)

    measures: Measured | None = None
    plug: Id | None = None


class Sensor(Dimensions, kind="sensor"):
    """A sensor of the engine or gearbox."""

    stage = "engine-bay"
    fitted_after = ("engine",)

    measures: Measured | None = None
    plug: Id | None = None
    thread: ThreadSize | None = None


class SupplyWire(Dimensions, kind="supply-wire"):
    """A relay with its own fuse and wire from the battery. `length` is one way."""

    caution = _WIRING
    stage = "engine-bay"

    section: Area | None = None
    length: Length | None = None
    fuse: Current | None = None


class Charging(Facts, group="charging"):
    """What keeps the battery charged. `alternator` at hot idle; `load` with everything on."""

    alternator: Current | None = None
    load: Current | None = None
    battery: Charge | None = None


class PumpSupply(Facts, group="pump-supply"):
    """The car's own wire to the fuel pump. `length` is one way; the body is the return."""

    section: Area | None = None
    length: Length | None = None
    fuse: Current | None = None
