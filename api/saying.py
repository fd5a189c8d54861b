"""Says what a part's entry states, in words, without regard to any one car."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from api.views import Stated
from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.entries import Part, Variant, Vehicle
from kb.graph import node
from kb.statements import Applies, Known, Need, Recommendation, When, YearSpan
from rules.reasons import Reasons
from rules.situation import Situation

NO_CAR = Baseline("any", "any", 0, Vehicle(
    name="any car", years=YearSpan(), variants={"any": Variant(name="any", engine="any")},
))
"""A car of which nothing is known: statements are then said in general."""


def statements(catalogue: Catalogue, part_id: str) -> Iterator[Stated]:
    """Every statement of a part's entry: fits, needs, conflicts, offers, work."""
    part, say = catalogue.parts[part_id], Reasons(Situation(catalogue, NO_CAR), any_car=True)
    me = node("part", part_id)

    def on(when: When) -> str:
        return _said_when(when, say, me)

    yield from _fits(catalogue, part)
    for need in part.requires:
        text = say.need(me, need).text
        yield _stated("requires", text, need, on(need.when), _amount(need))
    for conflict in part.conflicts:
        what = say.what(conflict, me)
        text = _why(f"{part.name} cannot be combined with {what}", conflict)
        yield _stated("conflicts", text, conflict, on(conflict.when))
    for offer in part.recommends:
        text = _why(f"worth offering with it: {catalogue.parts[offer.part].name}", offer)
        yield _stated("recommends", text, offer, on(offer.when), _amount(offer))
    for work in part.work:
        yield _stated("work", say.work(part_id, work).text, work, on(work.when))


def _fits(catalogue: Catalogue, part: Part) -> Iterator[Stated]:
    for fits in part.fits:
        names = [catalogue.vehicles[v].name for v in fits.vehicles] or ["any car with its places"]
        text = f"{part.name} goes on {' or '.join(names)}"
        if fits.work:
            text += " after " + " and ".join(f"'{catalogue.work[s].name}'" for s in fits.work)
        yield _stated("fits", _why(text, fits), fits, said_where(fits))


def _stated(
    kind: str, text: str, known: Known, on: str, amount: str = ""
) -> Stated:
    return Stated(
        type=kind, text=text, amount=amount, on=on, basis=known.basis, source=known.source or ""
    )


def _why(text: str, known: Known) -> str:
    return f"{text}: {known.why}" if known.why else text


def _amount(asks: Need | Recommendation) -> str:
    if asks.each:
        return f"{asks.each} for each"
    once = asks.once if isinstance(asks, Need) else None
    return f"{once} in all" if once else ""


def said_where(where: Applies) -> str:
    """For which cars a statement holds; empty when it holds for all."""
    said = (
        _one_of("on", where.vehicles), _one_of("variant", where.variants),
        _one_of("engine", where.engines), _one_of("market", where.markets),
        f"years {where.years}" if where.years != YearSpan() else "",
        f"with {' and '.join(where.equipment)}" if where.equipment else "",
        f"without {' or '.join(where.without)}" if where.without else "",
    )
    return ", ".join(filter(None, said))


def _one_of(word: str, names: Sequence[str]) -> str:
    return f"{word} {' or '.join(names)}" if names else ""


def _said_when(when: When, say: Reasons, owner: str) -> str:
    """As `said_where`, and what else has to be on the car, or may not be."""
    beside = (f"beside {say.what(each, owner)}" for each in when.present)
    unless = (f"unless beside {say.what(each, owner)}" for each in when.absent)
    return ", ".join(filter(None, (said_where(when), *beside, *unless)))
