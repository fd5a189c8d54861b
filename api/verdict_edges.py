"""What the checks compute about one part on one car, as edges of the graph."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from api.views import GraphEdge
from kb.graph import key_of, node
from rules.checking import checks_of
from rules.combining import Combined, judge
from rules.situation import Member, Situation


def verdict_edges(situation: Situation, part: str, most: int) -> Iterator[GraphEdge]:
    """Each check of `part` with the car and its stock parts, then with parts that could join it.

    At most `most` of the latter are compared, each by itself.
    """
    if situation.refusal(part):
        return
    for found in judge(situation, [part], off=()):
        yield from _edges(situation, part, found)
    for other in islice(comparable(situation, part), most):
        for found in judge(situation, [part, other], off=situation.baseline.fitted):
            if len(found.members) > 1:
                yield from _edges(situation, part, found)


def comparable(situation: Situation, part: str) -> Iterator[str]:
    """The parts for sale that go on this car and that some check compares with `part`."""
    mine = situation.parts[part].kind
    kinds = {role.kind for check in checks_of(mine) for role in check.roles} - {mine}
    for kind in sorted(kinds):
        for edge in situation.graph.into(node("kind", kind), "is"):
            other = key_of(edge.node)
            if situation.buyable(other) and not situation.refusal(other):
                yield other


def _edges(situation: Situation, part: str, found: Combined) -> Iterator[GraphEdge]:
    """An edge to each of the other parts, or to the vehicle when there is none."""
    me = Member(part)
    if me not in found.members:
        return
    others = [node("part", m.part) for m in found.members if m != me]
    verdict = found.verdict
    for target in others or [node("vehicle", situation.baseline.vehicle_id)]:
        yield GraphEdge(
            source=node("part", part), target=target, type="fits", text=verdict.says,
            basis=verdict.basis, margin=verdict.margin, check=verdict.check, axle=found.axle,
            verdict=verdict.verdict, required=verdict.required, worst_case=verdict.worst_case,
            unit=verdict.unit,
        )
