"""Do the wire and the fuse that feed the fuel pump carry what it draws?"""

from __future__ import annotations

from typing import Any

from rules.checking import Sheet, Verdict, check
from rules.engineering.electrics import (
    FLEXIBLE_RESISTANCE,
    FUSE_COLOURS,
    fuse_rating,
    least_section,
    voltage_drop,
    wire_resistance,
)

HOT = 60.0
"""Temperature in °C of a wire in an engine bay or under a floor. Common practice, no source."""
_NAMES = ("section", "length", "fuse")


@check(
    "pump-supply", ("fuel-pump",), modifier="supply-wire",
    formula="current <= density · section; current · resistance · length <= the drop allowed; "
            "current <= share · fuse; fuse <= density · section",
    source="IEC 60228 class 5 resistances (secondary) and Ohm's law; density, drop and share are "
           "common practice, no source",
)
def pump_supply(sheet: Sheet) -> Verdict:
    """The pump's wire stays cool and loses little, and its fuse protects the wire."""
    current = sheet.dimension("fuel-pump", "current")
    stock = sheet.stock("fuel-pump", "current")
    own = sheet.has("supply-wire")
    if not own and current and stock and current.value <= stock.value:
        return sheet.judge(True, f"it draws {current}, the pump it replaces {stock}")
    section, length, fuse = (
        sheet.dimension("supply-wire", name) if own else sheet.fact(f"pump-supply.{name}")
        for name in _NAMES
    )
    if sheet.missing:
        return sheet.not_known()
    try:
        faults = tuple(_faults(sheet, current.high, section.value, length.value, fuse.value))
    except ValueError as error:
        return sheet.verdict(
            "not_known", f"not known: {error}", measure=("standard section of the pump's wire",)
        )
    whose = sheet.name("supply-wire") if own else "the car's own pump wire"
    spare = sheet.limit("fuse_load") * fuse.value - current.high
    says = f"{whose} ({section}, fuse {fuse}) feeds a pump that draws {current}"
    if faults:
        says = f"{says}: {'; '.join(faults)}; {_wanted(sheet, current.high, length.value)}"
    return sheet.judge(not faults, says, margin=spare, required=0.0, unit="A")


def _faults(sheet: Sheet, current: float, section: float, length: float, fuse: float) -> Any:
    """What is wrong with a wire of that section and length behind that fuse, in words."""
    most, allowed = sheet.limit("wire_drop"), sheet.limit("wire_density") * section
    lost = voltage_drop(current, section, length, HOT)
    sheet.note(f"resistance at {HOT:g} °C", f"{wire_resistance(section, HOT):.2f} ohm/km")
    sheet.note("voltage lost in the wire", f"{lost:.2f} V")
    if lost > most.value:
        yield f"the wire loses {lost:.2f} V of the {most} allowed"
    if current > allowed:
        yield f"the wire carries {allowed:g} A"
    if fuse > allowed:
        yield f"a fuse of {fuse:g} A does not protect a wire that carries {allowed:g} A"
    if current > sheet.limit("fuse_load") * fuse:
        yield f"the load is too much for long on a fuse of {fuse:g} A"


def _wanted(sheet: Sheet, current: float, length: float) -> str:
    """The wire and fuse that would do, in words."""
    density, share = sheet.limit("wire_density"), sheet.limit("fuse_load")
    drop = sheet.limit("wire_drop").value
    try:
        rating = fuse_rating(current, density * max(FLEXIBLE_RESISTANCE), share)
        # The wire has to carry as much as its fuse lets through, and to lose little at the load.
        section = least_section(rating, length, drop * rating / current, HOT, density=density)
    except ValueError:
        return "no single wire and blade fuse will do"
    return f"it takes {section:g} mm² and a {rating:g} A fuse ({FUSE_COLOURS[rating]})"
