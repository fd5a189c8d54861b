"""Starting values of one axle: spring perch, damper clicks, helper travel, tyre pressure."""

from __future__ import annotations

from dataclasses import replace

from kb.statements import Axle
from rules import answers as a
from rules.checking import Sheet
from rules.checks.spring_parts import (
    axle_mass,
    corner_load,
    helper_of,
    spring_size,
    sprung_mass,
    stack_of,
    strut_of,
)
from rules.engineering.coilovers import Coilover, ride_height_change, ride_height_range, settle
from rules.engineering.ride import damping_for_ratio, damping_ratio, wheel_rate
from rules.engineering.springs import stack_rates
from rules.engineering.tyre_loads import (
    LIGHT_TRUCK_DIVISOR,
    METRIC_PRESSURES,
    load_for_index,
    pressure_for_load,
)
from rules.setup_sheet_models import AxleWish, Setting, Start

PERCH = (
    "seat gap at full droop that leaves the shop's travel to the bump stop at the static load; "
    "from there perch move = change of height x motion ratio"
)
STATICS = "springs in series, statics and kinematics (computed); the reserve is common practice"
CLICKS = "c = zeta x 2 sqrt(wheel rate x sprung mass) / MR²; clicks taken as evenly spaced"
DAMPING = (
    "McLean & Nelson, Engineering Mechanics, Ex. 19-19 p. 478 (textbook); even spacing is common "
    "practice, no source"
)
HELPER = "closing travel = block load of the helper / rate of both springs in series"
PRESSURE = "least pressure = reference pressure x (load / rated load) ^ 1.25"
ETRTO = "ETRTO relation, exponent 0.8 (secondary); reference pressures from memory"


