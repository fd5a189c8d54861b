"""Does a spring work on its damper: seats, static position, coil bind, bump and droop travel?"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from rules.checking import Judgement, Sheet, Verdict, check
from rules.checks.brake_parts import at_least, out_of_range
from rules.checks.spring_parts import (
    SpringSize,
    Strut,
    coil_gap,
    corner_load,
    engine_may_change,
    helper_of,
    spring_size,
    stack_of,
    strut_of,
)
from rules.engineering.coilovers import Coilover, bind_margin, ride_height_range, settle
from rules.engineering.ride import frequency_from_deflection
from rules.engineering.tolerance import Toleranced, extremes

SEAT_PLAY = 1.0
"""Spring and seat of one size may differ by this much in diameter, mm (common practice)."""


FORMULA = (
    "perch set to leave the shop's travel to the bump stop, as far as its thread reaches; static "
    "compression = deflection(load) - (free length - seat gap); bind = seat gap - (stroke - "
    "crushed stop) - block lengths; load = sprung mass · g / motion ratio"
)
SOURCE = (
    "springs in series and statics (computed); rate and block length from wire: EN 13906-1 "
    "(published, read in secondary texts); reserves: shop limits (common practice, no source)"
)


@check("spring-on-damper", ("spring", "damper"), modifier="helper-spring",
       formula=FORMULA, source=SOURCE)
@out_of_range
def alone(sheet: Sheet) -> Judgement:
    """With the car's own engine, where no other can be ordered."""
    return None if engine_may_change(sheet) else _judge(sheet)


@check("spring-on-damper-engine", ("spring", "damper", "engine"), modifier="helper-spring",
       formula=FORMULA, source=SOURCE)
@out_of_range
def with_engine(sheet: Sheet) -> Judgement:
    """With the engine that is in: another one changes the load on the springs."""
    return _judge(sheet) if engine_may_change(sheet) else None


def _judge(sheet: Sheet) -> Judgement:
    """A main spring, with a helper where there is one, on the damper of the same axle."""
    if (wrong := _wrong_seat(sheet)) is not None:
        return wrong
    springs = springs_of(sheet)
    if springs is None:
        return sheet.not_known()
    try:
        springs.at_rest()
    except ValueError as error:
        # Closed coils, or springs longer than the gap even at block: nothing to measure.
        return sheet.judge(False, str(error))
    springs.notes()
    return list(springs.verdicts())


def springs_of(sheet: Sheet) -> Springs | None:
    """What a check of springs on a damper compares; None, and noted, when something is unknown."""
    size, strut, load = spring_size(sheet, "spring"), strut_of(sheet), corner_load(sheet)
    helper = helper_of(sheet) if sheet.has("helper-spring") else None
    if size is None or strut is None or load is None or sheet.missing:
        return None
    return Springs(sheet, size, helper, strut, load)


def _wrong_seat(sheet: Sheet) -> Verdict | None:
    """The refusal of a spring too wide or too narrow for the damper's seat, if it is."""
    seat = sheet.dimension("damper", "spring_diameter", optional=True)
    inner = sheet.dimension("spring", "inner_diameter", optional=seat is None)
    if seat is None or inner is None or abs(seat.value - inner.value) <= SEAT_PLAY:
        return None
    says = f"a spring of {inner} inside does not sit on a seat for {seat}"
    return sheet.judge(False, says, aspect="seat")


class Springs:
    """One combination, judged with the perch set on the ground for the load there is."""

    def __init__(
        self, sheet: Sheet, size: SpringSize, helper: tuple[SpringSize, float] | None,
        strut: Strut, load: Toleranced,
    ) -> None:
        self.sheet, self.size, self.helper = sheet, size, helper
        self.strut, self.load = strut, load
        self.bump = float(sheet.limit("bump_reserve").value)
        self.droop = float(sheet.limit("droop_reserve").value)
        self.gap = coil_gap(sheet)

    def _coilover(self, load: float, free: float, rate: float, block: float) -> Coilover:
        stack = stack_of((free, rate, block), self.helper)
        return self.strut.coilover(stack, load, self.bump)

    def at_rest(self) -> Coilover:
        """The combination with nominal values. Raises ValueError where the springs do not go."""
        size = self.size
        return self._coilover(
            self.load.nominal, size.free.nominal, size.rate.nominal, size.block.nominal
        )

    def over_tolerances(self, formula: Callable[[Coilover, float], float]) -> Toleranced:
        """A result with load, free length, rate and block length at every end of their spread."""

        def at(load: float, free: float, rate: float, block: float) -> float:
            return formula(self._coilover(load, free, rate, block), load)

        return extremes(at, self.load, self.size.free, self.size.rate, self.size.block)

    def verdicts(self) -> Iterator[Verdict]:
        """Bump and droop travel, coil bind, and whether the spring stays seated."""
        per, strut = self.strut.per_damper, self.strut
        name, measure = self.sheet.name("spring"), "scale reading of each corner"
        bump = self.over_tolerances(lambda c, load: settle(c, load).to_bump_stop / per)
        droop = self.over_tolerances(lambda c, load: settle(c, load).compression / per)
        bind = self.over_tolerances(lambda c, load: bind_margin(c, strut.crushed))
        seated = self.over_tolerances(lambda c, load: c.stack.free_length - c.seat_gap)
        for aspect, what, found, required in (
            ("bump travel", "damper travel left to the bump stop", bump, self.bump),
            ("droop travel", "damper travel left to full extension", droop, self.droop),
            ("coil bind", "room between all coils at full compression", bind, self.gap),
            ("seated", "squeeze at full extension (below zero: loose)", seated, 0.0),
        ):
            yield at_least(
                self.sheet, f"{name}, {what}", found, required, "mm", aspect=aspect,
                measure=measure,
            )

    def notes(self) -> None:
        """What the sheet shows of the static position."""
        note, coilover = self.sheet.note, self.at_rest()
        rest, strut = settle(coilover, self.load.nominal), self.strut
        note("load on each spring", f"{self.load.nominal:.0f} N")
        note("gap between the spring seats at full droop", f"{coilover.seat_gap:.1f} mm")
        note("preload", f"{coilover.preload:.1f} mm, {coilover.preload_force:.0f} N")
        note("static position in the stroke", f"{rest.stroke_share:.0%}")
        note("spring rate there", f"{rest.rate:.1f} N/mm")
        note("ride frequency there", f"{self._frequency(rest.rate):.2f} Hz")
        note("travel to metal", f"{rest.to_metal / strut.per_damper:.1f} mm at the damper")
        if self.helper is not None:
            state = "closed" if rest.helper_closed else "still open: it works as a tender"
            note("helper spring at ride height", state)
        self._note_height(coilover)

    def _frequency(self, rate: float) -> float:
        """Hz, from the deflection of the wheel that the load alone would give at this rate."""
        ratio = float(self.sheet.fact("suspension.spring_motion_ratio"))
        return frequency_from_deflection(self.load.nominal / rate / ratio)

    def _note_height(self, coilover: Coilover) -> None:
        """The ride heights the perch reaches, from the height the car is set to."""
        height = self.sheet.fact("suspension.ride_height", optional=True)
        ratio = self.sheet.fact("suspension.spring_motion_ratio")
        if height is None:
            return
        found = ride_height_range(
            height.value, -coilover.seat_gap, -self.strut.longest, -self.strut.shortest, ratio
        )
        reach = f"{found.lowest:.0f} to {found.highest:.0f} mm"
        self.sheet.note(f"ride height within the perch's reach, set at {height}", reach)
