"""General rules that never do anything: what they are about cannot come, or comes of itself."""

from __future__ import annotations

from collections.abc import Iterator

from kb.entries import Rule
from rules.audit_base import Finding, Scene


def idle_rules(scene: Scene) -> Iterator[Finding]:
    """Rules that can never fire, and rules that hold in every package without being stated."""
    for key, rule in scene.catalogue.rules.items():
        groups = [group for group in scene.groups if group[0].applies(rule.on)]
        if not groups:
            continue  # said as a statement that applies to no car
        wholes = [w for group in groups if (w := scene.whole(group)).empty_is_possible]
        if not wholes:
            continue  # said of the cars
        if not any(whole.rule_can_fire(key) for whole in wholes):
            yield scene.finding(
                "warning", "rule-never-fires", "rules", key,
                f"the rule '{key}' can never fire: what it is about cannot come together "
                "on any car it holds for",
                "correct its 'when' or the cars it is for, or remove it",
            )
        elif _may_be_redundant(rule) and not any(whole.rule_can_bite(key) for whole in wholes):
            yield scene.finding(
                "note", "rule-always-holds", "rules", key,
                f"the rule '{key}' always holds: other statements bring what it asks for",
                "remove it, unless it is there for its words or its caution",
            )


def _may_be_redundant(rule: Rule) -> bool:
    """A rule with an amount may ask for more of what is there already."""
    return bool(rule.then_any) and rule.each is None and rule.once is None
