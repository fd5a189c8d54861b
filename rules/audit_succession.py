"""Old parts and what replaces them. Circles are refused when the catalogue is read."""

from __future__ import annotations

from collections.abc import Iterator

from kb.graph import key_of, node
from rules.audit_base import Finding, Scene

LONG = 3
"""Replacements in a row from which on the chain is worth a look."""


def successions(scene: Scene) -> Iterator[Finding]:
    """Replaced parts whose successor cannot stand in for them, or is not clear."""
    for old in scene.parts:
        after = _next(scene, old)
        if len(after) > 1:
            yield _two(scene, old, after)
        for new in after:
            yield from _pair(scene, old, new)
    yield from _chains(scene)


def _next(scene: Scene, old: str) -> list[str]:
    return sorted({key_of(edge.node) for edge in scene.graph.into(node("part", old), "supersedes")})


def _two(scene: Scene, old: str, after: list[str]) -> Finding:
    return scene.finding(
        "warning", "two-successors", "parts", old,
        f"'{old}' is replaced by {' and by '.join(repr(new) for new in after)}: which one stands "
        "in for it is not clear",
        "let one of them replace it, or let one replace the other",
    )


def _pair(scene: Scene, old: str, new: str) -> Iterator[Finding]:
    was, now = scene.parts[old], scene.parts[new]
    if not now.orderable and not _next(scene, new):
        yield scene.finding(
            "warning", "successor-not-sold", "parts", new,
            f"'{new}' replaces '{old}' but is not for sale, so neither can be ordered",
            "put it on sale, or name what replaces it",
        )
    differs = [
        said for said, one, other in (
            ("kind", was.kind, now.kind), ("places", set(was.takes), set(now.takes)),
            ("unit of sale", was.pack.unit, now.pack.unit),
        ) if one != other
    ]
    if differs:
        yield scene.finding(
            "warning", "successor-differs", "parts", new,
            f"'{new}' replaces '{old}' but is not the same in {' and '.join(differs)}, so it "
            "cannot stand in wherever the old one is asked for",
            "correct the one that is wrong, or do not state that it replaces the other",
        )


def _chains(scene: Scene) -> Iterator[Finding]:
    for oldest, part in scene.parts.items():
        chain = [oldest]
        while not part.supersedes and (after := _next(scene, chain[-1])):
            chain.append(after[0])
        if len(chain) > LONG:
            yield scene.finding(
                "note", "long-chain", "parts", chain[-1],
                f"'{chain[-1]}' stands in for {len(chain) - 1} older parts in a row: "
                f"{', '.join(chain[:-1])}",
                "check that the newest still fits wherever the oldest is asked for",
            )
