"""Does the parking brake hold the laden car on a grade?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from rules.checking import Judgement, Sheet, Verdict, check
from rules.checks.brake_parts import (
    at_least,
    effective_radius,
    known,
    out_of_range,
    spread,
    tyre_radius,
)
from rules.engineering import brakes
from rules.engineering.brake_balance import Axle, MassLayout
from rules.engineering.parking_brake import (
    MOST_HAND_FORCE,
    REQUIRED_GRADE,
    GradeHold,
    hold_on_grade,
    lever_clamp_force,
)
from rules.engineering.tolerance import Toleranced, extremes

FORMULA = (
    "torque = 2·mu·clamp·r or C*·push·r, clamp = 400 N · lever · arm · efficiency / 2; it and the "
    "tyres' grip must hold m·g·sin(atan 0.2), nose up and nose down"
)
SOURCE = (
    "UN R13-H Annex 3 paragraph 2.3: laden, 20 % grade, 400 N by hand (from memory); levers in "
    "series and statics (computed)"
)


@check("parking-brake-hold", ("caliper", "brake-disc", "brake-pad"),
       formula=FORMULA, source=SOURCE)
@out_of_range
def caliper_arm(sheet: Sheet) -> Judgement:
    """A caliper with a parking-brake arm."""
    if sheet.dimension("caliper", "parking_brake", optional=True) != "arm":
        return None
    clamp, friction = _pull(sheet, "caliper"), known(sheet, "brake-pad", "friction")
    return _disc(sheet, clamp, friction, effective_radius(sheet, "brake-disc", "brake-pad"))


@check("parking-caliper-hold", ("parking-caliper", "brake-disc"), formula=FORMULA, source=SOURCE)
@out_of_range
def own_caliper(sheet: Sheet) -> Judgement:
    """A caliper of its own for the parking brake."""
    clamp, friction = _pull(sheet, "parking-caliper"), known(sheet, "parking-caliper", "friction")
    radius = effective_radius(
        sheet, "brake-disc", "parking-caliper", "pad_height", "pad_edge_gap"
    )
    return _disc(sheet, clamp, friction, radius)


@check("parking-shoes-hold", ("brake-shoe", "brake-drum"), formula=FORMULA, source=SOURCE)
@out_of_range
def shoes(sheet: Sheet) -> Judgement:
    """Shoes that a cable spreads."""
    push, factor = _pull(sheet, "brake-shoe"), known(sheet, "brake-shoe", "brake_factor")
    drum = known(sheet, "brake-drum", "diameter")
    if push is None or factor is None or drum is None:
        return _hold(sheet, None)
    return _hold(sheet, extremes(brakes.drum_torque, push, factor, drum))


def _pull(sheet: Sheet, role: str) -> Toleranced | None:
    """Force in N that the lever, pulled as hard as the rule allows, gives one brake."""
    gain = known(sheet, role, "arm_gain")
    lever, efficiency = (
        sheet.fact(f"parking-brake.{name}") for name in ("lever_ratio", "efficiency")
    )
    if gain is None or lever is None or efficiency is None:
        return None
    return extremes(
        lambda arm: lever_clamp_force(MOST_HAND_FORCE, lever, arm, efficiency), gain
    )


def _disc(
    sheet: Sheet, clamp: Toleranced | None, friction: Toleranced | None,
    radius: Toleranced | None,
) -> Judgement:
    if clamp is None or friction is None or radius is None:
        return _hold(sheet, None)
    return _hold(sheet, extremes(brakes.disc_torque, clamp, friction, radius))


def _hold(sheet: Sheet, torque: Toleranced | None) -> Judgement:
    layout, axle = _laden(sheet), sheet.axle
    radius = tyre_radius(sheet, axle) if axle else None
    if radius is None:
        sheet.missing.append(f"size of the {axle or 'braked'} tyre")
    if torque is None or layout is None or radius is None or axle is None:
        return sheet.not_known()
    sheet.note("torque each parking brake holds", f"{torque.nominal:.0f} N·m")
    return list(_verdicts(sheet, layout, axle, torque, radius))


def _verdicts(
    sheet: Sheet, layout: tuple[Toleranced, ...], axle: Axle, torque: Toleranced, radius: float
) -> Iterator[Verdict]:
    """The brake itself, and the grip of its tyres nose up and nose down."""
    car = _Parked(axle, radius, float(sheet.limit("road_grip")))
    tried = "whether the laden car holds on a 20 % grade"
    spare = extremes(lambda *given: car.hold(True, *given).torque_spare, *layout, torque)
    yield at_least(
        sheet, "torque to spare at each wheel on a 20 % grade, laden", spare, 0.0, "N·m",
        digits=0, aspect="brake", measure=tried,
    )
    ends = {
        "nose up": extremes(lambda *given: car.hold(True, *given).grip_spare, *layout, torque),
        "nose down": extremes(lambda *given: car.hold(False, *given).grip_spare, *layout, torque),
    }
    for name, left in ends.items():
        yield at_least(
            sheet, f"grip to spare on a 20 % grade, laden, {name}", left, 0.0, "", digits=2,
            aspect=name, measure=tried,
        )


class _Parked(NamedTuple):
    """A car held by one axle: radius of its tyres in mm, grip of the road."""

    axle: Axle
    radius: float
    grip: float

    def hold(
        self, nose_up: bool, front: float, rear: float, base: float, height: float, torque: float
    ) -> GradeHold:
        """What holds it on the required grade, with axle masses in kg and lengths in mm."""
        layout = MassLayout.from_axles(front, rear, base, height)
        return hold_on_grade(
            layout, REQUIRED_GRADE, self.axle, nose_up, torque, self.radius, self.grip
        )


def _laden(sheet: Sheet) -> tuple[Toleranced, ...] | None:
    """Axle masses, wheelbase and height of the centre of mass of the laden car, or None."""
    names = ("laden_front", "laden_rear", "wheelbase", "laden_centre_height")
    found = [sheet.fact(f"layout.{name}") for name in names]
    return None if None in found else tuple(map(spread, found))
