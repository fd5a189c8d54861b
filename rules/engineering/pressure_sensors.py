"""Tyre-pressure sensors: whether a vehicle must have them, when they warn, what they talk to."""

from datetime import date
from typing import NamedTuple

from rules.engineering.guards import positive

BAND_SPREAD = 0.5
"""Two radio frequencies closer than this, MHz, are one band. Common practice, no source."""


class Phases(NamedTuple):
    """First day of the time in which some cars must warn, and of that in which all must."""

    some: date
    all: date


RULES = {
    "us": Phases(date(2005, 10, 5), date(2007, 9, 1)),
    "eu": Phases(date(2012, 11, 1), date(2014, 11, 1)),
}
"""Passenger cars. US: 70 FR 18136 (start seen; end from memory). EU: Regulation (EC) 661/2009
(dates on two secondary pages)."""

_US_SHARE, _US_FLOOR = 0.75, {"standard": 1.4, "extra": 1.6}
_EU_SHARE = 0.80


def sensors_required(market: str, built: date) -> str:
    """Return `yes`, `no` or `perhaps` for a passenger car of a market (`us`, `eu`) by build date.

    `perhaps` is the time in which only part of the cars had to warn: look at the car. The rule
    asks for a warning; a car that compares wheel speeds may give it without sensors in the wheels.
    Raises ValueError for other markets.
    Source: 70 FR 18136 and Regulation (EC) 661/2009 (dates partly secondary or from memory).
    """
    if market not in RULES:
        raise ValueError(f"the rule is known for {', '.join(RULES)}, not {market!r}")
    phases = RULES[market]
    if built >= phases.all:
        return "yes"
    return "perhaps" if built >= phases.some else "no"


def us_warning_pressure(placard: float, construction: str = "standard") -> float:
    """Return the pressure at which the warning must be on, bar, by the US rule.

    `placard` is the recommended cold pressure in bar, above zero; `construction` is `standard`
    or `extra`. Raises ValueError outside.
    Source: FMVSS 138: 25 per cent below placard (70 FR 18136); floor of Table 1, from memory.
    """
    if construction not in _US_FLOOR:
        raise ValueError(f"construction must be standard or extra, not {construction!r}")
    return max(_US_SHARE * positive("placard pressure", placard), _US_FLOOR[construction])


def eu_warning_pressure(warm: float) -> float:
    """Return the pressure at which the warning must be on, bar, by the UN rule.

    `warm` is the pressure of the warm tyre in bar, above zero; raises ValueError outside.
    Source: UN Regulation No. 141, paragraph 5, 20 per cent below, from memory.
    """
    return _EU_SHARE * positive("warm pressure", warm)


def same_band(sensor: float, receiver: float) -> bool:
    """Return whether a sensor can be heard by the car; both frequencies in MHz, above zero.

    The car's receiver decides, not the country it is driven in. The message must suit as well,
    which a frequency alone does not show. Raises ValueError outside.
    Source: common practice, no source; 315 and 433.92 MHz seen in radio filings.
    """
    return abs(positive("sensor", sensor) - positive("receiver", receiver)) < BAND_SPREAD
