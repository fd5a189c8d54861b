"""What a builder has beside what the build takes: question and answer."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import ConfigDict, Field, model_validator

from kb.stages import Stage
from rules import answers as a

Verdict = Literal["ready", "ready_once_measured", "gaps", "impossible"]


class Have(a.Model):
    """One line of the list of what is there: a part id or a loose description, and how much."""

    model_config = ConfigDict(json_schema_extra={"not": {
        "properties": {"qty": {"type": "number"}, "amount": {"type": "string"}},
        "required": ["qty", "amount"],
    }})

    text: str = Field(min_length=1, max_length=200, examples=["caliper-tarn-4"])
    qty: float | None = Field(
        None, gt=0, le=1_000_000, description="pieces, or the unit the catalogue sells it in"
    )
    amount: str | None = Field(
        None, min_length=1, max_length=40, description="in place of qty: how much, with its unit",
        examples=["0.5 L"],
    )
    row: Annotated[int, Field(ge=1, le=10_000_000), a.AsWhole] | None = Field(
        None, description="where it stands in the list"
    )

    @model_validator(mode="after")
    def _one(self) -> Have:
        if self.qty is not None and self.amount is not None:
            raise ValueError("expected either 'qty' or 'amount'")
        return self


class GapsQuestion(a.Terms):
    """What is there, and what is to be built on one car."""

    have: tuple[Have, ...] = Field(max_length=1000, description="what is there")
    picks: tuple[a.Item, ...] = Field(
        (), max_length=200, description="what is to be built; none: the parts of the list that "
        "take places on the car",
    )


class Lacking(a.Model):
    """Something that the build takes and that is not there, or not enough of it."""

    part: str
    name: str
    kind: str
    need: float
    have: float
    short: float
    unit: str
    because: str
    in_kit: str | None = Field(description="the kit in which it would come cheapest")
    packs: int = Field(description="to order, where it is not in a kit")
    price: str | None = Field(description="of these packs; None: not priced")


class StageGaps(a.Model):
    """What one stage of the build waits for."""

    stage: Stage
    missing: tuple[Lacking, ...] = Field(description="nothing of it is there")
    short: tuple[Lacking, ...] = Field(description="some of it is there")

    @property
    def ready(self) -> bool:
        """Whether everything for this stage is there."""
        return not self.missing and not self.short


class Surplus(a.Model):
    """Something that is there and that the build does not take."""

    part: str
    name: str
    qty: float
    unit: str
    because: str


class Wrong(a.Model):
    """Something on the list that does not go on this car."""

    part: str
    name: str
    rows: tuple[int, ...]
    because: str
    clash: a.Clash | None = Field(None, description="what it is at odds with, on this car alone")


class InConflict(a.Model):
    """Something on the list that cannot be on the car together with what is to be built."""

    part: str
    name: str
    rows: tuple[int, ...]
    clash: a.Clash


class Near(a.Model):
    """A part that a text may mean."""

    part: str
    name: str
    likeness: float = Field(description="of the texts, 0 to 100")


class Unread(a.Model):
    """A line of the list that was left out of account."""

    row: int
    text: str
    because: str
    nearest: tuple[Near, ...] = Field((), description="offered, never taken without being asked")


class Gaps(a.Model):
    """What is missing, short, too much, wrong, in conflict or not understood."""

    catalog: a.CatalogRef
    baseline: a.BaselineRef
    outcome: Verdict
    notes: tuple[str, ...]
    building: tuple[a.PartRef, ...] = Field(description="what is to be built")
    from_list: bool = Field(description="nobody said what to build: it was taken from the list")
    stages: tuple[StageGaps, ...] = Field((), description="every stage that the build has")
    surplus: tuple[Surplus, ...] = ()
    wrong: tuple[Wrong, ...] = ()
    conflicts: tuple[InConflict, ...] = ()
    unread: tuple[Unread, ...] = ()
    measure_first: tuple[a.Measure, ...] = ()
    parts_price: str | None = Field(None, description="of everything still to be ordered")
    clashes: tuple[a.Clash, ...] = ()
    ways_out: tuple[a.WayOut, ...] = ()
    proof: a.Proof | None = None
