"""The checks of a package: how many came out how, or each with its values and source."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from rich.text import Text

from api import text as t
from rules import answers as a
from rules.checking import FitVerdict

VERDICTS: Mapping[FitVerdict, str] = {
    "fits": "fit", "fits_with_work": "fit with work", "does_not_fit": "do not fit",
    "not_known": "not known",
}


def checks_section(
    checks: Sequence[a.CheckLine], *, why: bool, title: str = "Checks"
) -> t.Page:
    """How the checks came out; with `why`, each with margin, values, formula and source."""
    yield from t.heading(title)
    if not checks:
        yield t.say("No combination here takes a check: it rests on what the catalogue states.")
        return
    found = [check.verdict for check in checks]
    said = ", ".join(f"{found.count(v)} {word}" for v, word in VERDICTS.items() if v in found)
    hint = "" if why else " (--why shows each)"
    yield t.say(f"{t.count(len(checks), 'combination')} checked: {said}{hint}.")
    if why:
        yield t.bullets([t.stack(list(_check(check))) for check in checks])


def _check(check: a.CheckLine) -> Iterator[Text]:
    where = f" ({check.axle})" if check.axle else ""
    verdict = t.words(check.verdict)
    yield t.say(f"{' with '.join(check.names)}{where}: {verdict}. {t.sentence(check.says)}")
    if check.margin is not None:
        yield t.say("; ".join(_margins(check)), "dim")
    if check.values:
        values = "; ".join(f"{v.name} = {v.value} [{t.words(v.basis)}]" for v in check.values)
        yield t.say(values, "dim")
    yield t.say(" ".join(_grounds(check)), "dim")


def _margins(check: a.CheckLine) -> Iterator[str]:
    for label, value in (
        ("margin", check.margin), ("required", check.required), ("worst case", check.worst_case)
    ):
        if value is not None:
            yield f"{label} {t.amount(value, check.unit)}"


def _grounds(check: a.CheckLine) -> Iterator[str]:
    yield f"Check {check.check}, {t.words(check.basis)}."
    if check.formula:
        yield f"Formula: {check.formula}."
    if check.source:
        yield f"Source: {check.source}."
