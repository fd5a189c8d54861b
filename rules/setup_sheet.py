"""Starting values for the set-up of a package: from the catalogue's dimensions and facts, by
`rules.engineering`. What is missing is named, never assumed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from kb.baseline import find_baseline
from kb.catalogue import Catalogue
from kb.statements import Axle
from rules import answers as a
from rules.axle_starts import AxleStarts
from rules.checking import Check, Sheet
from rules.resolve import package
from rules.setup_sheet_models import SetupQuestion, SetupSheet, Start
from rules.situation import Situation, situation_of

AXLES: tuple[Axle, ...] = ("front", "rear")
KINDS = ("damper", "spring", "helper-spring", "tyre")
_ALONE = Check("set-up", (), lambda _: None, "", "")
"""A sheet notes the values that a check reads; here there is no verdict."""

_CROSS_FORMULA = "cross = (right front + left rear) / total; front share = front axle / both axles"
_CROSS_SOURCE = "common practice, no source: half, so that the car turns alike both ways"


def setup_sheet(catalogue: Catalogue, question: SetupQuestion) -> SetupSheet:
    """The starting values of the least package for a question.

    Raises what `rules.resolve.package` raises.
    """
    found = package(catalogue, question.question(question.picks, question.on_hand))
    answer = SetupSheet(
        catalog=found.catalog, baseline=found.baseline, outcome=found.outcome, notes=found.notes,
        clashes=found.clashes, ways_out=found.ways_out, proof=found.proof,
    )
    if found.outcome == "impossible":
        return answer
    car = found.baseline
    at = situation_of(catalogue, find_baseline(catalogue, car.vehicle, car.year, car.variant))
    starts = tuple(_starts(_Car(catalogue, at, found), question))
    return answer.model_copy(update={
        "starts": starts, "measure_first": (*found.measure_first, *_measures(starts)),
    })


class _Car:
    """The car as it will stand: what is on each axle, stock or new."""

    def __init__(self, catalogue: Catalogue, at: Situation, found: a.Package) -> None:
        self.catalogue, self.at = catalogue, at
        self.new = [line.part for line in found.lines if line.status != "kept"]
        self.gone = {off.place for off in found.comes_off}

    def sheet(self, axle: Axle | None) -> Sheet:
        """A sheet with the parts of one axle, and the engine."""
        kinds = (*(KINDS if axle else ()), "engine")
        parts = {kind: part for kind in kinds if (part := self._on(kind, axle))}
        return Sheet(
            _ALONE, {kind: (part, self.at.parts[part]) for kind, part in parts.items()},
            self.catalogue, self.at.baseline, axle,
        )

    def _on(self, kind: str, axle: Axle | None) -> str | None:
        where = None if kind == "engine" else axle
        new = (p for p in self.new if self.at.parts[p].kind == kind and where in self.at.axles(p))
        stock = (
            part for place, part in sorted(self.at.baseline.fitted.items())
            if place not in self.gone and self.at.parts[part].kind == kind
            and where in (None, self.at.baseline.places[place].axle)
        )
        return next(new, None) or next(stock, None)


def _starts(car: _Car, question: SetupQuestion) -> Iterator[Start]:
    for axle, wish in zip(AXLES, (question.front, question.rear), strict=True):
        work: tuple[Callable[[AxleStarts], Start], ...] = (
            AxleStarts.spring_perch, AxleStarts.damper_clicks, AxleStarts.helper_travel,
            AxleStarts.tyre_pressure,
        )
        yield from (each(AxleStarts(car.sheet(axle), axle, wish)) for each in work)
    yield _cross(car)


def _cross(car: _Car) -> Start:
    """The cross weight to aim for, and the share of the front axle to expect."""
    sheets = [car.sheet(axle) for axle in AXLES]
    front, rear = (
        AxleStarts(sheet, axle).mass() for sheet, axle in zip(sheets, AXLES, strict=True)
    )
    says = "50 % of the weight on right front and left rear"
    if front is not None and rear is not None:
        says += f"; expect {front / (front + rear):.1%} of it on the front axle"
    says += "; what it is now only four scales tell (kitwright corner-weights)"
    return Start(
        setting="cross_weight", axle=None, value=50.0, unit="%", says=says,
        missing=(
            *dict.fromkeys(missing for sheet in sheets for missing in sheet.missing),
            "scale reading of each corner",
        ),
        values=tuple(
            a.UsedValue(name=v.name, value=v.value, basis=v.basis)
            for sheet in sheets for v in sheet.values
        ),
        formula=_CROSS_FORMULA, source=_CROSS_SOURCE,
    )


def _measures(starts: tuple[Start, ...]) -> Iterator[a.Measure]:
    """What has to be measured or said, each with the settings that wait for it."""
    waiting: dict[str, dict[str, None]] = {}
    for start in starts:
        for what in start.missing:
            name = f"{start.axle or ''} {start.setting.replace('_', ' ')}".strip()
            waiting.setdefault(what, {})[name] = None
    for what, settings in waiting.items():
        yield a.Measure(what=what, because=f"to work out: {', '.join(settings)}")
