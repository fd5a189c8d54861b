"""The answers: one tree of models that serves the API, its OpenAPI, the command line and the tests.

Sums of money are decimal texts in the catalogue's currency; amounts are numbers in `unit` (empty:
pieces); minutes, kilograms and millimetres are plain numbers.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from rules.checking import FitVerdict

Preference = Literal["least_cost", "least_work", "least_mass", "fewest_parts"]
Outcome = Literal["complete", "complete_once_measured", "impossible"]
Status = Literal["picked", "needed", "chosen", "kept", "on_hand"]


class Model(BaseModel):
    """Root of all answers and questions: strict about unknown fields."""

    model_config = ConfigDict(extra="forbid", frozen=True)


def _whole(value: object) -> object:
    return int(value) if isinstance(value, float) and value.is_integer() else value


AsWhole = BeforeValidator(_whole)
"""Takes 2017.0 for 2017: to JSON, and so to JSON Schema, they are one number (RFC 8259)."""

Year = Annotated[int, Field(ge=1900, le=2100), AsWhole]


# -- questions ---------------------------------------------------------------------------------


class Item(Model):
    """A part and how many; without a quantity, what its places hold, or one."""

    part: str = Field(examples=["caliper-tarn-4"])
    qty: float | None = Field(None, gt=0, le=1_000_000)


class Wished(Model):
    """How a package is to be: what it is to have least of, what is not wanted, what it may cost."""

    prefer: Preference = "least_cost"
    keep: tuple[str, ...] = Field((), max_length=100, description="places to leave stock")
    avoid: tuple[str, ...] = Field((), max_length=200, description="parts that are not wanted")
    avoid_makers: tuple[str, ...] = Field((), max_length=50, description="makers not wanted")
    refuse_work: tuple[str, ...] = Field((), max_length=100, description="work steps refused")
    reversible_only: bool = Field(False, description="refuse work that cannot be undone")
    certain_only: bool = Field(False, description="refuse what leaves anything to measure")
    budget: str | None = Field(
        None, pattern=r"^\d{1,7}(\.\d{1,2})?$", description="the most the package may cost"
    )


class OfCar(Model):
    """Which car a question is about."""

    vehicle: str = Field(examples=["plover"])
    year: Year | None = None
    variant: str | None = None


class Terms(Wished, OfCar):
    """A car, and how the package for it is to be: what every question about packages has."""

    deadline: float = Field(10.0, gt=0, le=120, description="seconds")

    def question(self, picks: tuple[Item, ...], on_hand: tuple[Item, ...] = ()) -> Question:
        """The question about these picks on the same terms, without alternatives."""
        terms = {name: getattr(self, name) for name in Terms.model_fields}
        return Question(**terms, picks=picks, on_hand=on_hand, alternatives=False)


class Question(Terms):
    """What somebody wants for one car."""

    picks: tuple[Item, ...] = Field((), max_length=200)
    on_hand: tuple[Item, ...] = Field((), max_length=1000)
    alternatives: bool = Field(True, description="price what could be had instead")


# -- answers ---------------------------------------------------------------------------------


class CatalogRef(Model):
    """The catalogue an answer is from."""

    name: str
    digest: str
    currency: str


class BaselineRef(Model):
    """The car an answer is for."""

    id: str
    name: str
    vehicle: str
    variant: str
    year: int
    equipment: tuple[str, ...]


class Link(Model):
    """One step of a chain of reasons, from a pick towards the line it explains."""

    node: str
    text: str
    why: str = Field(description="the reason alone; empty where the catalogue gives none")
    basis: str
    source: str


class Serving(Model):
    """What a line is there for: the need it meets and how much of it falls on this line."""

    need: str
    asked_by: str
    qty: float
    text: str
    why: str


class Instead(Model):
    """What could be had instead, and how the whole package would then differ in price."""

    part: str
    name: str
    difference: str | None = Field(description="of the whole package; None: not worked out")


class Line(Model):
    """One line of a kit list."""

    part: str
    name: str
    kind: str
    maker: str
    status: Status
    qty: float
    unit: str
    bought: float = Field(description="of qty, what has to be ordered")
    packs: int
    pack: float
    spare: float = Field(description="left over from whole packs")
    in_kit: str | None = Field(description="the kit it comes in")
    on_hand: float = Field(description="of qty, what is already there")
    places: tuple[str, ...]
    price: str | None = Field(description="for all packs; None: not priced")
    because: tuple[Link, ...]
    serves: tuple[Serving, ...]
    instead: tuple[Instead, ...]


class ComesOff(Model):
    """A stock part that comes off the car."""

    part: str
    name: str
    place: str
    place_name: str
    count: int
    because: tuple[Link, ...]


class BesideRow(Model):
    """One value of an old part beside the new one's; None: not known."""

    name: str
    old: str | None
    new: str | None
    change: str | None


