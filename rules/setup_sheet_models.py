"""Starting values for the set-up of a car: question and answer. Lengths in mm, pressures in bar."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from kb.statements import Axle
from rules import answers as a

Setting = Literal[
    "spring_perch", "damper_clicks", "helper_travel", "tyre_pressure", "cross_weight",
]

CAUTIONS = (
    "Starting values only: they are worked out for a car that nobody has driven. The vehicle "
    "maker's manual and its limits come first.",
    "Stand the car on rated supports and take the load off a spring before its perch is turned; a "
    "loaded spring can hurt.",
    "After each change of ride height: toe and camber, room of tyres and brake hoses, headlamps.",
)


class AxleWish(a.Model):
    """What is wanted of one axle. What is left out is asked for, never assumed."""

    ride_height: float | None = Field(
        None, ge=100, le=1000, description="wheel centre to arch edge, mm"
    )
    damping_ratio: float | None = Field(None, gt=0, le=1.5, description="at the wheel")


class SetupQuestion(a.Terms):
    """A package on one car, and what is wanted of its set-up."""

    picks: tuple[a.Item, ...] = Field((), max_length=200)
    on_hand: tuple[a.Item, ...] = Field((), max_length=1000)
    front: AxleWish = AxleWish()
    rear: AxleWish = AxleWish()


class Start(a.Model):
    """One starting value and how it was worked out; or what is missing for it."""

    setting: Setting
    axle: Axle | None
    value: float | None = Field(description="None: not known, or nothing to set")
    unit: str
    says: str
    missing: tuple[str, ...] = ()
    values: tuple[a.UsedValue, ...] = ()
    formula: str = ""
    source: str = ""


class SetupSheet(a.Model):
    """The starting values of a car, axle by axle."""

    catalog: a.CatalogRef
    baseline: a.BaselineRef
    outcome: a.Outcome
    notes: tuple[str, ...] = ()
    starts: tuple[Start, ...] = ()
    measure_first: tuple[a.Measure, ...] = ()
    cautions: tuple[str, ...] = CAUTIONS
    clashes: tuple[a.Clash, ...] = ()
    ways_out: tuple[a.WayOut, ...] = ()
    proof: a.Proof | None = None
