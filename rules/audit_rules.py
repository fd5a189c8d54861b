"""General rules that never do anything: what they are about cannot come, or comes of itself."""

from __future__ import annotations

from collections.abc import Iterator

from kb.entries import Rule
from rules.audit_base import Finding, Scene


def idle_rules(scene: Scene) -> Iterator[Finding]:
    """Rules that can never fire, and rules that hold in every package without being stated."""
    for key, rule in scene.catalogue.rules.items():
        groups = scene.meant(rule.on)
        if all(group in scene.survey.impossible for group in groups):
            continue  # said as a statement that applies to no car, or of the cars
        if key not in scene.survey.fired:
            yield scene.finding(
                "warning", "rule-never-fires", "rules", key,
                f"the rule '{key}' can never fire: what it is about cannot come together "
                "on any car it holds for",
                "correct its 'when' or the cars it is for, or remove it",
            )
        elif _may_be_redundant(rule) and key not in scene.survey.bitten:
            yield scene.finding(
                "note", "rule-always-holds", "rules", key,
                f"the rule '{key}' always holds: other statements bring what it asks for",
                "remove it, unless it is there for its words or its caution",
            )


def _may_be_redundant(rule: Rule) -> bool:
    """A rule with an amount may ask for more of what is there already."""
    return bool(rule.then_any) and rule.each is None and rule.once is None
