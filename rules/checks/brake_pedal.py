"""Does the pedal stay high and light enough: fluid against master cylinder, effort against stop."""

from __future__ import annotations

from typing import NamedTuple

from rules.checking import Judgement, Sheet, car_check
from rules.checks.brake_parts import (
    FRONT_DISC,
    MASTER,
    REAR_DISC,
    REAR_DRUM,
    Pistons,
    at_least,
    axle_torque,
    known,
    out_of_range,
    pistons,
    spread,
    tyre_radius,
)
from rules.engineering import brakes
from rules.engineering.tolerance import Toleranced, extremes

MOST_PEDAL_FORCE = 500.0
"""N on the pedal in the stops of UN R13-H Annex 3 (from memory)."""
SERVICE_RATE = 6.43
"""m/s² that UN R13-H Annex 3 asks of the service brake, engine disconnected (from memory)."""
FAILED_RATE = 2.44
"""m/s² that UN R13-H Annex 3 asks for after a failure, such as of the booster (from memory)."""
LARGEST_SHARE = 0.9
"""Of a stroke: a larger reserve than this is beyond what a bore can be worked out for."""

TRAVEL = (
    "stroke = sum(piston area x travel) / bore area, a floating caliper's piston travelling for "
    "both pads; reserve = stroke of the cylinder - stroke used"
)
TRAVEL_SOURCE = (
    "conservation of volume (computed); travel and reserve are the shop's limits (common practice, "
    "no source); swelling of hoses comes on top"
)
EFFORT = (
    "p = (F·i + assist) / A; braking rate = 2·sum(T / r) / laden weight, T = 2·mu·p·A·r or C*·p·A·r"
)
EFFORT_SOURCE = (
    "UN R13-H Annex 3: 6.43 m/s² with 500 N on the pedal, 2.44 m/s² with the booster out "
    "(from memory)"
)


@car_check("pedal-travel", (FRONT_DISC[0], REAR_DISC[0], *MASTER),
           formula=TRAVEL, source=TRAVEL_SOURCE)
@out_of_range
def travel(sheet: Sheet) -> Judgement:
    """More piston area takes more fluid, and so a larger master bore or a longer stroke."""
    rear = pistons(sheet, "rear caliper")
    return _travel(sheet, None if rear is None else _caliper_fluid(sheet, rear))


@car_check("pedal-travel-drums", (FRONT_DISC[0], REAR_DRUM[2], *MASTER),
           formula=TRAVEL, source=TRAVEL_SOURCE)
@out_of_range
def travel_drums(sheet: Sheet) -> Judgement:
    """The same with drums at the rear: two pistons in each wheel cylinder."""
    bore = known(sheet, "rear wheel-cylinder", "bore")
    return _travel(sheet, None if bore is None else _cylinder_fluid(sheet, bore))


def _caliper_fluid(sheet: Sheet, found: Pistons) -> Toleranced:
    """Fluid in mm³ for the two calipers of an axle; either sort moves two pads each."""
    moves = sheet.limit("piston_travel").value
    calipers, sides, gaps = 2, (2 if found.both_sides else 1), (1 if found.both_sides else 2)
    return Toleranced(*(
        calipers * sides * brakes.fluid_volume(found.at(end), moves * gaps)
        for end in ("low", "nominal", "high")
    ))


def _cylinder_fluid(sheet: Sheet, bore: Toleranced) -> Toleranced:
    """Fluid in mm³ for the two wheel cylinders of an axle."""
    moves = sheet.limit("shoe_travel").value
    return Toleranced(*(
        brakes.fluid_volume([diameter] * 4, moves)
        for diameter in (bore.low, bore.nominal, bore.high)
    ))


def _travel(sheet: Sheet, rear: Toleranced | None) -> Judgement:
    found = pistons(sheet, "front caliper")
    bore, stroke = (known(sheet, "master-cylinder", name) for name in ("bore", "stroke"))
    if found is None or rear is None or bore is None or stroke is None:
        return sheet.not_known()
    front = _caliper_fluid(sheet, found)

    def reserve(front: float, rear: float, bore: float, stroke: float) -> float:
        return brakes.pedal_travel(front + rear, bore, 1.0, stroke).reserve

    volume = front.nominal + rear.nominal
    _note_travel(sheet, volume, bore.nominal, stroke.nominal)
    return at_least(
        sheet, f"stroke of {sheet.name('master-cylinder')} left at full effort",
        extremes(reserve, front, rear, bore, stroke), sheet.limit("stroke_reserve").value, "mm",
        measure="bore and stroke of the master cylinder",
    )


