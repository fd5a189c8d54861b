"""How hot discs and fluid get, and how much rubs on what beside stock."""

from __future__ import annotations

from typing import NamedTuple

from rules.checking import Judgement, Sheet, Verdict, check
from rules.checks.brake_parts import known, out_of_range, pad_ring, spread
from rules.engineering import brakes
from rules.engineering.brake_balance import MassLayout, ideal_front_share
from rules.engineering.brake_lines import FLUIDS, boiling_reserve, fluid_grade
from rules.engineering.tolerance import Toleranced, extremes

COLD = 100.0
"""°C: the hottest a brake still counts as cold, UN R13-H Annex 3 (from memory)."""
ROTATING = 1.05
"""Mass factor for wheels and driveline (common practice, no source)."""
STOP_RATE = 6.43 / brakes.STANDARD_GRAVITY
"""Braking rate of the Type-0 stop of UN R13-H Annex 3 (from memory)."""


@check(
    "disc-heat", ("brake-disc",),
    formula="end = 100 °C + share · 1.05·m·v²/2 / (ring mass · 480 J/(kg·K)); share of one disc = "
            "half the ideal share of its axle at 6.43 m/s²",
    source="Jindal, Machine Design, Ex. 23-5 p. 621 (textbook); start and rate of the stop: "
           "UN R13-H Annex 3 (from memory); the limit is common practice, no source",
)
@out_of_range
def disc_heat(sheet: Sheet) -> Judgement:
    """One stop of the laden car from the shop's speed must not take a disc past its limit.

    Nothing is said where the car's layout or the disc's ring mass is not known: this is about
    comfort and wear; what fails first, the fluid, has a check of its own.
    """
    ring, car = known(sheet, "brake-disc", "ring_mass"), _laden(sheet)
    if ring is None or car is None or sheet.axle is None:
        return None
    speed, most = sheet.limit("stop_speed"), sheet.limit("disc_temperature")
    stop = _Stop(sheet.axle == "front", speed.value)
    rise = extremes(stop.rise, *car, ring)
    sheet.note("rise of the disc in one stop", f"{rise.nominal:.0f} K")
    end, worst = COLD + rise.nominal, COLD + rise.high
    says = (
        f"one laden stop from {speed} takes {sheet.name('brake-disc')} to {end:.0f} °C, worst case "
        f"{worst:.0f} °C; the shop allows {most}"
    )
    numbers = {"margin": most.value - end, "worst_case": most.value - worst, "required": 0.0}
    return sheet.judge(worst <= most.value, says, unit="K", **numbers)


class _Stop(NamedTuple):
    """One stop: on the front axle or not, from `speed` km/h."""

    front: bool
    speed: float

    def rise(self, front: float, rear: float, base: float, height: float, ring: float) -> float:
        """Kelvin by which one disc warms; axle masses and ring in kg, lengths in mm."""
        layout = MassLayout.from_axles(front, rear, base, height)
        share = ideal_front_share(layout, STOP_RATE)
        energy = brakes.stop_energy(layout.mass, self.speed, rotating_factor=ROTATING)
        mine = share if self.front else 1.0 - share
        return brakes.disc_temperature_rise(energy, mine / 2.0, ring)


def _laden(sheet: Sheet) -> tuple[Toleranced, ...] | None:
    names = ("laden_front", "laden_rear", "wheelbase", "laden_centre_height")
    found = [sheet.fact(f"layout.{name}") for name in names]
    return None if None in found else tuple(map(spread, found))


@check(
    "pad-and-swept-area", ("brake-disc", "brake-pad"), informs=True,
    formula="swept = 2·pi·(ro² - ri²) for both faces; pad = area of its lining, or "
            "angle/2·(ro² - ri²); ro = disc radius - edge gap, ri = ro - pad height",
    source="geometry (computed); effective radii: Shigley, uniform wear and pressure (from memory)",
)
@out_of_range
def areas(sheet: Sheet) -> Verdict | None:
    """Information: what rubs on what, beside stock."""
    ring = pad_ring(sheet)
    if ring is None:
        return None
    swept, pad = brakes.swept_area(*ring) / 100.0, _pad_area(sheet, ring)
    before = _stock_swept(sheet)
    sheet.note("swept area, both faces", f"{swept:.0f} cm²" + _beside(swept, before))
    if pad is not None:
        sheet.note("lining of one pad", f"{pad:.1f} cm²" + _beside(pad, _stock_pad(sheet)))
    bedded, new = brakes.effective_radius_bedded(*ring), brakes.effective_radius_new(*ring)
    sheet.note("effective radius", f"{bedded:.1f} mm bedded, {new:.1f} mm new")
    says = f"the pads sweep {swept:.0f} cm² of the disc" + _beside(swept, before)
    return sheet.verdict("fits", says)


def _pad_area(sheet: Sheet, ring: brakes.PadRadii) -> float | None:
    """Lining of one pad in cm², as stated or as a sector of the ring; None when not known."""
    stated = sheet.dimension("brake-pad", "area", optional=True)
    if stated is not None:
        return float(stated.value) / 100.0
    angle = sheet.dimension("brake-pad", "angle", optional=True)
    return None if angle is None else brakes.pad_area(*ring, angle.value) / 100.0


def _stock_swept(sheet: Sheet) -> float | None:
    """Swept area in cm² of the stock parts on this axle; None when not known."""
    across, tall = sheet.stock("brake-disc", "diameter"), sheet.stock("brake-pad", "height")
    if across is None or tall is None:
        return None
    gap = sheet.stock("brake-pad", "edge_gap")
    ring = brakes.pad_radii(across.value, tall.value, gap.value if gap else 0.0)
    return brakes.swept_area(*ring) / 100.0


def _stock_pad(sheet: Sheet) -> float | None:
    stated = sheet.stock("brake-pad", "area")
    return None if stated is None else float(stated.value) / 100.0


def _beside(now: float, before: float | None) -> str:
    """A value beside that of the stock parts, in words."""
    return f", {now / before - 1.0:+.0%} on stock" if before else ""


@check(
    "fluid-boiling", ("brake-fluid",),
    formula="boiling point with 3.7 % water - hottest fluid in use >= 0",
    source="49 CFR 571.116 S5.1.2 (published, read in secondary texts) or the maker's figure; the "
           "hottest fluid is the shop's limit (common practice, no source)",
)
def fluid_boiling(sheet: Sheet) -> Verdict | None:
    """Aged fluid must not boil at the hottest it gets. Nothing is said of unclassed fluids."""
    grade, wet = (
        sheet.dimension("brake-fluid", "grade"),
        sheet.dimension("brake-fluid", "wet_boiling", optional=True),
    )
    if grade not in FLUIDS:
        return None
    hottest, named = sheet.limit("fluid_temperature"), fluid_grade(grade)
    reserve = boiling_reserve(named, hottest.value)
    sheet.note(f"least boiling points of {grade}",
               f"{named.dry_boiling:g} °C dry, {named.wet_boiling:g} °C wet")
    if wet is not None:
        reserve = wet.value - hottest.value
    says = f"with water in it {sheet.name('brake-fluid')} boils {reserve:.0f} K above {hottest}"
    return sheet.judge(
        reserve >= 0.0, says, margin=reserve, worst_case=reserve, required=0.0, unit="K",
        basis="computed" if wet is None else "maker",
    )
