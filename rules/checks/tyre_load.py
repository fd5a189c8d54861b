"""May tyres and wheels carry the axle, at the speed the car goes?"""

from __future__ import annotations

from typing import Any

from rules.checking import Sheet, Verdict, check
from rules.engineering.tyre_loads import (
    LIGHT_TRUCK_DIVISOR,
    LOAD_EXPONENT_GENEROUS,
    METRIC_PRESSURES,
    index_for_load,
    load_at_pressure,
    load_for_index,
    pressure_for_load,
    speed_for_symbol,
    symbol_for_speed,
    treadwear,
    usable_load,
)

_MARKED = "load index and speed symbol on the sidewall of"


def _service(sheet: Sheet) -> Any:
    """The size with its load index and speed symbol; None, and noted, when one is not known."""
    size = sheet.dimension("tyre", "size")
    if size is None or (size.load_index and size.speed_symbol):
        return size
    sheet.missing.append(f"{_MARKED} {sheet.name('tyre')}")
    return None


@check(
    "tyre-load", ("tyre",),
    formula="2 x load of the index x share at top speed (/ 1.10 on a truck) >= permitted axle load",
    source="UN Regulation No. 30 Annex 4 (secondary); shares at speed from a chassis textbook (V, "
           "W, secondary; Y from memory); divisor FMVSS 120 S5.1.2",
)
def tyre_load(sheet: Sheet) -> Verdict:
    """Two tyres must carry the permitted axle load at the car's top speed.

    Where the axle load is not known, a tyre no weaker than the stock one carries it too.
    """
    size = _service(sheet)
    load = sheet.fact("plate.axle_load", optional=True)
    if size is None or not load:
        return _as_stock_load(sheet, size)
    try:
        each = usable_load(
            size.load_index, size.speed_symbol, _speed(sheet, size), _divisor(sheet)
        )
    except ValueError as error:
        return sheet.not_known(f"a load index and speed symbol in range ({error})")
    sheet.note("one tyre carries", f"{each:.1f} kg")
    least = index_for_load(load.high * _divisor(sheet) / 2)
    says = f"two tyres carry {2 * each:.0f} kg, the axle may weigh {load.value:g} kg"
    if 2 * each < load.high:
        says += f": a load index of {least} or more is due"
    return sheet.judge(
        2 * each >= load.high, says, margin=2 * each - load.value, required=0.0,
        worst_case=2 * each - load.high, unit="kg",
    )


def _speed(sheet: Sheet, size: Any) -> float:
    """The car's top speed, within the tyre's own: that one is judged apart."""
    most = speed_for_symbol(size.speed_symbol)
    top = sheet.fact("driveline.top_speed", optional=True)
    return float(min(most, top.value)) if top else most


def _divisor(sheet: Sheet) -> float:
    return LIGHT_TRUCK_DIVISOR if sheet.fact("plate.truck", optional=True) else 1.0


def _as_stock_load(sheet: Sheet, size: Any) -> Verdict:
    """Without the axle load: judged by the stock tyre's load index."""
    stock = sheet.stock("tyre", "size")
    if size is not None and stock and stock.load_index and size.load_index >= stock.load_index:
        says = f"load index {size.load_index}, the stock tyre's is {stock.load_index}"
        return sheet.judge(True, says)
    if size is not None:
        sheet.missing.append("permitted axle load of the car's plate")
    return sheet.not_known()


@check(
    "tyre-speed", ("tyre",),
    formula="speed of the symbol >= top speed of the car",
    source="UN Regulation No. 30, 2.29 (N to Y seen in a secondary list, F to M from memory); "
           "slower winter and closed-course tyres are common practice, no source",
)
def tyre_speed(sheet: Sheet) -> Verdict:
    """The tyre must be allowed the car's top speed.

    Winter and closed-course tyres may be slower: the driver then keeps to their speed. Where the
    top speed is not known, a tyre no slower than the stock one will do.
    """
    size = _service(sheet)
    top = sheet.fact("driveline.top_speed", optional=True)
    if size is None or not top:
        return _as_stock_speed(sheet, size)
    try:
        most, due = speed_for_symbol(size.speed_symbol), symbol_for_speed(top.high)
    except ValueError as error:
        return sheet.not_known(f"a speed symbol in range ({error})")
    says = f"{size.speed_symbol} is good for {most} km/h, the car goes {top.value:g} km/h"
    details: dict[str, Any] = {
        "margin": most - top.value, "required": 0.0, "worst_case": most - top.high, "unit": "km/h",
    }
    use = sheet.dimension("tyre", "use", optional=True)
    if most < top.high and use in ("winter", "closed-course"):
        keep = f"{says}: as a {use} tyre it is used up to {most} km/h only, marked for the driver"
        return sheet.judge(True, keep, **details)
    if most < top.high:
        says += f": a symbol of {due} or faster is due"
    return sheet.judge(most >= top.high, says, **details)


