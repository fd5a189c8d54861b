"""The check sheet as people read it, for one car or for all cars of the catalogue."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from api import text as t
from api.text_checks import checks_section
from rules import answers as a
from rules.checking import FitVerdict

SAID: Mapping[FitVerdict, str] = {
    "fits": "Yes: every check passes.",
    "fits_with_work": "Yes, with work on the car: see the checks.",
    "does_not_fit": "No: see what does not fit.",
    "not_known": "Not known: see what has to be measured.",
}


def fit_page(sheet: a.FitSheet) -> t.Page:
    """What was compared on one car, with values, formula, margin, verdict and source."""
    yield from t.car(sheet.baseline)
    yield from _sheet(sheet)


def survey_page(survey: a.FitSurvey) -> t.Page:
    """The sheets of all cars, cars with the same sheet together."""
    for group in survey.groups:
        yield from t.heading(f"On {t.count(len(group.cars), 'car')}")
        yield t.say(", ".join(group.cars))
        yield from _sheet(group.sheet)


def _sheet(sheet: a.FitSheet) -> t.Page:
    names = " with ".join(t.named(ref.name, ref.part) for ref in sheet.parts)
    yield t.say(f"{names}: {SAID[sheet.verdict]}", "bold")
    for refusal in sheet.refusals:
        yield t.say(t.sentence(refusal))
    if not sheet.checks and not sheet.refusals:
        yield t.say("Nothing of these parts is compared with each other or with this car.")
    if sheet.checks:
        yield from checks_section(_worst_first(sheet.checks), why=True)
    if sheet.with_stock:
        title = "With stock parts, which can come off"
        yield from checks_section(_worst_first(sheet.with_stock), why=True, title=title)


def _worst_first(checks: Sequence[a.CheckLine]) -> Sequence[a.CheckLine]:
    order = ("does_not_fit", "not_known", "fits_with_work", "fits")
    return sorted(checks, key=lambda check: order.index(check.verdict))
