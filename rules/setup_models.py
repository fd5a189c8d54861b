"""Question and answer about corner weights. Lengths in mm, weights in kg, rates in N/mm."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from rules import answers as a

CORNERS = ("left_front", "right_front", "left_rear", "right_rear")

FORMULA = (
    "F = K·(p - A·q), Aᵀ·F = weight (springs p at the wheels, body heave, pitch and roll q); "
    "wheel rate = spring rate · motion ratio²; least squares of cross, heights and movement"
)
SOURCE = (
    "statics of a rigid body on four springs, one degree indeterminate (computed); which diagonal "
    "is called cross is common practice, no source"
)
CAUTIONS = (
    "Support the car on rated stands and take the load off a spring before its perch is turned; a "
    "loaded spring can hurt.",
    "Scales level with each other within 1 mm, tyre pressures set, driver or ballast aboard, "
    "anti-roll bars disconnected unless their rates are given.",
    "Ride height and corner weights are set last. Roll the car and settle it after each round, "
    "read the scales again, then check toe and camber, and the room of tyres and brake hoses.",
)

Outcome = Literal["reached", "short", "not_known"]


class CornerReading(a.Model):
    """What is known of one corner. What is left out is read from the catalogue, or asked for."""

    scale: float = Field(gt=0, le=5000, description="kg on the scale")
    height: float | None = Field(None, ge=0, le=2000, description="body height now, mm")
    wanted_height: float | None = Field(
        None, ge=0, le=2000, description="body height wanted, mm; none: free"
    )
    spring_rate: float | None = Field(None, gt=0, le=2000, description="N/mm")
    motion_ratio: float | None = Field(
        None, ge=0.3, le=1.5, description="spring travel over wheel travel"
    )
    thread_pitch: float | None = Field(None, gt=0, le=10, description="mm per turn of the perch")
    room_down: float | None = Field(None, ge=0, le=500, description="thread left below, mm")
    room_up: float | None = Field(None, ge=0, le=500, description="thread left above, mm")


class CornerReadings(a.Model):
    """The four corners."""

    left_front: CornerReading
    right_front: CornerReading
    left_rear: CornerReading
    right_rear: CornerReading

    def each(self) -> tuple[CornerReading, ...]:
        """The corners in the order of `CORNERS`."""
        return self.left_front, self.right_front, self.left_rear, self.right_rear


class CornerQuestion(a.Model):
    """A car on its scales, and what is wanted of it."""

    vehicle: str = Field(examples=["plover"])
    year: a.Year | None = None
    variant: str | None = None
    parts: tuple[str, ...] = Field(
        (), max_length=50, description="springs and dampers on the car in place of the stock ones"
    )
    corners: CornerReadings
    cross: float = Field(
        50.0, ge=30, le=70, description="wanted share of right front and left rear, % of the total"
    )
    wheelbase: float | None = Field(None, gt=0, le=10_000, description="mm")
    front_track: float | None = Field(None, gt=0, le=5000, description="mm")
    rear_track: float | None = Field(None, gt=0, le=5000, description="mm")
    bars_connected: bool = Field(False, description="the anti-roll bars are still connected")
    front_bar: float | None = Field(None, ge=0, le=1000, description="N/mm at the wheel")
    rear_bar: float | None = Field(None, ge=0, le=1000, description="N/mm at the wheel")


class CornerPlan(a.Model):
    """What to do at one corner, and what comes of it."""

    corner: str
    scale: float = Field(description="kg, as read")
    turns: float = Field(description="of the perch; positive raises the body")
    move: float = Field(description="mm along the damper; positive is up")
    scale_after: float = Field(description="kg, predicted")
    height_change: float = Field(description="mm, predicted; positive is up")
    height_missing: float = Field(description="mm that the wanted height is not reached by")
    at_limit: bool = Field(description="the perch ends on its thread")


class CornerShares(a.Model):
    """Shares of the total weight, %."""

    cross: float = Field(description="right front and left rear")
    front: float
    left: float


class CornerWeights(a.Model):
    """The answer: turns at each perch, or what has to be measured first."""

    catalog: a.CatalogRef
    baseline: a.BaselineRef
    outcome: Outcome
    total: float = Field(description="kg")
    now: CornerShares
    wanted_cross: float
    after: CornerShares | None = None
    corners: tuple[CornerPlan, ...] = ()
    cross_from: float | None = Field(None, description="least cross share the threads allow, %")
    cross_to: float | None = Field(None, description="greatest cross share the threads allow, %")
    measure_first: tuple[a.Measure, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = CAUTIONS
    values: tuple[a.UsedValue, ...] = ()
    formula: str = FORMULA
    source: str = SOURCE