def _as_stock_speed(sheet: Sheet, size: Any) -> Verdict:
    """Without the top speed: judged by the stock tyre's speed symbol."""
    stock = sheet.stock("tyre", "size")
    if size is not None and stock and stock.speed_symbol:
        try:
            most, usual = speed_for_symbol(size.speed_symbol), speed_for_symbol(stock.speed_symbol)
        except ValueError as error:
            return sheet.not_known(f"a speed symbol in range ({error})")
        if most >= usual:
            return sheet.judge(True, f"good for {most} km/h, the stock tyre for {usual} km/h")
    if size is not None:
        sheet.missing.append("top speed of the car")
    return sheet.not_known()


@check(
    "tyre-pressure", ("tyre",), informs=True,
    formula="least pressure = reference pressure x (load / rated load) ^ 1.25",
    source="ETRTO relation, exponent 0.8 (secondary); reference pressures 2.5 and 2.9 bar from "
           "memory",
)
def tyre_pressure(sheet: Sheet) -> Verdict | None:
    """Information: the least cold pressure at the permitted axle load. The car's own wins."""
    size, load = sheet.dimension("tyre", "size"), sheet.fact("plate.axle_load", optional=True)
    if size is None or not size.load_index or not load:
        return None
    reference = METRIC_PRESSURES["extra" if size.extra_load else "standard"]
    divisor = _divisor(sheet)
    try:
        rated = load_for_index(size.load_index) / divisor
        least = pressure_for_load(load.value / 2, rated, reference)
    except ValueError:
        return None  # too weak a tyre, which the load check says
    sheet.note("one tyre carries at most", f"{rated:.1f} kg at {reference:g} bar")
    says = f"at full load at least {least:.2f} bar cold; the car's own pressure wins where higher"
    stated = sheet.fact("plate.tyre_pressure", optional=True)
    if stated and stated.value > 0:
        carries = load_at_pressure(rated, reference, stated.value)
        most = load_at_pressure(rated, reference, stated.value, LOAD_EXPONENT_GENEROUS)
        sheet.note("the same by the US relation, not used", f"{most:.0f} kg")
        says += f"; at the car's {stated.value:g} bar it carries {carries:.0f} kg"
        if stated.value < least:
            says += f", less than the {load.value / 2:g} kg due: raise the pressure"
    return sheet.verdict("fits", says)


@check(
    "tyre-treadwear", ("tyre",), informs=True,
    formula="life relative to the reference tyre = grade / 100",
    source="49 CFR 575.104 (secondary pages); usual uses are common practice, no source",
)
def tyre_treadwear(sheet: Sheet) -> Verdict | None:
    """Information: what the treadwear grade says."""
    grade = sheet.dimension("tyre", "treadwear", optional=True)
    try:
        meant = treadwear(grade) if grade else None
    except ValueError:
        return None
    if meant is None:
        return None
    says = f"treadwear {grade}: usually {meant.usual_use}; {meant.relative_life:g} x reference life"
    return sheet.verdict("fits", says)


@check(
    "wheel-load", ("wheel",),
    formula="2 x load rating of the wheel >= permitted axle load",
    source="common practice, no source: each wheel of an axle carries half of its load",
)
def wheel_load(sheet: Sheet) -> Verdict:
    """Two wheels must carry the permitted axle load; else no less than the stock wheel."""
    rating = sheet.dimension("wheel", "load_rating")
    load = sheet.fact("plate.axle_load", optional=True)
    stock = sheet.stock("wheel", "load_rating") if not load else None
    if rating is None:
        return sheet.not_known()
    if load:
        return sheet.judge(
            2 * rating.low >= load.high,
            f"two wheels carry {2 * rating.value:g} kg, the axle may weigh {load.value:g} kg",
            margin=2 * rating.value - load.value, required=0.0,
            worst_case=2 * rating.low - load.high, unit="kg",
        )
    if stock and rating.low >= stock.value:
        return sheet.judge(True, f"rated for {rating}, the stock wheel for {stock}")
    return sheet.not_known("permitted axle load of the car's plate")
