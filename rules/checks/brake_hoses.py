"""Is a brake hose long enough over travel and lock, and strong enough for the pedal?"""

from __future__ import annotations

from rules.checking import Judgement, Sheet, Verdict, check
from rules.checks.brake_parts import at_least, known, out_of_range
from rules.checks.brake_pedal import push
from rules.engineering.brake_hoses import HoseReach, HoseRoute, Point, hose_bow, hose_reach
from rules.engineering.brake_lines import hose_burst_pressure, hose_swelling
from rules.engineering.tolerance import exactly, extremes

LAST_POINT = 103.4
"""bar: the last pressure at which the swelling of hoses is tabulated."""


@check(
    "hose-reach", ("brake-hose",),
    formula="length - longest straight distance of its ends over all travel and lock >= slack; "
            "the wheel's end turns about an upright axis and moves straight up and down",
    source="plane and space geometry (computed); slack: the shop's limit (common practice, no "
           "source)",
)
@out_of_range
def reach(sheet: Sheet) -> Judgement:
    """The hose may neither stretch at full droop and lock nor stray far at its shortest."""
    length, found = known(sheet, "brake-hose", "length"), _reach(sheet)
    if length is None or found is None:
        return sheet.not_known()
    sheet.note("longest span", f"{found.longest:.0f} mm, wheel {_moved(found)}")
    slack = extremes(lambda whole, span: whole - span, length, exactly(found.longest))
    if found.shortest < length.nominal:
        bow = hose_bow(length.nominal, found.shortest)
        sheet.note("farthest the hose can stray from the line of its ends", f"{bow:.0f} mm")
    return at_least(
        sheet, f"{sheet.name('brake-hose')}, slack at the longest span", slack,
        sheet.limit("hose_slack").value, "mm", measure="length of the hose",
    )


def _moved(found: HoseReach) -> str:
    rise = f"{abs(found.longest_rise):.0f} mm {'up' if found.longest_rise > 0 else 'down'}"
    return f"{rise}, steered {found.longest_steer:.0f}°" if found.longest_steer else rise


def _reach(sheet: Sheet) -> HoseReach | None:
    """Longest and shortest span of the hose's ends on this axle; None when not known."""
    names = ("body_x", "body_y", "body_z", "wheel_x", "wheel_y", "wheel_z")
    ends = [sheet.fact(f"hose-route.{name}") for name in names]
    moves = [sheet.fact(f"hose-route.{name}") for name in ("compression", "droop", "lock")]
    steers = moves[2] is None or moves[2].value > 0.0
    axis = [
        sheet.fact(f"hose-route.{name}", optional=not steers) for name in ("steer_x", "steer_y")
    ]
    if None in (*ends, *moves) or (steers and None in axis):
        return None
    values = [end.value for end in ends]
    turns = [place.value if place else 0.0 for place in axis]
    route = HoseRoute(Point(*values[:3]), Point(*values[3:]), *turns)
    compression, droop, lock = moves
    return hose_reach(route, compression.high, droop.high, lock.high)


@check(
    "hose-pressure", ("brake-hose", "master-cylinder"),
    formula="least burst pressure of its bore - line pressure with 500 N on the pedal >= 0",
    source="FMVSS 106: 5,000 psi (published, read in secondary texts), 7,000 psi to 1/8 in bore "
           "and swelling by Table I (from memory)",
)
@out_of_range
def pressure(sheet: Sheet) -> Verdict | None:
    """The pedal must not reach what a hose of this bore has to stand. Nothing where not known."""
    bore, length = known(sheet, "brake-hose", "bore"), known(sheet, "brake-hose", "length")
    across, pushing = known(sheet, "master-cylinder", "bore"), push(sheet)
    if bore is None or length is None or across is None or pushing is None:
        return None
    found = extremes(lambda diameter: -pushing.pressure(diameter, boosted=True), across)
    burst = hose_burst_pressure(bore.nominal)
    tabulated = min(-found.nominal, LAST_POINT)
    swelling = hose_swelling(bore.nominal, length.nominal, tabulated) / 1000.0
    sheet.note(f"most fluid it may take up at {tabulated:.0f} bar", f"{swelling:.2f} cm³")
    return at_least(
        sheet, f"{sheet.name('brake-hose')}, least burst pressure above the most line pressure",
        extremes(lambda line: burst + line, found), 0.0, "bar", digits=0,
        measure="line pressure at full effort",
    )
