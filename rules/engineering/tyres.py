"""Tyre dimensions that follow from the size on the sidewall."""

import math
from typing import NamedTuple

from rules.engineering.guards import positive, within
from rules.engineering.tolerance import Toleranced

MM_PER_INCH = 25.4
WIDTH_CHANGE_PER_RIM = 0.4
"""Section width gained per millimetre of rim width (UN Regulation No. 30, 6.1.1.1)."""

TYRE_WIDTHS = (105.0, 405.0)
RIM_DIAMETER_CODES = (10.0, 24.0)
RIM_WIDTH_CODES = (3.0, 16.0)


class AspectFactors(NamedTuple):
    """Rim widths of one aspect ratio, each as a share of the nominal section width."""

    theoretical_rim: float
    measuring_rim: float
    narrowest_rim: float
    widest_rim: float


# Recalled from ISO 4000-1 and not read there. The measuring-rim share gives the twelve widths
# of a published list; the rest is supported only by sizes recalled from the same source.
_FACTORS = {
    80: AspectFactors(0.70, 0.70, 0.65, 0.85),
    75: AspectFactors(0.70, 0.70, 0.65, 0.85),
    70: AspectFactors(0.70, 0.75, 0.65, 0.85),
    65: AspectFactors(0.70, 0.75, 0.70, 0.90),
    60: AspectFactors(0.70, 0.75, 0.70, 0.90),
    55: AspectFactors(0.70, 0.80, 0.70, 0.90),
    50: AspectFactors(0.70, 0.80, 0.70, 0.90),
    45: AspectFactors(0.85, 0.85, 0.80, 0.95),
    40: AspectFactors(0.85, 0.90, 0.85, 1.00),
    35: AspectFactors(0.85, 0.90, 0.85, 1.00),
}


class RimRange(NamedTuple):
    """The rim widths a tyre may be mounted on, as rim-width codes (inches)."""

    narrowest: float
    widest: float


def _half_up(value: float) -> int:
    # Python's round() goes to the even neighbour, which loses 2 mm of diameter on 205/50.
    return math.floor(value + 0.5)


def _nearest_half_inch(width: float) -> float:
    return _half_up(2.0 * width / MM_PER_INCH) / 2.0


def aspect_factors(aspect_ratio: float) -> AspectFactors:
    """Return the rim-width shares of an aspect ratio (per cent).

    Valid for 35 to 80 in steps of 5; raises ValueError for others.
    Source: ISO 4000-1 coefficients, from memory.
    """
    factors = _FACTORS.get(int(aspect_ratio)) if aspect_ratio == aspect_ratio // 1 else None
    if factors is None:
        raise ValueError(
            f"rim widths are known for aspect ratios 35 to 80 in steps of 5, not {aspect_ratio:g}"
        )
    return factors


def section_height(nominal_width: float, aspect_ratio: float) -> float:
    """Return the height of the section, mm, unrounded.

    `nominal_width` in mm (105 to 405), `aspect_ratio` in per cent (20 to 95).
    Raises ValueError outside those ranges.
    Source: definition of the aspect ratio, UN Regulation No. 30 and ISO 4000-1, from memory.
    """
    within("nominal tyre width", nominal_width, *TYRE_WIDTHS)
    within("aspect ratio", aspect_ratio, 20.0, 95.0)
    return nominal_width * aspect_ratio / 100.0


def catalogue_diameter(nominal_width: float, aspect_ratio: float, rim_code: float) -> float:
    """Return the overall diameter by plain arithmetic, mm, without the rounding of the standard.

    `nominal_width` in mm, `aspect_ratio` in per cent, `rim_code` in inches (10 to 24).
    Raises ValueError outside the ranges. Use `design_diameter` for checks.
    Source: 25.4 x rim code + 2 x section height, arithmetic.
    """
    within("rim diameter code", rim_code, *RIM_DIAMETER_CODES)
    return MM_PER_INCH * rim_code + 2.0 * section_height(nominal_width, aspect_ratio)


