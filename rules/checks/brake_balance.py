"""Do front and rear brakes go together: which axle locks first, and how much of the grip is used?

Judged for the car as driven on the scales, and fully laden where that is known.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from rules.checking import Judgement, Sheet, Verdict, car_check
from rules.checks.brake_parts import (
    FRONT_DISC,
    REAR_DISC,
    REAR_DRUM,
    TYRES,
    at_least,
    axle_torque,
    known,
    out_of_range,
    spread,
    tyre_radius,
)
from rules.engineering.brake_balance import (
    ORDER_RANGE,
    MassLayout,
    check_adhesion_rule,
    critical_rate,
    first_to_lock,
    grip_used,
    ideal_forces,
    ideal_front_share,
    installed_front_share,
    rate_before_lock,
)
from rules.engineering.brakes import STANDARD_GRAVITY, stopping_distance
from rules.engineering.tolerance import Toleranced, exactly, extremes

FORMULA = (
    "front share = Tf/rf / (Tf/rf + Tr/rr) at one line pressure, T = 2·mu·p·A·r or C*·p·A·r; "
    "both axles lock together at z = (share - lr/L) / (h/L)"
)
SOURCE = (
    "UN R13-H Annex 5, category M1: front axle first from z 0.15 to 0.80, z >= 0.1 + 0.7·(k - 0.2) "
    "for k 0.2 to 0.8 (from memory); Bevan, The Theory of Machines, Ch. 8 Ex. 6 (textbook)"
)
SAMPLE_RATE = 0.6
"""Braking rate for which the sheet shows the ideal forces: a hard stop on a dry road."""
TYRE_ROUNDING = 0.005
"""Share by which front and rear tyres may differ in size and still count as a pair."""


@dataclass(frozen=True)
class Loading:
    """One state of load: front and rear axle mass in kg, height of the centre of mass in mm."""

    name: str
    wheelbase: float
    inputs: tuple[Toleranced, Toleranced, Toleranced]

    def layout(self, front: float, rear: float, height: float) -> MassLayout:
        """The car with these masses in kg on its axles and this height in mm."""
        return MassLayout.from_axles(front, rear, self.wheelbase, height)

    @property
    def nominal(self) -> MassLayout:
        """The car as stated, without tolerances."""
        front, rear, height = self.inputs
        return self.layout(front.nominal, rear.nominal, height.nominal)


@car_check("brake-balance", (*FRONT_DISC, *REAR_DISC), formula=FORMULA, source=SOURCE,
           modifier="balance-valve")
@out_of_range
def discs(sheet: Sheet) -> Judgement:
    """Disc brakes on both axles, with tyres as the factory paired them."""
    return _judge(sheet)


@car_check("brake-balance-drums", (*FRONT_DISC, *REAR_DRUM), formula=FORMULA, source=SOURCE,
           modifier="balance-valve")
@out_of_range
def drums(sheet: Sheet) -> Judgement:
    """Drums at the rear."""
    return _judge(sheet)


@car_check("brake-balance-stated", FRONT_DISC, formula=FORMULA, source=SOURCE,
           modifier="balance-valve")
@out_of_range
def stated(sheet: Sheet) -> Judgement:
    """Rear brakes that are not in the catalogue, known from a brake tester."""
    return None if _rear_in_catalogue(sheet) else _judge(sheet)


@car_check("brake-balance-tyres", (*FRONT_DISC, *REAR_DISC, *TYRES), formula=FORMULA, source=SOURCE,
           modifier="balance-valve")
@out_of_range
def tyres(sheet: Sheet) -> Judgement:
    """New tyres whose sizes front and rear stand to each other otherwise than the factory's."""
    front, rear = tyre_radius(sheet, "front"), tyre_radius(sheet, "rear")
    if front is None or rear is None or abs(front / rear - 1.0) <= TYRE_ROUNDING:
        return None
    return _judge(sheet)


def _rear_in_catalogue(sheet: Sheet) -> bool:
    """Whether the car's own rear brakes are in the catalogue, so that another check judges."""
    return any(
        sheet.catalogue.parts[part].kind in ("caliper", "wheel-cylinder")
        and sheet.baseline.places[place].axle == "rear"
        for place, part in sheet.baseline.fitted.items()
    )


@dataclass(frozen=True)
class Balance:
    """Front share of the brake force, and the states of load it is judged in."""

    front_share: Toleranced
    loadings: tuple[Loading, ...]


def _judge(sheet: Sheet) -> Judgement:
    balance = balance_of(sheet)
    if balance is None:
        return sheet.not_known()
    return [
        verdict for loading in balance.loadings
        for verdict in _loaded(sheet, loading, balance.front_share)
    ]


def balance_of(sheet: Sheet) -> Balance | None:
    """How the brakes on a sheet share the force; None, and noted, when something is not known.

    Raises ValueError where the parts cannot work together.
    """
    rear = _rear_torque(sheet)
    front, loadings = axle_torque(sheet, "front"), _loadings(sheet)
    passed = _rear_share(sheet)
    if front is None or rear is None or passed is None or not loadings:
        return None
    radii = tyre_radius(sheet, "front"), tyre_radius(sheet, "rear")
    pair = (radii[0], radii[1]) if radii[0] and radii[1] else (1.0, 1.0)

    def share(front_torque: float, rear_torque: float, reaching: float) -> float:
        return installed_front_share(front_torque, rear_torque * reaching, *pair)

    sheet.note("front torque of a wheel per bar", f"{front.nominal:.2f} N·m")
    sheet.note("rear torque of a wheel per bar of its own pressure", f"{rear.nominal:.2f} N·m")
    if sheet.has("balance-valve"):
        setting = _setting(partial(share, front.low, rear.high), passed, loadings)
        sheet.note("balance valve set so that the rear gets", f"{setting:.0%} of the pressure")
        passed = exactly(setting)
    front_share = extremes(share, front, rear, passed)
    sheet.note("front share of the brake force", f"{front_share.nominal:.3f}")
    return Balance(front_share, tuple(loadings))