class AxleStarts:
    """Works out one starting value; make a new one, with a new sheet, for each."""

    def __init__(self, sheet: Sheet, axle: Axle, wish: AxleWish | None = None) -> None:
        self.sheet, self.axle, self.wish = sheet, axle, wish or AxleWish()

    def mass(self) -> float | None:
        """Mass on the axle in kg, with the engine that is in."""
        found = axle_mass(self.sheet, self.axle)
        return found.nominal if found else None

    # -- springs ----------------------------------------------------------------------------------

    def spring_perch(self) -> Start:
        """Where the perch starts: as a seat gap at full droop, with turns from the shop's start."""
        if not self._has("damper", "spring"):
            return self._start("spring_perch", "mm", PERCH, STATICS)
        try:
            return self._perch()
        except ValueError as error:  # the springs do not go on the damper under this load
            return self._start("spring_perch", "mm", PERCH, STATICS, says=str(error))

    def _perch(self) -> Start:
        pitch = self.sheet.dimension("damper", "perch_pitch", optional=True)
        if pitch is None:
            return self._start(
                "spring_perch", "mm", PERCH, STATICS,
                says="the spring seat is fixed: there is nothing to set",
            )
        base = self._coilover()
        if base is None:
            return self._start("spring_perch", "mm", PERCH, STATICS)
        coilover, load, per_damper = base
        up = self._perch_move(coilover)
        if up is None:
            return self._start("spring_perch", "mm", PERCH, STATICS)
        gap = coilover.seat_gap - up
        left = settle(replace(coilover, seat_gap=gap), load).to_bump_stop / per_damper
        reserve = float(self.sheet.limit("bump_reserve").value)
        short = f", less than the shop's {reserve:g} mm" if round(left, 6) < reserve else ""
        return self._start(
            "spring_perch", "mm", PERCH, STATICS, value=gap, says=(
                f"{gap:.1f} mm between the spring seats at full droop ({up / pitch.value:+.1f} "
                f"turns from the shop's start); {left:.0f} mm of damper travel to the bump stop"
                f"{short}; then measure the height and correct it"
            ),
        )

    def _coilover(self) -> tuple[Coilover, float, float] | None:
        """The springs on the damper with the perch at the shop's start, and the load on them."""
        sheet = self.sheet
        size, strut, load = spring_size(sheet, "spring"), strut_of(sheet), corner_load(sheet)
        helper = helper_of(sheet) if sheet.has("helper-spring") else None
        if size is None or strut is None or load is None or sheet.missing:
            return None
        stack = stack_of((size.free.nominal, size.rate.nominal, size.block.nominal), helper)
        reserve = float(sheet.limit("bump_reserve").value)
        coilover = strut.coilover(stack, load.nominal, reserve)
        sheet.note("seat gap at the shop's start", f"{coilover.seat_gap:.1f} mm")
        sheet.note("load on each spring", f"{load.nominal:.0f} N")
        return coilover, load.nominal, strut.per_damper

    def _perch_move(self, coilover: Coilover) -> float | None:
        """How far the perch goes up from the shop's start for the wanted height, mm.

        None, and noted, when a height is not known. Raises ValueError out of the thread's reach.
        """
        sheet, wanted = self.sheet, self.wish.ride_height
        height = sheet.fact("suspension.ride_height")
        ratio = sheet.fact("suspension.spring_motion_ratio")
        if wanted is None:
            sheet.missing.append(f"wanted ride height of the {self.axle} axle")
        if height is None or wanted is None:
            return None
        sheet.note("wanted ride height", f"{wanted:g} mm (question)")
        longest, shortest = (
            sheet.dimension("damper", f"{end}_seat_gap").value for end in ("longest", "shortest")
        )
        reach = ride_height_range(height.value, -coilover.seat_gap, -longest, -shortest, ratio)
        if not reach.lowest <= wanted <= reach.highest:
            raise ValueError(
                f"the thread reaches ride heights of {reach.lowest:.0f} to {reach.highest:.0f} mm, "
                f"not {wanted:g} mm"
            )
        return float(wanted - height.value) / ride_height_change(1.0, ratio)

    def helper_travel(self) -> Start:
        """What travel the helper has, and whether it is closed once the car stands."""
        if not self.sheet.has("helper-spring"):
            return self._start(
                "helper_travel", "mm", HELPER, STATICS, says="there is no helper spring"
            )
        try:
            return self._helper()
        except ValueError as error:
            return self._start("helper_travel", "mm", HELPER, STATICS, says=str(error))

    def _helper(self) -> Start:
        base = self._coilover() if self._has("damper", "spring") else None
        if base is None:
            return self._start("helper_travel", "mm", HELPER, STATICS)
        coilover, load, _ = base
        if self.wish.ride_height is not None and (up := self._perch_move(coilover)) is not None:
            coilover = replace(coilover, seat_gap=coilover.seat_gap - up)
        helper, rates = coilover.stack.springs[0], stack_rates(coilover.stack)
        closed = settle(coilover, load).helper_closed
        open_at_droop = max(0.0, helper.travel - coilover.preload_force / helper.rate)
        state = "closed" if closed else "still open: it works as a second spring"
        return self._start(
            "helper_travel", "mm", HELPER, STATICS, value=open_at_droop, says=(
                f"{open_at_droop:.0f} mm of its {helper.travel:.0f} mm left open at full droop; it "
                f"closes under {rates.closing_load:.0f} N and at ride height it is {state}"
            ),
        )

    # -- dampers ----------------------------------------------------------------------------------

    def damper_clicks(self) -> Start:
        """Clicks from full soft for the wanted damping ratio."""
        if not self._has("damper", "spring"):
            return self._start("damper_clicks", "clicks", CLICKS, DAMPING)
        sheet, wanted = self.sheet, self.wish.damping_ratio
        clicks, soft, firm = (
            sheet.dimension("damper", name) for name in ("clicks", "softest", "firmest")
        )
        size, mass = spring_size(sheet, "spring"), sprung_mass(sheet)
        ratios = [sheet.fact(f"suspension.{part}_motion_ratio") for part in ("spring", "damper")]
        if wanted is None:
            sheet.missing.append(f"wanted damping ratio of the {self.axle} axle")
        if wanted is None or size is None or mass is None or sheet.missing:
            return self._start("damper_clicks", "clicks", CLICKS, DAMPING)
        sheet.note("wanted damping ratio", f"{wanted:g} (question)")
        rate = wheel_rate(size.rate.nominal, ratios[0])
        needed = damping_for_ratio(wanted, ratios[1], rate, mass.nominal)
        sheet.note("damping for it, at the damper", f"{needed:.0f} N·s/m")
        low, high = (
            damping_ratio(end.value, ratios[1], rate, mass.nominal) for end in (soft, firm)
        )
        if not low <= wanted <= high:
            return self._start("damper_clicks", "clicks", CLICKS, DAMPING, says=(
                f"the adjuster reaches damping ratios of {low:.2f} to {high:.2f}, not {wanted:g}"
            ))
        step = (firm.value - soft.value) / clicks
        from_soft = round((needed - soft.value) / step)
        got = damping_ratio(soft.value + from_soft * step, ratios[1], rate, mass.nominal)
        return self._start("damper_clicks", "clicks", CLICKS, DAMPING, value=from_soft, says=(
            f"{from_soft} of {clicks} clicks from full soft: a damping ratio of {got:.2f}"
        ))

    # -- tyres ------------------------------------------------------------------------------------

    def tyre_pressure(self) -> Start:
        """The least cold pressure for the axle as it stands, and for the most it may weigh."""
        if not self._has("tyre"):
            return self._start("tyre_pressure", "bar", PRESSURE, ETRTO)
        sheet, mass = self.sheet, self.mass()
        size = sheet.dimension("tyre", "size")
        most = sheet.fact("plate.axle_load", optional=True)
        own = sheet.fact("plate.tyre_pressure", optional=True)
        if size is not None and not size.load_index:
            sheet.missing.append(f"load index on the sidewall of {sheet.name('tyre')}")
        if mass is None or size is None or sheet.missing:
            return self._start("tyre_pressure", "bar", PRESSURE, ETRTO)
        reference = METRIC_PRESSURES["extra" if size.extra_load else "standard"]
        divisor = LIGHT_TRUCK_DIVISOR if sheet.fact("plate.truck", optional=True) else 1.0
        try:
            rated = load_for_index(size.load_index) / divisor
            least = [pressure_for_load(load / 2, rated, reference)
                     for load in (mass, *([most.value] if most else []))]
        except ValueError as error:
            return self._start("tyre_pressure", "bar", PRESSURE, ETRTO, says=str(error))
        says = f"at least {least[0]:.2f} bar cold as it stands"
        says += f", {least[1]:.2f} bar at the permitted axle load" if most else ""
        start = max(own.value if own else 0.0, least[0])
        says += f"; the car's own {own.value:g} bar wins where higher" if own else (
            "; the pressure on the car's own label wins where higher"
        )
        return self._start("tyre_pressure", "bar", PRESSURE, ETRTO, value=start, says=says)

    # -- sheet ------------------------------------------------------------------------------------

    def _has(self, *kinds: str) -> bool:
        """Whether the axle is known to have a part of each kind; what it lacks is noted."""
        lacking = [kind for kind in kinds if not self.sheet.has(kind)]
        self.sheet.missing += [
            f"{kind.replace('-', ' ')} of the {self.axle} axle" for kind in lacking
        ]
        return not lacking

    def _start(
        self, setting: Setting, unit: str, formula: str, source: str, *, says: str = "",
        value: float | None = None,
    ) -> Start:
        missing = tuple(dict.fromkeys(self.sheet.missing))
        return Start(
            setting=setting, axle=self.axle, value=None if value is None else round(value, 2),
            unit=unit, says=says or f"not known: {' and '.join(missing)}", missing=missing,
            values=tuple(
                a.UsedValue(name=v.name, value=v.value, basis=v.basis)
                for v in dict.fromkeys(self.sheet.values)
            ),
            formula=formula, source=source,
        )
