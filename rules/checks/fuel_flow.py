"""Do injectors and pump pass the fuel that the engine's power takes?"""

from __future__ import annotations

from kb.units import Quantity
from rules.checking import Sheet, Verdict, check
from rules.checks.reserves import with_reserve
from rules.engineering.drivetrain import (
    PETROL_DENSITY,
    flow_at_pressure,
    fuel_flow,
    injector_flow,
    pump_flow,
)

_PETROL = f"petrol of {PETROL_DENSITY:g} kg/L"


@check(
    "injector-flow", ("engine", "injector"),
    formula="rated flow · sqrt(fuel pressure / rated pressure) >= power · consumption / "
            f"(density · injectors · duty), {_PETROL}",
    source="published sizing sheet (secondary); orifice flow (computed); the duty of 0.80 to 0.85 "
           "is common practice, no source",
)
def injectors(sheet: Sheet) -> Verdict:
    """Each injector must pass its share of the fuel in the part of the time it may be open."""
    power, consumption, count, pressure = (
        sheet.dimension("engine", name)
        for name in ("power", "consumption", "injectors", "fuel_pressure")
    )
    flow, rated = (sheet.dimension("injector", name) for name in ("flow", "flow_pressure"))
    if sheet.missing:
        return sheet.not_known()
    duty = sheet.limit("injector_duty")
    try:
        passes = flow_at_pressure(flow.value, rated.value, pressure.value)
        least = flow_at_pressure(flow.low, rated.high, pressure.low)
        asked = injector_flow(power.value, consumption.value, count, duty)
        most = injector_flow(power.high, consumption.high, count, duty)
    except ValueError as error:
        return _outside(sheet, error, _flow_of(sheet, "injector", pressure))
    sheet.note("fuel the engine burns", f"{fuel_flow(power.value, consumption.value):.2f} L/min")
    says = (
        f"{sheet.name('injector')} passes {passes:.3f} L/min at {pressure}; {power} from "
        f"{count} injectors takes {asked:.3f} with {duty:.0%} of the time open"
    )
    return with_reserve(
        sheet, says, passes - asked, least - most, "L/min", _flow_of(sheet, "injector", pressure)
    )


@check(
    "pump-flow", ("engine", "fuel-pump"),
    formula="pressure of the pump >= fuel pressure; flow there >= power · consumption / density · "
            f"(1 + reserve), {_PETROL}",
    source="Rajput, Internal Combustion Engines, Ex. 12.1 p. 421 (textbook); the reserve is common "
           "practice, no source",
)
def pump(sheet: Sheet) -> Verdict:
    """The pump must reach the fuel pressure and give what is burnt, with the shop's reserve."""
    power, consumption, pressure = (
        sheet.dimension("engine", name) for name in ("power", "consumption", "fuel_pressure")
    )
    flow, reaches = (sheet.dimension("fuel-pump", name) for name in ("flow", "pressure"))
    if sheet.missing:
        return sheet.not_known()
    reached = with_reserve(
        sheet, f"{sheet.name('fuel-pump')} reaches {reaches}, the injectors work at {pressure}",
        reaches.value - pressure.value, reaches.low - pressure.high, "bar",
        _flow_of(sheet, "fuel-pump", pressure),
    )
    if reached.verdict != "fits":
        return reached
    reserve = sheet.limit("fuel_reserve")
    try:
        asked = pump_flow(power.value, consumption.value, reserve)
        most = pump_flow(power.high, consumption.high, reserve)
    except ValueError as error:
        return _outside(sheet, error, f"consumption of {sheet.name('engine')}")
    says = (
        f"{sheet.name('fuel-pump')} gives {flow.value:.2f} L/min at {reaches}; {power} takes "
        f"{asked:.2f} with a reserve of {reserve:.0%}, at the lowest supply voltage too"
    )
    return with_reserve(
        sheet, says, flow.value - asked, flow.low - most, "L/min",
        _flow_of(sheet, "fuel-pump", pressure),
    )


def _flow_of(sheet: Sheet, kind: str, pressure: Quantity) -> str:
    return f"flow of {sheet.name(kind)} at {pressure}"


def _outside(sheet: Sheet, error: ValueError, measure: str) -> Verdict:
    """A figure outside what the formula is good for: only measuring tells."""
    return sheet.verdict("not_known", f"not known: {error}", measure=(measure,))