def _rear_torque(sheet: Sheet) -> Toleranced | None:
    """Torque in N·m of one rear wheel per bar, of the parts compared or from a brake tester."""
    if sheet.has("rear caliper") or sheet.has("rear wheel-cylinder"):
        return axle_torque(sheet, "rear")
    force, radius = sheet.fact("rear-brake.force_per_bar"), tyre_radius(sheet, "rear")
    if radius is None and not sheet.missing:
        sheet.missing.append("size of the rear tyre")
    if force is None or radius is None:
        return None
    per_wheel, measured = radius / 1000.0 / 2.0, spread(force)
    return Toleranced(*(
        value * per_wheel for value in (measured.low, measured.nominal, measured.high)
    ))


def _setting(
    share: Callable[[float], float], passed: Toleranced, loadings: list[Loading]
) -> float:
    """The highest share of pressure the valve can pass with which the front axle locks first.

    The lowest it can pass where none does: the verdict then says by how much it falls short.
    """
    low, high = passed.low, passed.high
    if _front_first(share(high), loadings):
        return high
    for _ in range(40):
        middle = (low + high) / 2.0
        low, high = (middle, high) if _front_first(share(middle), loadings) else (low, middle)
    return low


def _front_first(share: float, loadings: list[Loading]) -> bool:
    return all(
        extremes(_critical_of(loading), *loading.inputs, exactly(share)).low
        >= ORDER_RANGE[1] for loading in loadings
    )


def _critical_of(loading: Loading) -> Callable[[float, float, float, float], float]:
    def critical(front: float, rear: float, height: float, share: float) -> float:
        return critical_rate(loading.layout(front, rear, height), share)

    return critical


def _loaded(sheet: Sheet, loading: Loading, share: Toleranced) -> list[Verdict]:
    """Both halves of the rule for one state of load."""

    def surplus(front: float, rear: float, height: float, front_share: float) -> float:
        return check_adhesion_rule(loading.layout(front, rear, height), front_share).least_margin

    inputs = (*loading.inputs, share)
    order = extremes(_critical_of(loading), *inputs)
    # Each axle's surplus only rises or falls with each input, so the least of them is at a corner.
    demand = extremes(surplus, *inputs)
    _notes(sheet, loading, share.nominal)
    measure = f"brake force of each axle on a tester, {loading.name}"
    return [
        at_least(
            sheet, f"{loading.name}, braking rate up to which the front axle locks first", order,
            ORDER_RANGE[1], "g", digits=2, aspect=f"lock order, {loading.name}", measure=measure,
        ),
        at_least(
            sheet, f"{loading.name}, braking rate before a wheel locks beyond what the rule asks",
            demand, 0.0, "g", digits=2, aspect=f"grip used, {loading.name}", measure=measure,
        ),
    ]


def _notes(sheet: Sheet, loading: Loading, share: float) -> None:
    layout = loading.nominal
    ideal, used = ideal_forces(layout, SAMPLE_RATE), grip_used(layout, share, SAMPLE_RATE)
    first = first_to_lock(layout, share, SAMPLE_RATE) or "both together"
    about = f"{loading.name}, at {SAMPLE_RATE:g} g"
    sheet.note(f"ideal front share, {about}", f"{ideal_front_share(layout, SAMPLE_RATE):.3f}")
    sheet.note(f"ideal forces, {about}", f"{ideal.front:.0f} N front, {ideal.rear:.0f} N rear")
    sheet.note(f"grip used, {about}", f"{used.front:.2f} front, {used.rear:.2f} rear")
    sheet.note(f"locks first, {about}", first)
    grip, speed = float(sheet.limit("road_grip")), sheet.limit("stop_speed")
    rate = rate_before_lock(layout, share, grip)
    stop = stopping_distance(speed.value, rate)
    sheet.note(f"before a wheel locks, {loading.name}, at a grip of {grip:g}",
               f"{rate * STANDARD_GRAVITY:.1f} m/s², {stop:.0f} m from {speed}")


def _rear_share(sheet: Sheet) -> Toleranced | None:
    """Share of the line pressure that reaches the rear, with a balance valve its whole range."""
    built_in = sheet.fact("hydraulics.rear_pressure_share")
    if built_in is None:
        return None
    if not sheet.has("balance-valve"):
        return spread(built_in)
    least = known(sheet, "balance-valve", "least_share")
    return least and Toleranced(built_in * least.low, built_in, built_in)


def _loadings(sheet: Sheet) -> list[Loading]:
    """The states of load that are known; none at all when the car as driven is not."""
    base, height = sheet.fact("layout.wheelbase"), sheet.fact("layout.centre_height")
    front, rear = (sheet.fact("load.mass", axle=axle) for axle in ("front", "rear"))
    if base is None or None in (front, rear, height):
        return []
    found = [Loading("as driven", base.value, (spread(front), spread(rear), spread(height)))]
    front, rear, height = (
        sheet.fact(f"layout.{name}", optional=True)
        for name in ("laden_front", "laden_rear", "laden_centre_height")
    )
    if None not in (front, rear, height):
        inputs = spread(front), spread(rear), spread(height)
        found.append(Loading("fully laden", base.value, inputs))
    return found
