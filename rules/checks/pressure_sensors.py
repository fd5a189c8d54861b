"""Does the car hear the sensor, and does it go into the wheel?"""

from __future__ import annotations

from kb.matching import same
from rules.checking import Sheet, Verdict, check

HOLE_PLAY = 0.4
"""How much larger than the valve the hole may be, mm. Common practice, no source."""


@check(
    "sensor-frequency", ("pressure-sensor",), mounts=("pressure-sensor",),
    formula="radio frequency of the sensor = frequency of the car's receiver",
    source="common practice, no source: the band follows the car's receiver, not the country",
)
def frequency(sheet: Sheet) -> Verdict:
    """The sensor must transmit on what the car's receiver listens to."""
    sensor = sheet.dimension("pressure-sensor", "frequency")
    receiver = sheet.fact("receiver.sensor_frequency")
    if sheet.missing:
        return sheet.not_known()
    if same(sensor, receiver):
        return sheet.judge(True, f"sensor and receiver are both on {sensor}")
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