def design_diameter(nominal_width: float, aspect_ratio: float, rim_code: float) -> int:
    """Return the design overall diameter of a new tyre, mm.

    The rim diameter and the section height are each rounded to whole mm, halves upwards.
    `nominal_width` in mm, `aspect_ratio` in per cent, `rim_code` in inches (10 to 24).
    Raises ValueError outside the ranges.
    Source: UN Regulation No. 30, 6.1.2, from memory; rounding from memory.
    """
    within("rim diameter code", rim_code, *RIM_DIAMETER_CODES)
    height = _half_up(section_height(nominal_width, aspect_ratio))
    return _half_up(MM_PER_INCH * rim_code) + 2 * height


def diameter_limits(nominal_width: float, aspect_ratio: float, rim_code: float) -> Toleranced:
    """Return the design diameter with the least and greatest a radial tyre may have, mm.

    Inputs and errors as for `design_diameter`.
    Source: UN Regulation No. 30, 6.1.5, factors 0.97 and 1.04 of the height, from memory.
    """
    design = design_diameter(nominal_width, aspect_ratio, rim_code)
    height = _half_up(section_height(nominal_width, aspect_ratio))
    rim = design - 2 * height
    return Toleranced(rim + 2 * height * 0.97, design, rim + 2 * height * 1.04)


def measuring_rim(nominal_width: float, aspect_ratio: float) -> float:
    """Return the width of the rim a tyre is measured on, as a rim-width code (inches).

    `nominal_width` in mm, `aspect_ratio` in per cent (35 to 80 in steps of 5).
    Raises ValueError outside the ranges.
    Source: ISO 4000-1 coefficients, from memory; checked on a published list of twelve widths.
    """
    within("nominal tyre width", nominal_width, *TYRE_WIDTHS)
    return _nearest_half_inch(nominal_width * aspect_factors(aspect_ratio).measuring_rim)


def approved_rims(nominal_width: float, aspect_ratio: float) -> RimRange:
    """Return the narrowest and widest rim, as rim-width codes in inches, ends allowed.

    `nominal_width` in mm, `aspect_ratio` in per cent (35 to 80 in steps of 5). The range the
    tyre maker prints for the tyre itself outranks this one. Raises ValueError outside.
    Source: ISO 4000-1 coefficients, from memory; checked on one published 215/60R16 record.
    """
    within("nominal tyre width", nominal_width, *TYRE_WIDTHS)
    factors = aspect_factors(aspect_ratio)
    return RimRange(
        _nearest_half_inch(nominal_width * factors.narrowest_rim),
        _nearest_half_inch(nominal_width * factors.widest_rim),
    )


def section_width(nominal_width: float, aspect_ratio: float, rim_width_code: float) -> float:
    """Return the section width on a given rim, mm, unrounded.

    A rim 25.4 mm wider makes the section about 10 mm wider. `nominal_width` in mm,
    `aspect_ratio` in per cent (35 to 80 in steps of 5), `rim_width_code` in inches (3 to 16).
    Raises ValueError outside the ranges.
    Source: UN Regulation No. 30, 6.1.1.1 (seen); theoretical rim of ISO 4000-1, from memory.
    """
    within("nominal tyre width", nominal_width, *TYRE_WIDTHS)
    within("rim width code", rim_width_code, *RIM_WIDTH_CODES)
    theoretical = nominal_width * aspect_factors(aspect_ratio).theoretical_rim
    rim = MM_PER_INCH * rim_width_code
    return nominal_width + WIDTH_CHANGE_PER_RIM * (rim - theoretical)


def design_section_width(nominal_width: float, aspect_ratio: float, rim_width_code: float) -> int:
    """Return the section width on a given rim rounded to whole mm, as the regulation prints it.

    Inputs and errors as for `section_width`.
    Source: UN Regulation No. 30, 6.1.1.1 (seen).
    """
    return _half_up(section_width(nominal_width, aspect_ratio, rim_width_code))


def width_limits(design_width: float, undersize: float = 0.0) -> Toleranced:
    """Return a design section width with the most a radial tyre may measure, mm.

    `design_width` in mm, above zero. The regulation sets no lower limit, so the lower end is
    `undersize` mm below the design width. Raises ValueError outside.
    Source: UN Regulation No. 30, 6.1.4, +4 per cent, from memory.
    """
    positive("section width", design_width)
    return Toleranced(design_width - undersize, design_width, design_width * 1.04)
