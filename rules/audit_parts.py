"""Parts and work steps that can be in no package, on any car or on some they are meant for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from kb.entries import Part
from rules.alike import Cars, said
from rules.audit_base import Finding, Scene
from rules.audit_reasons import reason_alone
from rules.audit_survey import Failing, Why, why
from rules.clashes import smallest_clash
from rules.cone import Cone
from rules.reasons import Reasons

NO_CAR = "no car of the catalogue is one it is listed for, or has its places"


def impossible_cars(scene: Scene) -> Iterator[Finding]:
    """Cars whose own needs cannot be met, whatever is picked."""
    found: dict[str, list[Cars]] = {}
    for group in scene.survey.impossible:
        found.setdefault(group[0].vehicle_id, []).append(group)
    for vehicle, groups in found.items():
        yield scene.finding(
            "error", "impossible-car", "vehicles", vehicle,
            f"no package at all is possible on {_cars(groups)}: {_why_nothing(scene, groups[0])}",
            "correct the rules that hold on every package of that car, or add what they need",
        )


def _why_nothing(scene: Scene, cars: Cars) -> str:
    at = scene.situation(cars)
    return why(smallest_clash(Cone(at, {}, {}).problem, Reasons(at))).text


def dead_parts(scene: Scene) -> Iterator[Finding]:
    """Parts on sale that are in no package, and parts that fail on a car they are meant for."""
    survey = scene.survey
    for key, part in scene.parts.items():
        if not survey.looked_at(key) or key in survey.only_on_impossible:
            continue  # of the latter it is said that their cars take nothing
        failing = survey.failing.get(key, [])
        if len(failing) == survey.meant[key]:
            yield _dead(scene, key, failing)
        elif failing:
            yield from _dead_on_some(scene, key, part, failing)


def _dead(scene: Scene, key: str, failing: Sequence[Failing]) -> Finding:
    reason = NO_CAR
    if failing:
        reason = f"on {said(failing[0].cars)}: {_why(scene, key, failing[0]).text}"
    return scene.finding(
        "error", "dead-part", "parts", key, f"'{key}' can be in no package: {reason}",
        "add what it needs, correct its statements, or take it off sale",
    )


def _why(scene: Scene, key: str, failing: Failing) -> Why:
    """Why a part is in no package on these cars."""
    return failing.known or why(reason_alone(scene.situation(failing.cars), key)[0])


def _dead_on_some(
    scene: Scene, key: str, part: Part, failing: Sequence[Failing]
) -> Iterator[Finding]:
    """A part that can be had on other cars, but not on these.

    That a part does not go on a car by its dimensions is no fault; that it is stated to is one. It
    is a grave one where the statement holds on no car that it names.
    """
    failed = {found.cars: found for found in failing}
    left = [found for found in failing if not scene.situation(found.cars).refusal(key)]
    for fits in part.fits:
        meant = scene.meant(fits)
        if meant and failed.keys() >= set(meant):
            left = [found for found in left if found.cars not in meant]
            yield _contradicted(scene, key, [failed[cars] for cars in meant])
    for code, found in _by_cause(scene, key, left).items():
        if code == "unmet-need" or part.fits:
            yield _doubtful(scene, key, code, found)


def _by_cause(scene: Scene, key: str, failing: Iterable[Failing]) -> dict[str, list[Failing]]:
    """The cars on which a check stands in the way, and those on which statements alone do."""
    found: dict[str, list[Failing]] = {"fit-too-wide": [], "unmet-need": []}
    for one in failing:
        found["fit-too-wide" if one.but_for_checks else "unmet-need"].append(one)
    unmet = found["unmet-need"]
    if unmet and _why(scene, key, unmet[0]).computed:
        found["fit-too-wide"] += unmet
        unmet.clear()
    return {code: those for code, those in found.items() if those}


def _contradicted(scene: Scene, key: str, failing: Sequence[Failing]) -> Finding:
    return scene.finding(
        "warning", "fit-contradicted", "parts", key,
        f"'{key}' is stated to fit {_cars(f.cars for f in failing)}, and can be in no package on "
        f"any of them: {_why(scene, key, failing[0]).text}",
        "correct the dimensions or the stated fit; if it was tried on a car, record a trial fit",
    )


def _doubtful(scene: Scene, key: str, code: str, failing: Sequence[Failing]) -> Finding:
    mend = {
        "fit-too-wide": "narrow the stated fit, or correct the dimensions",
        "unmet-need": "add what it needs there, or state under 'fits' the cars it is for",
    }[code]
    return scene.finding(
        "note", code, "parts", key,
        f"'{key}' can be in no package on {_cars(f.cars for f in failing)}; on the first of them "
        f"since {_why(scene, key, failing[0]).text}", mend,
    )


def _cars(groups: Iterable[Cars]) -> str:
    return said(car for group in groups for car in group)


def dead_steps(scene: Scene) -> Iterator[Finding]:
    """Work steps that something calls for and that can never be done."""
    for step in sorted(scene.survey.called - scene.survey.done):
        yield scene.finding(
            "warning", "dead-step", "work", step,
            f"the work step '{step}' can be in no package, though something calls for it",
            "add the parts it requires, correct its conflicts, or remove it",
        )
