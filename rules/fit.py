"""The check sheet: do these parts go together, on this car or on any car of the catalogue?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from kb.baseline import Baseline, baselines
from kb.catalogue import Catalogue
from kb.errors import QuestionError
from rules import answers as a
from rules.asking import known_part
from rules.checking import FitVerdict
from rules.combining import judge
from rules.naming import baseline_ref, catalog_ref, check_line, part_ref
from rules.situation import Situation, situation_of

WORST_FIRST: tuple[FitVerdict, ...] = ("does_not_fit", "not_known", "fits_with_work", "fits")


def fit(catalogue: Catalogue, parts: Sequence[str], baseline: Baseline) -> a.FitSheet:
    """Every check of `parts` on one car; what they say with stock parts is listed apart.

    Raises QuestionError for unknown parts, and for two that want one place.
    """
    situation = situation_of(catalogue, baseline)
    for i, part in enumerate(parts):
        known_part(situation, part, f"parts.{i}")
    refusals = [
        f"{situation.name(part)}: {why}" for part in parts if (why := situation.refusal(part))
    ]
    found = [] if refusals else list(_checks(situation, parts))
    asked = set(parts)
    checks = tuple(line for line in found if asked.issuperset(line.parts))
    return a.FitSheet(
        catalog=catalog_ref(catalogue), baseline=baseline_ref(baseline),
        parts=tuple(part_ref(situation, part) for part in parts),
        verdict="does_not_fit" if refusals else _overall(checks),
        refusals=tuple(refusals), checks=checks,
        with_stock=tuple(line for line in found if not asked.issuperset(line.parts)),
    )


def fit_everywhere(catalogue: Catalogue, parts: Sequence[str]) -> a.FitSurvey:
    """The check sheet on every car, cars with the same sheet taken together."""
    groups: dict[str, tuple[a.FitSheet, list[str]]] = {}
    for baseline in baselines(catalogue):
        sheet = fit(catalogue, parts, baseline)
        key = sheet.model_dump_json(exclude={"baseline"})
        groups.setdefault(key, (sheet, []))[1].append(baseline.id)
    if not groups:
        raise QuestionError("vehicle", "the catalogue has no vehicle")
    return a.FitSurvey(groups=tuple(
        a.FitGroup(cars=tuple(cars), sheet=sheet) for sheet, cars in groups.values()
    ))


def _checks(situation: Situation, parts: Sequence[str]) -> Iterator[a.CheckLine]:
    off = {
        place for part in parts
        for place in (*situation.parts[part].takes, *situation.parts[part].clears)
    }
    asked = set(parts)
    for found in judge(situation, list(dict.fromkeys(parts)), off):
        if asked.intersection(member.part for member in found.members):
            yield check_line(situation, found)


def _overall(checks: Iterable[a.CheckLine]) -> FitVerdict:
    """The worst verdict decides; with nothing compared, nothing is known."""
    found = {line.verdict for line in checks}
    return next((verdict for verdict in WORST_FIRST if verdict in found), "not_known")