class Beside(Model):
    """A stock part beside the part that takes its place."""

    old: str
    old_name: str
    new: str
    new_name: str
    places: tuple[str, ...]
    rows: tuple[BesideRow, ...]


class WorkLine(Model):
    """Work on the car that the package takes."""

    step: str
    name: str
    effect: str
    minutes: float
    reversible: bool
    cautions: tuple[str, ...]
    because: tuple[Link, ...]
    serves: tuple[Serving, ...]


class UsedValue(Model):
    """A value that went into a check."""

    name: str
    value: str
    basis: str


class CheckLine(Model):
    """One check of a combination that is in the package."""

    check: str
    parts: tuple[str, ...]
    names: tuple[str, ...]
    axle: str | None
    aspect: str = Field("", description="which of several verdicts of one check")
    verdict: FitVerdict
    says: str
    margin: float | None
    required: float | None
    worst_case: float | None
    unit: str
    values: tuple[UsedValue, ...]
    formula: str
    source: str
    basis: str


class Measure(Model):
    """Something to measure or ask before the package is certain."""

    what: str
    because: str


class Caution(Model):
    """A caution and what it is about."""

    text: str
    about: tuple[str, ...]


class Totals(Model):
    """What it comes to."""

    currency: str
    parts: str
    labour: str
    price: str
    minutes: float
    mass_change: float = Field(description="kg; what comes on less what comes off")
    unpriced: tuple[str, ...] = Field(description="parts whose price the catalogue lacks")
    unweighed: tuple[str, ...] = Field(description="parts whose mass the catalogue lacks")


class Proof(Model):
    """Whether a package is proven least, and by which order of costs."""

    least: bool
    by: tuple[str, ...]


class ClashMember(Model):
    """One statement of a clash, or several that say the same."""

    statement: str = Field(description="which one, the same in every answer from the catalogue")
    type: str
    text: str
    basis: str
    source: str
    also: tuple[str, ...] = Field(
        (), description="other statements that say the same, such as the conflict of the other "
        "part: they stand or fall together"
    )


class Clash(Model):
    """Statements that cannot hold together; leave any one out and they can."""

    members: tuple[ClashMember, ...]


class Change(Model):
    """One change to a question."""

    type: Literal["leave_out", "swap", "give_up_wish", "raise_budget"]
    text: str
    part: str | None = Field(None, description="the pick that is left out or swapped")
    by: str | None = Field(None, description="what a pick is swapped for, or the new budget")
    wish: str | None = Field(None, description="the field of the question that is given up")


class WayOut(Model):
    """Changes to an impossible question that lead to a package."""

    changes: tuple[Change, ...]
    outcome: Outcome
    price: str = Field(description="of the least package the changes lead to")
    minutes: float


class Package(Model):
    """The answer to a question: everything that goes on the order, or why it cannot be."""

    catalog: CatalogRef
    baseline: BaselineRef
    outcome: Outcome
    notes: tuple[str, ...]
    lines: tuple[Line, ...] = ()
    comes_off: tuple[ComesOff, ...] = ()
    beside: tuple[Beside, ...] = Field((), description="old beside new, for what comes off")
    work: tuple[WorkLine, ...] = ()
    checks: tuple[CheckLine, ...] = ()
    measure_first: tuple[Measure, ...] = ()
    cautions: tuple[Caution, ...] = ()
    totals: Totals | None = None
    proof: Proof | None = None
    unused: tuple[Item, ...] = Field((), description="on hand and not used")
    clashes: tuple[Clash, ...] = ()
    more_clashes: bool = Field(False, description="there may be more clashes than are listed")
    ways_out: tuple[WayOut, ...] = Field((), description="least change first")
    asked: Question | None = Field(None, description="the question, so that it can be re-checked")


class PartRef(Model):
    """A part named in an answer."""

    part: str
    name: str
    kind: str
    price: str | None = Field(description="for one pack; None: not priced")
    pack: float = Field(description="what one pack holds")
    qty: float | None = None
    unit: str = ""
    places: tuple[str, ...] = Field((), description="the places it is in, or goes to")
    because: str = ""


