"""Trial fits against what is computed, against what is stated, and against each other."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, product

from kb.baseline import Baseline
from kb.entries import Trial
from kb.errors import nearest_name
from rules.alike import said
from rules.audit_base import Finding, Scene
from rules.checking import Check, Verdict, checks
from rules.combining import Placed, added, combine, stock_by_kind
from rules.situation import Situation

GOOD = ("fits", "fits_with_work")


def trials_against_checks(scene: Scene) -> Iterator[Finding]:
    """Trial fits that a computed verdict speaks against, and those that no check listens to."""
    for key, trial in scene.catalogue.trials.items():
        if trial.check is not None and trial.check not in checks():
            near = nearest_name(trial.check, checks())
            yield scene.finding(
                "error", "unknown-check", "trials", key,
                f"the trial '{key}' names a check '{trial.check}' that does not exist",
                f"did you mean '{near}'?" if near else f"one of {', '.join(checks())}",
            )
        else:
            yield from _trial(scene, key, trial)


def _trial(scene: Scene, key: str, trial: Trial) -> Iterator[Finding]:
    heard = False
    disputed: dict[str, list[Baseline]] = {}
    for group in (g for g in scene.groups if g[0].applies(trial.on)):
        verdicts = list(_judged(scene.situation(group), trial))
        heard = heard or bool(verdicts)
        against = _against(trial, [v.overrules for v in verdicts if v.overrules])
        if against:
            disputed.setdefault(against, []).extend(group)
    if disputed:
        yield _disagrees(scene, key, trial, disputed)
    if not heard and any(car.applies(trial.on) for car in scene.cars):
        yield scene.finding(
            "warning", "trial-unheard", "trials", key,
            f"the trial '{key}' changes nothing: no check compares just these parts on a car "
            "it is for",
            "name the parts that one check compares, or state a fit or a conflict instead",
        )


def _against(trial: Trial, computed: list[Verdict]) -> str:
    """What is computed against a trial; empty where nothing is, or where it is not known."""
    bad = [verdict for verdict in computed if verdict.verdict == "does_not_fit"]
    if trial.verdict in GOOD:
        return f"{bad[0].check}: {bad[0].says}" if bad else ""
    if computed and all(verdict.verdict in GOOD for verdict in computed):
        return f"a fit by {', '.join(sorted({verdict.check for verdict in computed}))}"
    return ""


def _disagrees(
    scene: Scene, key: str, trial: Trial, disputed: dict[str, list[Baseline]]
) -> Finding:
    against = next(iter(disputed))
    cars = said(car for found in disputed.values() for car in found)
    return scene.finding(
        "note", "trial-disagrees", "trials", key,
        f"the trial '{key}' says {trial.verdict.replace('_', ' ')}, computed on {cars} is "
        f"{against}; the trial counts",
        "measure the dimensions in the check again; keep the trial if they are right",
    )


def _judged(at: Situation, trial: Trial) -> Iterator[Verdict]:
    """What the checks of the parts of a trial say, with the trial in force."""
    for check in checks().values():
        if trial.check in (None, check.name):
            for pools in _ways(at, check, trial):
                for found in combine(at, check, pools[:len(check.roles)],
                                     pools[len(check.roles)] if len(pools) > len(check.roles)
                                     else [None], stock_by_kind(at)):
                    yield found.verdict


def _ways(at: Situation, check: Check, trial: Trial) -> Iterator[list[list[Placed]]]:
    """The parts of a trial in the roles of a check, the modifier last; each in one role."""
    names = [role.kind for role in check.roles]
    kinds = [names] if check.modifier is None else [names, [*names, check.modifier]]
    for wanted in kinds:
        if len(wanted) == len(trial.parts):
            pools = [
                [part for part in trial.parts if at.parts[part].kind == kind] for kind in wanted
            ]
            for parts in product(*pools):
                if len(set(parts)) == len(parts) and not any(map(at.refusal, parts)):
                    yield [[added(at, part)] for part in parts]


def trials_against_statements(scene: Scene) -> Iterator[Finding]:
    """Trial fits that contradict each other, a stated conflict, or the list of cars of a part."""
    trials = scene.catalogue.trials
    for (one, first), (other, second) in combinations(trials.items(), 2):
        cars = [car for car in scene.cars if car.applies(first.on) and car.applies(second.on)]
        if cars and _same_question(first, second) and first.verdict != second.verdict:
            yield scene.finding(
                "warning", "trials-disagree", "trials", other,
                f"'{one}' and '{other}' tried the same on {said(cars)} and say otherwise: "
                f"{first.verdict.replace('_', ' ')}, {second.verdict.replace('_', ' ')}",
                "keep the one that holds, or limit each to its cars",
            )
    for key, trial in trials.items():
        if trial.verdict in GOOD:
            yield from _unlisted(scene, key, trial)
            yield from _forbidden(scene, key, trial)


def _same_question(one: Trial, other: Trial) -> bool:
    checks_meet = None in (one.check, other.check) or one.check == other.check
    return checks_meet and set(one.parts) == set(other.parts)


def _unlisted(scene: Scene, key: str, trial: Trial) -> Iterator[Finding]:
    for part in trial.parts:
        fits = scene.parts[part].fits
        cars = [car for car in scene.cars if trial.on.model_fields_set and car.applies(trial.on)]
        left = [car for car in cars if fits and not any(map(car.applies, fits))]
        if left and len(left) == len(cars):
            yield scene.finding(
                "warning", "trial-unlisted", "trials", key,
                f"'{part}' was tried and fits {said(left)}, but is not listed for it",
                "add the car under 'fits' of the part, or correct the trial",
            )


def _forbidden(scene: Scene, key: str, trial: Trial) -> Iterator[Finding]:
    for owner, other in product(trial.parts, repeat=2):
        for conflict in scene.parts[owner].conflicts:
            cars = [
                group for group in scene.groups
                if owner != other and group[0].applies(trial.on) and group[0].applies(conflict.when)
                and any(c.part == other for c in scene.situation(group).candidates(conflict, owner))
            ]
            if cars and not conflict.when.present and not conflict.when.absent:
                yield scene.finding(
                    "warning", "trial-forbidden", "trials", key,
                    f"'{owner}' and '{other}' were tried together and fit, but '{owner}' states "
                    "that they do not go together",
                    "remove the conflict, or correct the trial",
                )
