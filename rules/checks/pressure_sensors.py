"""Must the car have pressure sensors, does it hear them, do they go into the wheel, and is it
worth moving the old ones over?
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from fractions import Fraction

from kb.entries import Part
from kb.graph import graph_of, key_of, node
from kb.matching import same
from rules.checking import Sheet, Verdict, check
from rules.engineering.pressure_sensors import (
    eu_warning_pressure,
    same_band,
    sensors_required,
    us_warning_pressure,
)

HOLE_PLAY = 0.4
"""How much larger than the valve the hole may be, mm. Common practice, no source."""

_RULES = "70 FR 18136 (US) and Regulation (EC) 661/2009 (EU); dates partly secondary or from memory"


@check(
    "sensors-required", ("wheel",),
    formula="first and last day of the model year against the days from which cars had to warn",
    source=_RULES,
)
def required(sheet: Sheet) -> Verdict | None:
    """Whether a car of this year has to warn of low pressure, and so each new wheel a sensor."""
    rule = sheet.fact("receiver.rule", optional=True)
    if rule is None:
        return None
    year = sheet.baseline.year
    found = {sensors_required(rule, date(year, *day)) for day in ((1, 1), (12, 31))}
    must = found.pop() if len(found) == 1 else "perhaps"
    sheet.note("model year", str(year))
    if must == "no":
        return sheet.judge(True, f"a car of {year} did not have to warn of low pressure ({rule})")
    duty = "has to" if must == "yes" else "may have to"
    says = f"a car of {year} {duty} warn of low pressure ({rule})"
    if sheet.fact("receiver.by_wheel_speed", optional=True):
        return sheet.judge(True, f"{says}: it compares wheel speeds and needs no sensor")
    if sheet.fact("receiver.sensor_frequency", optional=True):
        return sheet.judge(True, f"{says}: each wheel needs a sensor, moved over or new")
    return sheet.verdict(
        "not_known", f"{says}; how it does is not in the catalogue",
        measure=("whether this car has sensors in its wheels",),
    )


@check(
    "low-pressure-warning", ("pressure-sensor", "tyre"), informs=True,
    formula="US: placard pressure · 0.75, at least 1.4 bar (1.6 for extra load); EU: pressure of "
            "the warm tyre · 0.8",
    source="FMVSS 138, 70 FR 18136 (floor from memory); UN R141 paragraph 5 (from memory)",
)
def warning(sheet: Sheet) -> Verdict | None:
    """Information: the pressure at which the car has to warn."""
    rule = sheet.fact("receiver.rule", optional=True)
    placard = sheet.fact("plate.tyre_pressure", optional=True)
    size = sheet.dimension("tyre", "size", optional=True)
    if None in (rule, placard, size):
        return None
    if rule == "us":
        at = us_warning_pressure(placard.value, "extra" if size.extra_load else "standard")
        return sheet.judge(True, f"the placard asks for {placard}: it warns at {at:.2f} bar")
    at = eu_warning_pressure(placard.value)
    return sheet.judge(True, f"a tyre at {placard} warm: it warns at {at:.2f} bar")


@check(
    "sensor-frequency", ("pressure-sensor",), mounts=("pressure-sensor",),
    formula="radio frequencies of sensor and receiver less than 0.5 MHz apart",
    source="common practice, no source: the band follows the car's receiver, not the country",
)
def frequency(sheet: Sheet) -> Verdict:
    """The sensor must transmit on what the car's receiver listens to."""
    sensor = sheet.dimension("pressure-sensor", "frequency")
    receiver = sheet.fact("receiver.sensor_frequency")
    if sheet.missing:
        return sheet.not_known()
    if same_band(sensor.value, receiver.value):
        return sheet.judge(True, f"the sensor is on {sensor}, the car listens on {receiver}")
    return sheet.judge(False, f"the sensor is on {sensor}, the car listens on {receiver}")


@check(
    "sensor-valve-hole", ("pressure-sensor", "wheel"),
    formula="0 <= valve hole of the wheel - valve diameter of the sensor <= 0.4 mm",
    source="common practice, no source",
)
def valve_hole(sheet: Sheet) -> Verdict:
    """The sensor's valve must suit the hole in the rim."""
    valve = sheet.dimension("pressure-sensor", "valve_hole")
    hole = sheet.dimension("wheel", "valve_hole")
    if sheet.missing:
        return sheet.not_known()
    gap = hole.value - valve.value
    margin = min(gap, HOLE_PLAY - gap)
    fits = margin >= 0 or same(margin, 0.0)
    says = f"the valve for a {valve} hole in a hole of {hole}"
    worst = min(hole.low - valve.high, HOLE_PLAY - (hole.high - valve.low))
    return sheet.judge(fits, says, margin=margin, required=0.0, worst_case=worst, unit="mm")


@check(
    "sensor-reuse", ("wheel", "pressure-sensor"), informs=True,
    formula="price of the cheapest new sensor - price of the cheapest service part, per wheel",
    source="prices of the catalogue; common practice, no source: battery and sealing parts age",
)
def reuse(sheet: Sheet) -> Verdict | None:
    """Information: what moving a stock sensor to a new wheel saves, and what it means."""
    if not sheet.is_stock("pressure-sensor"):
        return None
    service, new = _cheapest(sheet, "sensor-service"), _cheapest(sheet, "pressure-sensor")
    if service is None or new is None:
        return None
    currency = sheet.catalogue.header.currency
    (low, renewed), (high, bought) = service, new
    sheet.note(f"moved over with {renewed}, per wheel", f"{low / 100:.2f} {currency}")
    sheet.note(f"new, {bought}, per wheel", f"{high / 100:.2f} {currency}")
    return sheet.judge(
        True, f"moving the sensor over saves {(high - low) / 100:.2f} {currency} a wheel and keeps "
        "its old battery; a new one has to be taught to the car",
    )


_MUST_MATCH = {"sensor-service": ("valve",), "pressure-sensor": ("frequency", "valve_hole")}
"""The dimensions in which a part that goes with or in place of a sensor has to match it."""


def _cheapest(sheet: Sheet, kind: str) -> tuple[float, str] | None:
    """Price in cents and name of the cheapest such part that could stand in, or None."""
    found = [
        (float(Fraction(part.price.cents) / part.pack.value), part.name)
        for part in _suitable(sheet, kind) if part.price and part.orderable
    ]
    return min(found, default=None)


def _suitable(sheet: Sheet, kind: str) -> Iterator[Part]:
    """Parts of a kind for this car that match the stock sensor in what must match."""
    sensor = sheet.parts["pressure-sensor"][1].dimensions
    for edge in graph_of(sheet.catalogue).into(node("kind", kind), "is"):
        part = sheet.catalogue.parts[key_of(edge.node)]
        on_car = not part.fits or any(map(sheet.baseline.applies, part.fits))
        if on_car and all(
            same(getattr(part.dimensions, name), getattr(sensor, name))
            for name in _MUST_MATCH[kind]
        ):
            yield part