def _note_travel(sheet: Sheet, volume: float, bore: float, stroke: float) -> None:
    ratio = sheet.fact("pedal.ratio", optional=True)
    used = brakes.pedal_travel(volume, bore, ratio or 1.0, stroke)
    sheet.note("fluid that all pistons take", f"{volume / 1000.0:.2f} cm³")
    left = f"{used.reserve_share:.0%} left"
    sheet.note("master-cylinder stroke used", f"{used.stroke:.1f} mm ({left})")
    if ratio is not None:
        sheet.note("pedal travel for it", f"{used.travel:.0f} mm")
    share = sheet.limit("stroke_reserve").value / stroke
    if share <= LARGEST_SHARE:
        least = brakes.least_master_bore(volume, stroke, share)
        sheet.note("least master bore for this stroke and reserve", f"{least:.1f} mm")


class Push(NamedTuple):
    """What the pedal and its booster do; lengths in mm, forces in N."""

    ratio: float
    gain: float
    assist: float

    def pressure(self, bore: float, boosted: bool) -> float:
        """Line pressure in bar at the most pedal force."""
        gain, assist = (self.gain, self.assist) if boosted else (1.0, 0.0)
        return brakes.line_pressure(MOST_PEDAL_FORCE, self.ratio, bore, gain, assist)


@car_check("pedal-effort", (*FRONT_DISC, *REAR_DISC, *MASTER),
           formula=EFFORT, source=EFFORT_SOURCE)
@out_of_range
def effort(sheet: Sheet) -> Judgement:
    """A larger master bore takes more foot: the car must still stop with 500 N on the pedal."""
    return _effort(sheet)


@car_check("pedal-effort-drums", (*FRONT_DISC, *REAR_DRUM, *MASTER),
           formula=EFFORT, source=EFFORT_SOURCE)
@out_of_range
def effort_drums(sheet: Sheet) -> Judgement:
    """The same with drums at the rear."""
    return _effort(sheet)


def _effort(sheet: Sheet) -> Judgement:
    force, pushing = _force_per_bar(sheet), push(sheet)
    bore, mass = known(sheet, "master-cylinder", "bore"), laden_mass(sheet)
    if force is None or pushing is None or bore is None or mass is None:
        return sheet.not_known()

    def rate(boosted: bool) -> Toleranced:
        return extremes(
            lambda per_bar, across, kg: per_bar * pushing.pressure(across, boosted) / kg,
            force, bore, mass,
        )

    sheet.note("line pressure at 500 N", f"{pushing.pressure(bore.nominal, True):.0f} bar")
    return [
        at_least(sheet, f"deceleration the brakes can give at 500 N, {name}", rate(boosted), least,
                 "m/s²", aspect=name, measure="deceleration on a brake tester, fully laden")
        for name, boosted, least in (
            ("booster working", True, SERVICE_RATE), ("booster out", False, FAILED_RATE),
        )
    ]


def push(sheet: Sheet) -> Push | None:
    """What the car's pedal and booster do, or None."""
    ratio, gain = sheet.fact("pedal.ratio"), sheet.fact("pedal.booster_gain")
    if ratio is None or gain is None:
        return None
    assist = sheet.fact("pedal.most_assist", optional=gain == 1.0)
    if assist is None:
        return Push(ratio, gain, 0.0) if gain == 1.0 else None
    return Push(ratio, gain, assist.value)


def _force_per_bar(sheet: Sheet) -> Toleranced | None:
    """Force in N at the road that both axles give per bar, a reducing valve counted in."""
    front, rear = axle_torque(sheet, "front"), axle_torque(sheet, "rear")
    share = sheet.fact("hydraulics.rear_pressure_share")
    radii = tyre_radius(sheet, "front"), tyre_radius(sheet, "rear")
    for axle, radius in zip(("front", "rear"), radii, strict=True):
        if radius is None:
            sheet.missing.append(f"size of the {axle} tyre")
    if front is None or rear is None or share is None or None in radii:
        return None
    of_front, of_rear = (radius / 1000.0 for radius in radii if radius)
    return extremes(lambda f, r: 2.0 * (f / of_front + r * share / of_rear), front, rear)


def laden_mass(sheet: Sheet) -> Toleranced | None:
    """Mass in kg of the car fully laden, or None."""
    parts = [sheet.fact(f"layout.{name}") for name in ("laden_front", "laden_rear")]
    if None in parts:
        return None
    return extremes(lambda front, rear: front + rear, *map(spread, parts))
