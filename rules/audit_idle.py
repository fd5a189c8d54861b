"""Statements and entries that do nothing."""

from __future__ import annotations

from collections.abc import Iterator

from kb.graph import node
from kb.statements import Applies
from rules.audit_base import Finding, Scene


def idle_statements(scene: Scene) -> Iterator[Finding]:
    """Statements with a limit on the car that no car meets."""
    for section, key, name, where in _limited(scene):
        if where.model_fields_set and not scene.meant(where):
            yield scene.finding(
                "warning", "never-applies", section, key,
                f"{name} of '{key}' holds for no car in the catalogue",
                "correct its vehicles, variants, years or equipment, or remove it",
            )


def _limited(scene: Scene) -> Iterator[tuple[str, str, str, Applies]]:
    """Every statement with a limit on the car: section, entry, what it is, the limit."""
    for key, part in scene.parts.items():
        for fits in part.fits:
            yield "parts", key, "a stated fit", fits
        for name, statements in (
            ("a need", part.requires), ("a conflict", part.conflicts),
            ("a work need", part.work), ("a recommendation", part.recommends),
        ):
            for statement in statements:
                yield "parts", key, name, statement.when
    for key, work in scene.catalogue.work.items():
        yield "work", key, "the step", work.on
    for key, rule in scene.catalogue.rules.items():
        yield "rules", key, "the rule", rule.on
    for key, trial in scene.catalogue.trials.items():
        yield "trials", key, "the trial", trial.on


def idle_steps(scene: Scene) -> Iterator[Finding]:
    """Work steps that nothing calls for."""
    called = set(_called_steps(scene))
    for key in scene.catalogue.work:
        if key not in called:
            yield scene.finding(
                "warning", "idle-step", "work", key, f"nothing calls for the work step '{key}'",
                "state it under 'work' of a part, in a stated fit, or as a relief",
            )


def _called_steps(scene: Scene) -> Iterator[str]:
    for part in scene.parts.values():
        for work in part.work:
            yield from work.listed
        for fits in part.fits:
            yield from fits.work
    for rule in scene.catalogue.rules.values():
        yield from (selector.step for selector in rule.then_any if selector.step is not None)
    for trial in scene.catalogue.trials.values():
        yield from trial.work
    for key, step in scene.catalogue.work.items():
        if step.relieves:
            yield key


def idle_parts(scene: Scene) -> Iterator[Finding]:
    """Parts that are neither sold, nor fitted, nor asked for."""
    fitted = {part for car in scene.cars for part in car.fitted.values()}
    for key, part in scene.parts.items():
        into = (
            *scene.graph.into(node("part", key), "requires"),
            *scene.graph.into(node("part", key), "contents"),
        )
        if not part.orderable and key not in fitted and not into and not scene.replaced(key):
            yield scene.finding(
                "warning", "idle-part", "parts", key,
                f"'{key}' is neither for sale nor fitted to any car",
                "put it under 'fitted' of a vehicle, or remove it",
            )
