"""The size strings of the trade: tyres, rims, threads and bolt circles.

Each is read into its numbers, so that two spellings of one size are equal and every number can
be compared. The designations are those of ISO 4000-1/-2 (tyres and rims), ISO 261/965 (metric
threads) and ASME B1.1 (unified threads).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated

from kb.errors import shown
from kb.texts import text_type

INCH = 25.4

_TYRE = re.compile(
    r"P?(\d{3})/(\d{2})\s*Z?R\s*(\d{2}(?:\.5)?)"
    r"(?:\s+(\()?([1-9]\d{1,2})\s*(A[1-8]|[B-HJ-NP-UVWYZ])(?(4)\)))?(?:\s+(XL|RF|EXTRA LOAD))?",
    re.IGNORECASE | re.ASCII,
)
_RIM = re.compile(r"(\d{1,2}(?:\.\d{1,2})?)\s*(JJ|JK|J|B|K)?\s*[xX×]\s*(\d{2}(?:\.5)?)", re.ASCII)
_METRIC = re.compile(r"M(\d{1,2}(?:\.\d)?)\s*[xX×]\s*(\d(?:\.\d{1,2})?)", re.ASCII)
_UNIFIED = re.compile(r"(\d{1,2})/(\d{1,2})\s*-\s*(\d{1,2})(?:\s*UN[CFS]?)?", re.ASCII)
_CIRCLE = re.compile(
    r"(\d{1,2})\s*[xX×]\s*(?:(\d{2,3}(?:\.\d{1,3})?)(?:\s*mm)?|(\d(?:\.\d{1,3})?)\s*in)", re.ASCII
)


@dataclass(frozen=True, slots=True)
class TyreSize:
    """A metric tyre size: width in mm, aspect ratio in %, rim diameter code in inches.

    `load_index` 0 and an empty `speed_symbol` mean that the designation does not state them.
    """

    width: int
    aspect: int
    rim_code: float
    load_index: int = 0
    speed_symbol: str = ""
    extra_load: bool = False

    def __str__(self) -> str:
        service = f" {self.load_index}{self.speed_symbol}" if self.load_index else ""
        extra = " XL" if self.extra_load else ""
        return f"{self.width}/{self.aspect} R{self.rim_code:g}{service}{extra}"


@dataclass(frozen=True, slots=True)
class RimSize:
    """A rim size: width and diameter codes in inches, flange letter."""

    width_code: float
    diameter_code: float
    flange: str = "J"

    def __str__(self) -> str:
        return f"{self.width_code:g} {self.flange} x {self.diameter_code:g}"


@dataclass(frozen=True, slots=True)
class Thread:
    """A thread: major diameter and pitch in mm, and the callout as the trade writes it."""

    diameter: float
    pitch: float
    callout: str

    def __str__(self) -> str:
        return self.callout


@dataclass(frozen=True, slots=True)
class BoltCircle:
    """Number of holes and diameter of the circle through their centres, mm."""

    holes: int
    diameter: float

    def __str__(self) -> str:
        return f"{self.holes} x {self.diameter:g}"


@lru_cache(maxsize=4096)
def parse_tyre(text: str) -> TyreSize:
    """Reads "205/45 R17 88W XL". Raises ValueError saying what was expected."""
    match = _TYRE.fullmatch(text.strip())
    if not match:
        raise ValueError(f"{shown(text)} is not a tyre size, such as '205/45 R17 88W'")
    width, aspect, rim, _, load, speed, extra = match.groups()
    if not (105 <= int(width) <= 455 and 20 <= int(aspect) <= 90 and 10 <= float(rim) <= 26):
        raise ValueError(f"{shown(text)} is outside the range of passenger-car tyre sizes")
    return TyreSize(
        int(width), int(aspect), float(rim), int(load or 0), (speed or "").upper(), bool(extra)
    )


@lru_cache(maxsize=4096)
def parse_rim(text: str) -> RimSize:
    """Reads "7.5 J x 17". Raises ValueError saying what was expected."""
    match = _RIM.fullmatch(text.strip())
    if not match:
        raise ValueError(f"{shown(text)} is not a rim size, such as '7.5 J x 17'")
    if not (3 <= float(match[1]) <= 14 and 10 <= float(match[3]) <= 26):
        raise ValueError(f"{shown(text)} is outside the range of passenger-car rim sizes")
    return RimSize(float(match[1]), float(match[3]), match[2] or "J")


@lru_cache(maxsize=4096)
def parse_thread(text: str) -> Thread:
    """Reads "M12 x 1.5" or "3/8-24 UNF". Raises ValueError saying what was expected."""
    thread = _metric(text.strip()) or _unified(text.strip())
    if thread is None or not 0 < thread.pitch < thread.diameter:
        raise ValueError(f"{shown(text)} is not a thread, such as 'M12 x 1.5' or '3/8-24'")
    return thread


def _metric(text: str) -> Thread | None:
    if not (match := _METRIC.fullmatch(text)):
        return None
    size, pitch = float(match[1]), float(match[2])
    return Thread(size, pitch, f"M{size:g} x {pitch:g}")


def _unified(text: str) -> Thread | None:
    if not (match := _UNIFIED.fullmatch(text)):
        return None
    above, below, per_inch = map(int, match.groups())
    if not below or not per_inch:
        return None
    return Thread(round(above / below * INCH, 9), INCH / per_inch, f"{above}/{below}-{per_inch}")


@lru_cache(maxsize=4096)
def parse_circle(text: str) -> BoltCircle:
    """Reads "5 x 112" (mm) or "5 x 4.5 in". Raises ValueError saying what was expected."""
    match = _CIRCLE.fullmatch(text.strip())
    if not match:
        raise ValueError(f"{shown(text)} is not a bolt circle, such as '5 x 112'")
    diameter = float(match[2]) if match[2] else round(float(match[3]) * INCH, 3)
    if not (3 <= int(match[1]) <= 10 and 70 <= diameter <= 250):
        raise ValueError(f"{shown(text)} is outside the range of road-car bolt circles")
    return BoltCircle(int(match[1]), diameter)


Tyre = Annotated[TyreSize, text_type(TyreSize, parse_tyre, "tyre size", "205/45 R17 88W")]
Rim = Annotated[RimSize, text_type(RimSize, parse_rim, "rim size", "7.5 J x 17")]
ThreadSize = Annotated[Thread, text_type(Thread, parse_thread, "thread", "M12 x 1.5")]
Circle = Annotated[BoltCircle, text_type(BoltCircle, parse_circle, "bolt circle", "5 x 112")]
