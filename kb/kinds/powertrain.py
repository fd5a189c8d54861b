"""Engines and what an engine swap calls for."""

from __future__ import annotations

from typing import Literal

from kb.dimensions import Dimensions
from kb.sizes import ThreadSize
from kb.statements import Id
from kb.units import Current, Flow, Length, Mass, Power, Pressure, Torque

_FUEL = (
    "Fuel: relieve the pressure and disconnect the battery before a line is opened; no flame or "
    "spark near, and check every joint under pressure before the first start."
)
_LIFTING = "Lifting: use rated gear and points; nobody under a hanging engine."


class Engine(Dimensions, kind="engine"):
    """An engine, as delivered."""

    caution = _LIFTING

    mass: Mass | None = None
    power: Power | None = None
    torque: Torque | None = None
    bell_pattern: Id | None = None
    crank_bolts: int | None = None


class Gearbox(Dimensions, kind="gearbox"):
    """A gearbox."""

    caution = _LIFTING

    bell_pattern: Id | None = None
    spline: Id | None = None
    torque: Torque | None = None


class Adapter(Dimensions, kind="adapter-plate"):
    """A plate between an engine and a gearbox of another pattern."""

    engine_pattern: Id | None = None
    gearbox_pattern: Id | None = None
    thickness: Length | None = None


class EngineMount(Dimensions, kind="engine-mount"):
    """An engine or gearbox mount."""

    caution = _LIFTING


class Flywheel(Dimensions, kind="flywheel"):
    """A flywheel."""

    crank_bolts: int | None = None
    clutch_diameter: Length | None = None


class Clutch(Dimensions, kind="clutch"):
    """Cover and driven plate."""

    diameter: Length | None = None
    spline: Id | None = None
    torque: Torque | None = None


class DriveShaft(Dimensions, kind="drive-shaft"):
    """A shaft from gearbox to hub."""

    gearbox_spline: Id | None = None
    hub_spline: Id | None = None
    torque: Torque | None = None
    length: Length | None = None


class ControlUnit(Dimensions, kind="control-unit"):
    """An engine control unit."""

    harness_plug: Id | None = None


class Harness(Dimensions, kind="harness"):
    """A wiring harness."""

    unit_plug: Id | None = None
    body_plug: Id | None = None


class Sensor(Dimensions, kind="sensor"):
    """A sensor of the engine or gearbox."""

    measures: Literal[
        "crank-speed", "cam-position", "intake-pressure", "coolant-temperature",
        "air-temperature", "exhaust-oxygen", "knock", "oil-pressure", "throttle-position",
        "road-speed",
    ] | None = None
    plug: Id | None = None
    thread: ThreadSize | None = None


class FuelPump(Dimensions, kind="fuel-pump"):
    """A fuel pump."""

    caution = _FUEL

    flow: Flow | None = None
    pressure: Pressure | None = None
    current: Current | None = None


class FuelLine(Dimensions, kind="fuel-line"):
    """A fuel hose or pipe."""

    caution = _FUEL

    bore: Length | None = None


class Injector(Dimensions, kind="injector"):
    """A fuel injector."""

    caution = _FUEL

    flow: Flow | None = None
    plug: Id | None = None


class Radiator(Dimensions, kind="radiator"):
    """A radiator."""

    inlet: Length | None = None
    outlet: Length | None = None


class CoolantHose(Dimensions, kind="coolant-hose"):
    """A coolant hose."""

    engine_end: Length | None = None
    radiator_end: Length | None = None


class Exhaust(Dimensions, kind="exhaust"):
    """A part of the exhaust: manifold, catalyst, pipe or silencer."""

    section: Literal["manifold", "catalyst", "pipe", "silencer"] | None = None
    bore: Length | None = None
    flange: Id | None = None
