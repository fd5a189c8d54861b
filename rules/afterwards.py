"""What to see to once the work is done, by what was touched: before the first start, at it, before
the road, and after the first kilometres.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from rules.operations import Operations
from rules.plan_models import Todo, TodoList

PRACTICE = "common practice, no source"
RETORQUE = (
    "BS AU 50-2 Section 7a:1995, as cited by service pages: after 40 to 80 km, or 30 minutes; "
    "50 km and 100 km are common practice"
)
SUPPORTS = "US Army TB 43-0156 (support stands) and workshop-manual safety precautions"

HYDRAULIC = frozenset({
    "caliper", "master-cylinder", "wheel-cylinder", "balance-valve", "brake-hose", "brake-pipe",
    "brake-fluid",
})
FRICTION = frozenset({"brake-disc", "brake-pad", "brake-drum", "brake-shoe"})
PARKING = frozenset({"parking-caliper", "brake-drum", "brake-shoe", "wheel-cylinder"})
BRAKES = HYDRAULIC | FRICTION | PARKING | {"caliper-bracket"}
SUSPENSION = frozenset({"damper", "spring", "helper-spring", "top-mount", "link"})
WHEELS = frozenset({
    "wheel", "tyre", "wheel-nut", "wheel-stud", "spacer", "centring-ring", "pressure-sensor",
})
AT_THE_WHEELS = WHEELS | SUSPENSION | BRAKES - {"master-cylinder", "balance-valve", "brake-fluid"}
"""Kinds whose work takes the wheels off."""
SENSORS = frozenset({"pressure-sensor", "sensor-service"})
OIL = frozenset({"engine", "oil", "gearbox"})
FUEL = frozenset({"engine", "fuel-pump", "fuel-line", "injector"})
COOLING = frozenset({"engine", "radiator", "coolant-hose", "coolant"})
CHARGING = frozenset({"engine", "supply-wire", "harness", "control-unit"})
THROTTLE = frozenset({"engine", "control-unit", "harness"})
EXHAUST = frozenset({"engine", "exhaust"})
DRIVE = frozenset({"engine", "gearbox", "clutch", "flywheel", "drive-shaft", "adapter-plate"})
MOUNTED = frozenset({"engine", "gearbox", "engine-mount", "drive-shaft"})

GROUND, START, ROAD, LATER = (
    "Before the wheels touch the ground", "First start", "Before the road",
    "After 50 km, at the latest after 100 km",
)


class Reminder(NamedTuple):
    """One line of a list, said when one of these kinds of part was touched."""

    when: str
    text: str
    kinds: frozenset[str]
    source: str = PRACTICE


REMINDERS = (
    Reminder(GROUND, "Bleed the brakes until no bubbles come and the pedal is firm.", HYDRAULIC),
    Reminder(GROUND, "Press the pedal with full effort and look for leaks at each joint.",
             HYDRAULIC),
    Reminder(GROUND, "Pump the pedal until the friction faces touch, before the car moves.",
             FRICTION | HYDRAULIC),
    Reminder(GROUND, "Turn lock to lock at full droop and full bump: no hose stretches or rubs.",
             frozenset({"brake-hose", "caliper"}) | SUSPENSION | {"wheel", "tyre"}),
    Reminder(GROUND, "Lower the car from rated stands, never from a jack alone.",
             AT_THE_WHEELS | MOUNTED, SUPPORTS),
    Reminder(GROUND, "Tighten the wheel nuts in a cross pattern with a calibrated wrench, to the "
             "vehicle maker's torque.", AT_THE_WHEELS, "wheel-security guidance pages"),
    Reminder(START, "Crank without fuel and ignition until the oil pressure rises.", OIL),
    Reminder(START, "Raise the fuel pressure and look for leaks before cranking.", FUEL),
    Reminder(START, "At idle look for leaks of oil, coolant and fuel.", OIL | FUEL | COOLING),
    Reminder(START, "Read the charging voltage with everything switched on.", CHARGING),
    Reminder(START, "Vent the cooling system and see each fan start and stop.", COOLING),
    Reminder(START, "See that the throttle returns by itself, engine off and on.", THROTTLE),
    Reminder(START, "Listen for leaks at each exhaust joint while it is cold.", EXHAUST),
    Reminder(START, "After one heat cycle, once cold: levels and joints again.",
             OIL | FUEL | COOLING | EXHAUST),
    Reminder(ROAD, "Have the brakes proved by a slow stop on level ground, then by harder ones.",
             BRAKES),
    Reminder(ROAD, "Bed in pads and discs: repeated moderate stops from 50 to 80 km/h with cooling "
             "between; never held at a standstill while hot.", FRICTION),
    Reminder(ROAD, "Prove the parking brake on a slope, with the wheels chocked.", PARKING),
    Reminder(ROAD, "Have toe and camber measured, and the headlamps set.", SUSPENSION),
    Reminder(ROAD, "See that the tyre-pressure lamp goes out.", SENSORS | {"wheel", "tyre"}),
    Reminder(ROAD, "Try the clutch and every gear before the car meets traffic.", DRIVE),
    Reminder(LATER, "Check the torque of the wheel nuts, without loosening them first.",
             AT_THE_WHEELS, RETORQUE),
    Reminder(LATER, "Look at hoses, pipes and bleed screws for damp, and at the fluid level.",
             HYDRAULIC),
    Reminder(LATER, "Measure the ride height again: springs settle. Then toe, and the top nuts.",
             SUSPENSION),
    Reminder(LATER, "Look for traces of rubbing inside the arches and at the hoses.",
             frozenset({"wheel", "tyre", "spacer"}) | SUSPENSION),
    Reminder(LATER, "Check levels with the engine cold, and all mounts, clips and joints.",
             OIL | COOLING | FUEL | MOUNTED),
    Reminder(LATER, "Check exhaust joints and the gap to the floor.", EXHAUST),
)


def todo_lists(operations: Operations) -> tuple[TodoList, ...]:
    """The lists of a package, each reminder with what was touched."""
    touched = dict(_touched(operations))
    found: dict[str, list[Todo]] = {}
    for reminder in REMINDERS:
        names = [name for name, kind in touched.items() if kind in reminder.kinds]
        if names:
            found.setdefault(reminder.when, []).append(
                Todo(text=reminder.text, because=_because(names), source=reminder.source)
            )
    return tuple(TodoList(name=name, items=tuple(items)) for name, items in found.items())


def _touched(operations: Operations) -> Iterator[tuple[str, str]]:
    """Every part that comes on or off, by name, with its kind."""
    for line in operations.new_lines:
        yield line.name, line.kind
    for off in operations.package.comes_off:
        yield off.name, operations.catalogue.parts[off.part].kind


def _because(names: list[str], most: int = 2) -> str:
    more = len(names) - most
    return f"touched: {', '.join(names[:most])}{f' and {more} more' if more > 0 else ''}"
