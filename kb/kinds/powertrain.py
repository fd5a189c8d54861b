"""Engines and what an engine swap calls for."""

from __future__ import annotations

from typing import Literal

from kb.dimensions import Dimensions
from kb.statements import Id
from kb.texts import Count, Number
from kb.units import (
    Consumption,
    Current,
    Flow,
    Force,
    Length,
    Mass,
    Power,
    Pressure,
    Rotation,
    Torque,
    Volume,
)

_FUEL = (
    "Fuel: relieve the pressure and disconnect the battery before a line is opened; no flame or "
    "spark near, and check every joint under pressure before the first start."
)
_LIFTING = "Lifting: use rated gear and points; nobody under a hanging engine."


class Engine(Dimensions, kind="engine"):
    """An engine, as delivered.

    `power` is reached at `power_speed`, burning `consumption`; `fuel_pressure` is the difference
    across its injectors. `oil` and `coolant` are what it holds in use, filter and radiator with it.
    """

    caution = _LIFTING
    stage = "engine-bay"
    fitted_after = ("adapter-plate", "flywheel", "clutch")

    mass: Mass | None = None
    power: Power | None = None
    torque: Torque | None = None
    bell_pattern: Id | None = None
    crank_bolts: Count | None = None
    power_speed: Rotation | None = None
    consumption: Consumption | None = None
    injectors: Count | None = None
    fuel_pressure: Pressure | None = None
    oil: Volume | None = None
    coolant: Volume | None = None


class Gearbox(Dimensions, kind="gearbox"):
    """A gearbox. Ratios are input turns for one output turn; a final drive inside counts apart."""

    caution = _LIFTING
    stage = "engine-bay"
    fitted_after = ("clutch",)

    bell_pattern: Id | None = None
    spline: Id | None = None
    torque: Torque | None = None
    first_gear: Number | None = None
    final_drive: Number | None = None


class Adapter(Dimensions, kind="adapter-plate"):
    """A plate between an engine and a gearbox of another pattern."""

    stage = "engine-bay"

    engine_pattern: Id | None = None
    gearbox_pattern: Id | None = None
    thickness: Length | None = None


class EngineMount(Dimensions, kind="engine-mount"):
    """An engine or gearbox mount."""

    caution = _LIFTING
    stage = "engine-bay"


class Flywheel(Dimensions, kind="flywheel"):
    """A flywheel."""

    stage = "engine-bay"
    fitted_after = ("adapter-plate",)

    crank_bolts: Count | None = None
    clutch_diameter: Length | None = None


class Clutch(Dimensions, kind="clutch"):
    """Cover and driven plate. `faces` rub: two for each driven plate.

    What it holds follows from clamp, friction and lining where all are known, else from `torque`.
    """

    stage = "engine-bay"
    fitted_after = ("flywheel",)

    diameter: Length | None = None
    spline: Id | None = None
    torque: Torque | None = None
    clamp: Force | None = None
    friction: Number | None = None
    faces: Count | None = None
    lining_outer: Length | None = None
    lining_inner: Length | None = None


class DriveShaft(Dimensions, kind="drive-shaft"):
    """A shaft from gearbox to hub. An inner diameter of 0 mm is a solid bar.

    What it carries is stated as `torque`, or follows from its section and `allowed_shear`.
    """

    stage = "engine-bay"
    fitted_after = ("gearbox", "engine")

    gearbox_spline: Id | None = None
    hub_spline: Id | None = None
    torque: Torque | None = None
    length: Length | None = None
    outer_diameter: Length | None = None
    inner_diameter: Length | None = None
    allowed_shear: Pressure | None = None


class FuelPump(Dimensions, kind="fuel-pump"):
    """A fuel pump. `flow` is what it gives at `pressure`."""

    caution = _FUEL
    stage = "engine-bay"

    flow: Flow | None = None
    pressure: Pressure | None = None
    current: Current | None = None


class FuelLine(Dimensions, kind="fuel-line"):
    """A fuel hose or pipe."""

    caution = _FUEL
    stage = "engine-bay"
    fitted_after = ("fuel-pump",)

    bore: Length | None = None


class Injector(Dimensions, kind="injector"):
    """A fuel injector. `flow` is what it passes, wide open, at `flow_pressure`."""

    caution = _FUEL
    stage = "engine-bay"
    fitted_after = ("engine",)

    flow: Flow | None = None
    flow_pressure: Pressure | None = None
    plug: Id | None = None


class Radiator(Dimensions, kind="radiator"):
    """A radiator. `fan_current` is what the fan on it draws."""

    stage = "engine-bay"
    fitted_after = ("engine",)

    inlet: Length | None = None
    outlet: Length | None = None
    fan_current: Current | None = None


class CoolantHose(Dimensions, kind="coolant-hose"):
    """A coolant hose."""

    stage = "engine-bay"
    fitted_after = ("radiator", "engine")

    engine_end: Length | None = None
    radiator_end: Length | None = None


class Exhaust(Dimensions, kind="exhaust"):
    """A part of the exhaust: manifold, catalyst, pipe or silencer."""

    stage = "engine-bay"
    fitted_after = ("engine",)

    section: Literal["manifold", "catalyst", "pipe", "silencer"] | None = None
    bore: Length | None = None
    flange: Id | None = None
