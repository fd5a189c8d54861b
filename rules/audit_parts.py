"""Parts and work steps that can be in no package, on any car or on some they are meant for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from kb.entries import Part
from rules.alike import Cars, said
from rules.audit_base import Finding, Scene
from rules.audit_survey import Failing
from rules.audit_whole import why_not

NO_CAR = "no car of the catalogue is one it is listed for, or has its places"


def impossible_cars(scene: Scene) -> Iterator[Finding]:
    """Cars whose own needs cannot be met, whatever is picked."""
    found: dict[str, list[Cars]] = {}
    for group in scene.survey.impossible:
        found.setdefault(group[0].vehicle_id, []).append(group)
    for vehicle, groups in found.items():
        yield scene.finding(
            "error", "impossible-car", "vehicles", vehicle,
            f"no package at all is possible on {_cars(groups)}: {_why(scene, groups[0])}",
            "correct the rules that hold on every package of that car, or add what they need",
        )


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
    cars = failing[0].cars if failing else ()
    reason = f"on {said(cars)}: {_why(scene, cars, key)}" if cars else NO_CAR
    return scene.finding(
        "error", "dead-part", "parts", key, f"'{key}' can be in no package: {reason}",
        "add what it needs, correct its statements, or take it off sale",
    )


def _why(scene: Scene, group: Cars, part: str | None = None) -> str:
    """The smallest reason why a part, or anything at all, is in no package, in one sentence."""
    return "; ".join(reason.text for reason in why_not(scene.situation(group), part))


def _dead_on_some(
    scene: Scene, key: str, part: Part, failing: Sequence[Failing]
) -> Iterator[Finding]:
    """A part that can be had on other cars, but not on these.

    That a part does not go on a car by its dimensions is no fault; that it is stated to is one. It
    is a grave one where the statement holds on no car that it names.
    """
    failed = {found.cars for found in failing}
    left = [found for found in failing if not scene.situation(found.cars).refusal(key)]
    for fits in part.fits:
        meant = scene.meant(fits)
        if meant and failed.issuperset(meant):
            left = [found for found in left if found.cars not in meant]
            yield _contradicted(scene, key, meant)
    for code, groups in _by_cause(scene, key, left).items():
        if code == "unmet-need" or part.fits:
            yield _doubtful(scene, key, code, groups)


def _by_cause(scene: Scene, key: str, failing: Iterable[Failing]) -> dict[str, list[Cars]]:
    """The cars on which a check stands in the way, and those on which statements alone do."""
    found: dict[str, list[Cars]] = {"fit-too-wide": [], "unmet-need": []}
    for group, computed in failing:
        found["fit-too-wide" if computed else "unmet-need"].append(group)
    unmet = found["unmet-need"]
    if unmet and any(r.type == "check" for r in why_not(scene.situation(unmet[0]), key)):
        found["fit-too-wide"] += unmet
        unmet.clear()
    return {code: groups for code, groups in found.items() if groups}


def _contradicted(scene: Scene, key: str, groups: Sequence[Cars]) -> Finding:
    return scene.finding(
        "warning", "fit-contradicted", "parts", key,
        f"'{key}' is stated to fit {_cars(groups)}, and can be in no package on any of them: "
        f"{_why(scene, groups[0], key)}",
        "correct the dimensions or the stated fit; if it was tried on a car, record a trial fit",
    )


def _doubtful(scene: Scene, key: str, code: str, groups: Sequence[Cars]) -> Finding:
    mend = {
        "fit-too-wide": "narrow the stated fit, or correct the dimensions",
        "unmet-need": "add what it needs there, or state under 'fits' the cars it is for",
    }[code]
    return scene.finding(
        "note", code, "parts", key,
        f"'{key}' can be in no package on {_cars(groups)}; on the first of them since "
        f"{_why(scene, groups[0], key)}", mend,
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
