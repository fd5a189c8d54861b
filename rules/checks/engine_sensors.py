"""Does the harness reach every sensor that the control unit wants, with the right plugs?"""

from __future__ import annotations

from collections.abc import Mapping

from rules.checking import Sheet, Used, Verdict, check

_SOURCE = "common practice, no source: a plug goes into one form of socket only"


@check(
    "unit-plug", ("control-unit", "harness"),
    formula="plug of the harness = socket of the control unit", source=_SOURCE,
)
def unit_plug(sheet: Sheet) -> Verdict:
    """The harness must go into the control unit."""
    unit, loom = (
        sheet.dimension("control-unit", "harness_plug"), sheet.dimension("harness", "unit_plug"),
    )
    if sheet.missing:
        return sheet.not_known()
    if unit == loom:
        return sheet.judge(True, f"unit and harness both have the plug {unit}")
    return sheet.judge(False, f"the unit has the plug {unit}, the harness {loom}")


@check(
    "sensor-plugs", ("control-unit", "harness"), modifier="sensor-lead",
    formula="plugs of the harness, and of a lead added to it, cover the sensors of the unit",
    source=_SOURCE,
)
def sensor_plugs(sheet: Sheet) -> Verdict:
    """Every sensor the unit wants needs a plug of its form on the harness; what lacks is named."""
    wanted = sheet.dimension("control-unit", "sensors")
    plugs = dict(sheet.dimension("harness", "sensor_plugs") or {})
    if sheet.has("sensor-lead"):
        measures, plug = (sheet.dimension("sensor-lead", n) for n in ("measures", "plug"))
        plugs[measures] = plug
    if sheet.missing:
        return sheet.not_known()
    absent = [_words(sensor) for sensor in wanted if sensor not in plugs]
    other = [
        f"{_words(sensor)} ({plugs[sensor]}, not {plug})"
        for sensor, plug in wanted.items() if plugs.get(sensor, plug) != plug
    ]
    if not absent and not other:
        return sheet.judge(True, f"all {len(wanted)} sensors of the unit have their plug")
    says = [f"no plug for {' and '.join(absent)}"] if absent else []
    if other:
        says.append(f"another plug for {' and '.join(other)}")
    return sheet.judge(False, f"{sheet.name('harness')} has {' and '.join(says)}")


@check(
    "sensor-on-harness", ("control-unit", "harness", "sensor"),
    formula="plug of the sensor = plug of the harness for what it measures", source=_SOURCE,
)
def sensor_on_harness(sheet: Sheet) -> Verdict | None:
    """A sensor the unit wants must have the plug that the harness has for it."""
    measures, plug = (sheet.dimension("sensor", name) for name in ("measures", "plug"))
    wanted = _listed(sheet, "control-unit", "sensors")
    plugs = _listed(sheet, "harness", "sensor_plugs")
    if sheet.missing:
        return sheet.not_known()
    if measures not in wanted or measures not in plugs:
        return None  # not read by this unit; or named by the check of the harness
    sheet.values.append(Used(
        f"plug of {sheet.name('harness')} for {_words(measures)}", plugs[measures], "catalogue"
    ))
    if plug == plugs[measures]:
        return sheet.judge(True, f"sensor and harness both have the plug {plug}")
    return sheet.judge(
        False, f"{sheet.name('sensor')} has the plug {plug}, the harness has {plugs[measures]} "
        f"for {_words(measures)}",
    )


def _listed(sheet: Sheet, role: str, name: str) -> Mapping[str, str]:
    """A list of plugs, of which only the one compared goes on the sheet; noted when missing."""
    found: Mapping[str, str] | None = getattr(sheet.parts[role][1].dimensions, name)
    if found is None:
        sheet.missing.append(f"{name.replace('_', ' ')} of {sheet.name(role)}")
    return found or {}


def _words(sensor: str) -> str:
    return sensor.replace("-", " ")
