"""The size of a tyre on its rim: what follows from the sidewall, or what its maker states."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kb.units import Quantity
from rules.checking import Sheet, Verdict, check
from rules.engineering.gearing import rolling_circumference
from rules.engineering.tolerance import Toleranced, exactly
from rules.engineering.tyres import (
    MM_PER_INCH,
    WIDTH_CHANGE_PER_RIM,
    design_diameter,
    design_section_width,
    diameter_limits,
    measuring_rim,
    section_width,
    width_limits,
)
from rules.engineering.wheel_room import WheelAndTyre
from rules.engineering.wheels import specified_rim_diameter

Reader = Callable[[str, str], Any]
"""Gives a dimension of the wheel or tyre meant, or None."""

_OPTIONAL = ("section_width", "measured_on", "overall_diameter", "shoulder_radius")


def new_parts(sheet: Sheet) -> Reader:
    """Reads the parts compared; what is due and missing is noted on the sheet."""
    return lambda kind, name: sheet.dimension(kind, name, optional=name in _OPTIONAL)


def stock_parts(sheet: Sheet) -> Reader:
    """Reads the stock wheel and tyre of the axle."""
    return sheet.stock


def spread(value: Quantity) -> Toleranced:
    """A quantity as the engineering functions take it."""
    return Toleranced(value.low, value.value, value.high)


def diameter(read: Reader) -> Toleranced | None:
    """Overall diameter, mm: the maker's, else the design diameter with what a new tyre may vary.

    None when the size is not known; raises ValueError outside the standard's range.
    """
    stated, size = read("tyre", "overall_diameter"), read("tyre", "size")
    if stated:
        return spread(stated)
    return diameter_limits(size.width, size.aspect, size.rim_code) if size else None


def width(read: Reader) -> Toleranced | None:
    """Section width on the wheel's rim, mm: from the maker's where stated, else the design width.

    None when size or rim is not known; raises ValueError outside the standard's range.
    """
    size, rim = read("tyre", "size"), read("wheel", "rim")
    stated, measured = read("tyre", "section_width"), read("tyre", "measured_on")
    if not size or not rim:
        return None
    if not stated:
        return width_limits(section_width(size.width, size.aspect, rim.width_code))
    if not measured:
        raise ValueError("a stated section width says nothing without the rim it is meant on")
    wider = WIDTH_CHANGE_PER_RIM * MM_PER_INCH * (rim.width_code - measured.width_code)
    return Toleranced(stated.low + wider, stated.value + wider, stated.high + wider)


def on_its_rim(read: Reader, spacer: Toleranced | None = None) -> WheelAndTyre | None:
    """Tyre and wheel as they stand beside the hub; None when something is not known.

    Raises ValueError outside the ranges of the formulas.
    """
    section, overall = width(read), diameter(read)
    rim, offset = read("wheel", "rim"), read("wheel", "offset")
    shoulder = read("tyre", "shoulder_radius")
    if section is None or overall is None or not rim or not offset:
        return None
    return WheelAndTyre(
        section, overall, _seat(rim.diameter_code), MM_PER_INCH * rim.width_code, spread(offset),
        spacer or exactly(0.0), shoulder.low if shoulder else 0.0,
    )


def _seat(code: float) -> float:
    """Diameter of the bead seat, mm; half codes have no entry in the standard's table."""
    return specified_rim_diameter(code) if code == int(code) else MM_PER_INCH * code


def go_together(sheet: Sheet) -> bool:
    """Whether the tyre is of the rim's diameter; another check says so when it is not."""
    size, rim = sheet.dimension("tyre", "size"), sheet.dimension("wheel", "rim")
    return not size or not rim or size.rim_code == rim.diameter_code


def behind(sheet: Sheet) -> Toleranced | None:
    """The thickness of the spacer, where there is one and its thickness is known."""
    thickness = sheet.dimension("spacer", "thickness") if sheet.has("spacer") else None
    return spread(thickness) if thickness else None


@check(
    "tyre-dimensions", ("tyre", "wheel"), informs=True,
    formula="diameter = rim in mm + 2 x rounded section height; width = nominal + 0.4 x (rim - "
            "theoretical rim)",
    source="UN Regulation No. 30, 6.1.1.1 (seen) and 6.1.2, 6.1.4, 6.1.5 (from memory); "
           "ISO 4000-1 rim ratios and the factor 3.05 from memory",
)
def dimensions(sheet: Sheet) -> Verdict | None:
    """Information: how large this tyre is on this rim."""
    size, rim = sheet.dimension("tyre", "size"), sheet.dimension("wheel", "rim")
    if sheet.missing or size.rim_code != rim.diameter_code:
        return None
    try:
        section, overall = width(new_parts(sheet)), diameter(new_parts(sheet))
        _note_design(sheet)
    except ValueError:
        return None  # outside the standard's tables there is nothing to tell
    if section is None or overall is None:
        return None
    sheet.note("most it may measure", f"{section.high:.1f} mm wide, {overall.high:.1f} mm high")
    sheet.note("rolling circumference", f"{rolling_circumference(overall.nominal):.0f} mm")
    says = f"{overall.nominal:.0f} mm high and {section.nominal:.1f} mm wide on a {rim} rim"
    return sheet.verdict("fits", says)


def _note_design(sheet: Sheet) -> None:
    """Put the standard's own numbers for the size on the sheet."""
    size, rim = sheet.dimension("tyre", "size"), sheet.dimension("wheel", "rim")
    sheet.note("design diameter", f"{design_diameter(size.width, size.aspect, size.rim_code)} mm")
    wide = design_section_width(size.width, size.aspect, rim.width_code)
    sheet.note("design section width on this rim", f"{wide} mm")
    sheet.note("measuring rim", f"{measuring_rim(size.width, size.aspect):g} in")
