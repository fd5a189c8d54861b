"""Corner weights for people: the turns of each perch, or what has to be measured."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from api import text as t
from rules.setup_models import CornerPlan, CornerWeights, Outcome

SAID: dict[Outcome, str] = {
    "reached": "Yes: these turns bring the car to what is wanted.",
    "short": "Not wholly: the perches do not reach all that is wanted.",
    "not_known": "Not known yet: something has to be measured first.",
}


def corner_weights_page(found: CornerWeights, *, why: bool) -> t.Page:
    """The answer as a page; with `why`, each value and where it came from."""
    yield from t.car(found.baseline)
    yield t.say(SAID[found.outcome], "bold")
    yield from t.measures(found.measure_first)
    if found.corners:
        yield from t.heading("Turns")
        table = t.table(
            "Corner", "Turns", "Scale now", "Scale then", "Height", right=[1, 2, 3, 4], rigid=[0]
        )
        for corner in found.corners:
            table.add_row(*_row(corner))
        yield table
        yield t.say("Turns: positive raises the body. Scales in kg, change of height in mm.")
    yield t.fact_lines(_shares(found))
    yield from t.heading("Notes")
    yield t.bullets([t.say(t.sentence(note)) for note in found.notes])
    yield from t.heading("Cautions")
    yield t.bullets([t.say(caution) for caution in found.cautions])
    if why:
        yield from _grounds(found)
    yield from t.origin(found.catalog)


def _row(corner: CornerPlan) -> tuple[str, ...]:
    end = " (end of thread)" if corner.at_limit else ""
    return (
        f"{t.words(corner.corner)}{end}", f"{corner.turns:+.2f}", f"{corner.scale:.1f}",
        f"{corner.scale_after:.1f}", f"{corner.height_change:+.1f}",
    )


def _shares(found: CornerWeights) -> Iterator[tuple[str, str]]:
    yield "Total", f"{found.total:.1f} kg"
    yield "Cross weight now", f"{found.now.cross:.2f} %"
    yield "Wanted", f"{found.wanted_cross:.2f} %"
    if found.after:
        yield "Then", f"{found.after.cross:.2f} %"


def _grounds(found: CornerWeights) -> t.Page:
    yield from t.heading("Values")
    yield t.bullets(t.say(f"{v.name} = {v.value} [{v.basis}]") for v in found.values)
    yield from (t.say(f"{label}: {said}.", "dim") for label, said in chain(
        [("Formula", found.formula)], [("Source", found.source)]
    ))