class Group(Model):
    """Something that is needed and can be met in several ways: choose one."""

    because: str
    qty: float
    unit: str
    options: tuple[PartRef, ...]
    stock: tuple[PartRef, ...] = Field(description="stock parts that would do, if they stay")


class StepRef(Model):
    """A work step named in an answer."""

    step: str
    name: str
    minutes: float
    because: str


class Needed(Model):
    """What is needed with a part on one car."""

    catalog: CatalogRef
    baseline: BaselineRef
    part: PartRef
    possible: bool
    notes: tuple[str, ...]
    must: tuple[PartRef, ...] = Field((), description="in every package with this part")
    choose: tuple[Group, ...] = Field((), description="one of each group")
    offer: tuple[PartRef, ...] = Field((), description="worth offering")
    conflicts_with_cart: tuple[ClashMember, ...] = ()
    work: tuple[StepRef, ...] = ()
    measure_first: tuple[Measure, ...] = ()
    comes_off: tuple[PartRef, ...] = ()
    stays: tuple[PartRef, ...] = Field((), description="stock parts that remain good")
    cautions: tuple[Caution, ...] = ()
    clashes: tuple[Clash, ...] = ()


class FitSheet(Model):
    """Every check of some parts on one car."""

    catalog: CatalogRef
    baseline: BaselineRef
    parts: tuple[PartRef, ...]
    verdict: FitVerdict = Field(description="of the parts together on the car")
    refusals: tuple[str, ...] = Field(description="parts that are not for this car, and why")
    checks: tuple[CheckLine, ...] = Field(description="of the parts together and with the car")
    with_stock: tuple[CheckLine, ...] = Field(
        description="of the parts with stock parts, which may have to come off"
    )


class FitGroup(Model):
    """Cars on which the sheet is the same; `sheet` names the first of them."""

    cars: tuple[str, ...]
    sheet: FitSheet


class FitSurvey(Model):
    """The check sheet on every car of the catalogue."""

    groups: tuple[FitGroup, ...]


OptionState = Literal["forced", "possible", "out"]


class Option(Model):
    """A part that may be chosen: in every package, in some, or in none."""

    ref: PartRef
    state: OptionState
    stock: bool = Field(False, description="the stock part, staying where it is")


class StepOption(Model):
    """A work step that may be chosen."""

    step: str
    name: str
    state: OptionState


class PlaceOptions(Model):
    """What can be in one place."""

    place: str
    name: str
    stock: Option | None
    parts: tuple[Option, ...]


class NeedOptions(Model):
    """What can meet a need that every package has."""

    because: str
    parts: tuple[Option, ...]
    steps: tuple[StepOption, ...]


class Refused(Model):
    """Why a part is out, when it is."""

    part: str
    name: str
    out: bool
    clash: Clash | None


class Options(Model):
    """What is still open in a question."""

    catalog: CatalogRef
    baseline: BaselineRef
    possible: bool
    notes: tuple[str, ...]
    places: tuple[PlaceOptions, ...] = ()
    needs: tuple[NeedOptions, ...] = ()
    refused: tuple[Refused, ...] = Field((), description="for the parts asked about")
    clashes: tuple[Clash, ...] = ()


class Hit(Model):
    """Whether one part goes on the car beside what a question asks for."""

    ref: PartRef
    maker: str
    verdict: FitVerdict
    picked: bool = Field(description="the question asks for it already")
    because: str = Field(description="why it does not go, in one sentence")
    clash: Clash | None = Field(description="the whole reason, with the part asked for as well")
    way_out: tuple[Change, ...] = Field(description="what to give up for it; empty: nothing helps")
    work: tuple[StepRef, ...] = Field(description="work it takes beyond what is done anyway")
    measure: tuple[str, ...] = Field(description="what has to be measured before it is certain")


class Hits(Model):
    """Parts with their verdicts."""

    catalog: CatalogRef
    baseline: BaselineRef
    without_picks: bool = Field(description="the picks clash, so the parts are judged without them")
    items: tuple[Hit, ...]


class Front(Model):
    """Packages none of which another beats on price, time and mass at once."""

    catalog: CatalogRef
    baseline: BaselineRef
    packages: tuple[Package, ...]
    complete: bool = Field(description="whether these are all of them")


class Recheck(Model):
    """How an answer that was written down fared against its catalogue."""

    digest: str
    outcome: Outcome
    holds: bool
    findings: tuple[str, ...]
