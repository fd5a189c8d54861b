"""Work and parts that can hurt someone and carry no caution.

A kind of part says its own caution (`kb.kinds`). What is looked for here is what has none: work on,
and parts of general kinds named after, brakes, springs, fuel, lifting, steering or restraints.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from kb.dimensions import kinds
from rules.audit_base import Finding, Scene

RISKY = re.compile(
    r"\b(brake|brakes|braking|caliper|spring|springs|coilover|fuel|petrol|injector|hoist|lifting|"
    r"jack|steering|track rod|airbag|seat belt|harness bar|restraint)\b",
    re.IGNORECASE,
)
MEND = "state under 'cautions' what can go wrong, and who may do it by which manual"


def missing_cautions(scene: Scene) -> Iterator[Finding]:
    """Work steps and parts that sound dangerous and say nothing about it."""
    for key, step in scene.catalogue.work.items():
        word = RISKY.search(f"{step.name}; {step.effect}")
        if word and not step.cautions:
            yield scene.finding(
                "note", "no-caution", "work", key,
                f"the work step '{key}' speaks of '{word[0]}' and has no caution", MEND,
            )
    for key, part in scene.parts.items():
        word = RISKY.search(part.name)
        silent = not part.cautions and not kinds()[part.kind].caution
        if word and silent and part.takes and part.orderable:
            yield scene.finding(
                "note", "no-caution", "parts", key,
                f"'{key}' is named after '{word[0]}'; neither it nor its kind "
                f"'{part.kind}' has a caution", MEND,
            )
