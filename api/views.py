"""What the API shows of a catalogue, beside the answers of `rules.answers`.

The same conventions hold: sums of money are decimal texts, `qty` is in `unit` (empty: pieces),
dimensions are texts with their unit.
"""

from __future__ import annotations

from pydantic import Field

from api.notice import Refusal
from rules.answers import BaselineRef, CatalogRef, Model, Outcome, Proof
from rules.checking import FitVerdict

# -- vehicles ----------------------------------------------------------------------------------


class PlaceView(Model):
    """A place of a vehicle."""

    place: str
    name: str
    count: int
    axle: str | None


class VariantView(Model):
    """A variant of a vehicle, and in which years it was made."""

    variant: str
    name: str
    engine: str
    market: str | None
    years: str
    equipment: tuple[str, ...] = Field(description="what each of them has")


class EquipmentView(Model):
    """Equipment that some cars have; `on` says which."""

    equipment: str
    on: str


class BaselineView(Model):
    """One car as it left the factory."""

    id: str
    name: str
    variant: str
    year: int
    equipment: tuple[str, ...]


class VehicleView(Model):
    """A vehicle with all there is to choose from."""

    vehicle: str
    name: str
    years: str
    engines: tuple[str, ...]
    variants: tuple[VariantView, ...]
    equipment: tuple[EquipmentView, ...]
    places: tuple[PlaceView, ...]
    baselines: tuple[BaselineView, ...]


class Vehicles(Model):
    """Some of the vehicles, in the order of their ids."""

    catalog: CatalogRef
    items: tuple[VehicleView, ...]
    total: int = Field(description="vehicles on all pages")
    next: str | None = Field(description="give it as `after` for the next page; None: no more")


# -- parts -------------------------------------------------------------------------------------


class PartRow(Model):
    """A part in a list."""

    part: str
    name: str
    kind: str
    maker: str | None
    price: str | None = Field(description="for one pack; None: not priced")
    pack: float = Field(description="what one pack holds, in unit")
    unit: str
    places: tuple[str, ...]
    orderable: bool = Field(description="for sale, and not replaced by another part")


class PartsPage(Model):
    """Some of the parts, in the order of their ids."""

    catalog: CatalogRef
    items: tuple[PartRow, ...]
    total: int = Field(description="parts that match, on all pages")
    next: str | None = Field(description="give it as `after` for the next page; None: no more")


class Stated(Model):
    """One statement about a part, in words."""

    type: str = Field(description="fits, requires, conflicts, recommends or work")
    text: str
    amount: str = Field(description="how much of it; empty: one, once")
    on: str = Field(description="for which cars and beside what it holds; empty: always")
    basis: str
    source: str


class ContentView(Model):
    """A part inside a kit."""

    part: str
    name: str
    qty: float
    unit: str


class PartView(Model):
    """Everything the catalogue knows about a part."""

    catalog: CatalogRef
    part: str
    name: str
    kind: str
    maker: str | None
    price: str | None = Field(description="for one pack; None: not priced")
    pack: float = Field(description="what one pack holds, in unit")
    unit: str
    places: tuple[str, ...] = Field(description="it fills all of these")
    clears: tuple[str, ...] = Field(description="places whose stock part comes off with it")
    orderable: bool = Field(description="for sale, and not replaced by another part")
    one_time_use: bool
    mass: float | None = Field(description="kg, of one unit")
    fitting_minutes: float | None = Field(description="to fit one unit")
    dimensions: dict[str, str]
    not_known: tuple[str, ...] = Field(description="dimensions of its kind that nobody stated")
    contents: tuple[ContentView, ...]
    supersedes: tuple[str, ...] = Field(description="older parts that it replaces")
    superseded_by: tuple[str, ...] = Field(description="newer parts that replace it, newest last")
    statements: tuple[Stated, ...]
    cautions: tuple[str, ...]
    note: str | None


# -- graph -------------------------------------------------------------------------------------


class GraphNode(Model):
    """A node: `type` is part, kind, place, vehicle, variant, step, rule, trial or need."""

    id: str
    label: str
    type: str


class GraphEdge(Model):
    """An edge: what is stated, or, with a verdict, what a check computed."""

    source: str
    target: str
    type: str
    text: str
    basis: str | None
    margin: float | None
    check: str | None = None
    axle: str | None = None
    verdict: FitVerdict | None = None
    required: float | None = None
    worst_case: float | None = None
    unit: str = ""


class GraphView(Model):
    """The neighbourhood of a node as node-link data, as networkx reads it."""

    directed: bool
    multigraph: bool
    graph: dict[str, str]
    nodes: tuple[GraphNode, ...]
    edges: tuple[GraphEdge, ...]
    truncated: bool = Field(description="whether there is more within this depth than is shown")


# -- drawings ----------------------------------------------------------------------------------


class DrawnValue(Model):
    """A number that is written in a drawing."""

    name: str
    value: float
    unit: str


class DrawingRow(Model):
    """A drawing in a list."""

    name: str
    title: str
    caption: str
    alt: str = Field(description="all that it shows, in words")
    href: str = Field(description="where it is as SVG")
    values: tuple[DrawnValue, ...]


class Drawings(Model):
    """The drawings of a package; of an impossible question, the picks as asked for."""

    catalog: CatalogRef
    baseline: BaselineRef
    outcome: Outcome
    items: tuple[DrawingRow, ...]
    proof: Proof | None


# -- the service -------------------------------------------------------------------------------


class RouteView(Model):
    """One route of the API."""

    method: str
    path: str
    summary: str


class Index(Model):
    """What there is here."""

    name: str
    version: str
    catalog: CatalogRef
    routes: tuple[RouteView, ...]
    problems: tuple[str, ...] = Field(description="codes; each is described at /problems/{code}")


class Health(Model):
    """The process is alive."""

    status: str


class Readiness(Model):
    """The catalogue is in and questions are answered."""

    status: str
    catalog: CatalogRef
    vehicles: int
    parts: int
    refused: Refusal | None = Field(
        None, description="a newer catalogue that is not served since it has errors"
    )


class ProblemView(Model):
    """One kind of problem."""

    code: str
    status: int
    title: str
    meaning: str
