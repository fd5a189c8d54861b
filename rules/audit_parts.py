"""Parts and work steps that can be in no package, on any car or on some they are meant for."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Iterator, Mapping, Sequence

from kb.baseline import Baseline
from kb.entries import Part
from kb.statements import Fits
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

    That a check or a conflict keeps a part off some of its cars is what they are for, and no fault.
    It is one where a stated fit holds on no car that it names, or on none of a vehicle, variant,
    engine or market that it names; and where a need is met by nothing.
    """
    failed = {found.cars: found for found in failing}
    left = {c: f for c, f in failed.items() if not scene.situation(c).refusal(key)}
    for fits in part.fits:
        meant = scene.meant(fits)
        if meant and failed.keys() >= set(meant):
            yield _contradicted(scene, key, [failed[cars] for cars in meant])
            named = dict.fromkeys(meant)
        else:
            named = dict.fromkeys(_in_vain(fits, meant, failed))
            if named:
                yield _doubtful(scene, key, "fit-too-wide", [failed[cars] for cars in named])
        left = {cars: found for cars, found in left.items() if cars not in named}
    unmet = [found for found in left.values() if _is_unmet(scene, key, found)]
    if unmet:
        yield _doubtful(scene, key, "unmet-need", unmet)


_OF: Mapping[str, Callable[[Baseline], str | None]] = {
    "vehicles": lambda car: car.vehicle_id,
    "variants": lambda car: car.variant_id,
    "engines": lambda car: car.variant.engine,
    "markets": lambda car: car.variant.market,
}
"""What a limit may name of a car."""


def _in_vain(fits: Fits, meant: Iterable[Cars], failed: Container[Cars]) -> Iterator[Cars]:
    """The cars of each vehicle, variant, engine or market that a stated fit names for nothing."""
    for field, of in _OF.items():
        for name in getattr(fits, field):
            cars = [group for group in meant if of(group[0]) == name]
            if all(group in failed for group in cars):
                yield from cars


def _is_unmet(scene: Scene, key: str, failing: Failing) -> bool:
    """Whether a part is in no package on these cars for want of something that is asked for."""
    if failing.but_for_checks:
        return False
    found, rules = _why(scene, key, failing), scene.catalogue.rules
    return not found.computed and any(
        kind in ("need", "work", "fit")
        or (kind == "rule" and rules[rule.removeprefix("rule:")].then_any)
        for kind, rule in found.statements
    )


def _contradicted(scene: Scene, key: str, failing: Sequence[Failing]) -> Finding:
    return scene.finding(
        "warning", "fit-contradicted", "parts", key,
        f"'{key}' is stated to fit {_cars(f.cars for f in failing)}, and can be in no package on "
        f"any of them: {_why(scene, key, failing[0]).text}",
        "correct the dimensions or the stated fit; if it was tried on a car, record a trial fit",
    )


def _doubtful(scene: Scene, key: str, code: str, failing: Sequence[Failing]) -> Finding:
    mend = {
        "fit-too-wide": "leave them out of the stated fit, or correct the dimensions",
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
