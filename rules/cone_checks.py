"""Checks in a cone: what enters is judged by itself and with all that is inside or stock."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING
from weakref import proxy

from kb.entries import Part
from kb.graph import key_of, node
from kb.statements import Axle
from rules.checking import Verdict
from rules.combining import Combined, Placed, added
from rules.pairings import in_order, pairings_of
from rules.problem import Judged, late
from rules.situation import Member

if TYPE_CHECKING:
    from rules.cone import Cone

_Judgement = tuple[str, str, Axle | None, tuple[Member, ...]]


class Checks:
    """The verdicts of a cone, as clauses and needs."""

    def __init__(self, cone: Cone) -> None:
        # A proxy, so that a cone goes with its question and waits for no collection.
        self.cone: Cone = proxy(cone)
        self.at, self.problem, self.say = cone.at, cone.problem, cone.say
        self.placed: dict[str, list[Placed]] = {}
        self.pairings = pairings_of(cone.at)
        self.modifiers: dict[tuple[str, Axle | None], tuple[int, ...]] = {}
        self.admitted: set[_Judgement] = set()

    def admit(self, found: Combined) -> bool:
        """Let in what was found of parts that turned up together. False if it was in already."""
        judgement = _judgement(found.members, found.axle, found.verdict)
        if judgement in self.admitted:
            return False
        self.admitted.add(judgement)
        self.judge(found)
        return True

    def alone(self, part_id: str, part: Part) -> bool:
        """Judge what enters by itself. False when it does not go on this car."""
        if not in_order(part.kind):
            return True
        for found in self.pairings.alone(added(self.at, part_id), part.kind):
            self.judge(found)
        return part_id not in self.pairings.refused

    def together(self, part_id: str, part: Part) -> None:
        """Judge what enters with what is inside or stock."""
        if not in_order(part.kind):
            return
        me = added(self.at, part_id)
        for found in self.pairings.together(me, part.kind, self.placed):
            self.judge(found)
        self.placed.setdefault(part.kind, []).append(me)

    def _changed_by(self, found: Combined) -> tuple[int, ...]:
        """The literals of parts with which a bare combination would be judged otherwise."""
        if not found.bare or found.check.modifier is None:
            return ()
        key = (found.check.modifier, found.axle)
        if key not in self.modifiers:
            self.modifiers[key] = tuple(self._modifiers(*key))
        return self.modifiers[key]

    def _modifiers(self, kind: str, axle: Axle | None) -> Iterator[int]:
        for placed in self.pairings.stock.get(kind, ()):
            if axle in placed.axles:
                yield self._member(placed.member)
        for edge in self.at.graph.into(node("kind", kind), "is", self.at.car):
            part = key_of(edge.node)
            if self.cone.needs.obtainable(part) and axle in self.at.axles(part):
                yield self.cone.new(part)

    def _member(self, member: Member) -> int:
        """The literal of a member of a combination."""
        if member.stock_place:
            return self.cone.stays(member.stock_place)
        return self.cone.inside.get(member.part) or self.problem.variable("new", member.part)

    def judge(self, found: Combined) -> None:
        """Let in what the checks say of a combination."""
        self.let_in(found.members, found.axle, found.verdict, self._changed_by(found))

    def let_in(
        self, members: tuple[Member, ...], axle: Axle | None, verdict: Verdict,
        unless: tuple[int, ...],
    ) -> None:
        """Let a verdict into the problem as a clause, except where one of `unless` holds."""
        literals = tuple([self._member(member) for member in members])
        allowed = (*literals, *[-other for other in unless]) if unless else literals
        reason = late(self.say.check, members, axle, verdict)
        self.problem.judged.append(Judged(allowed, members, verdict, reason))
        denied = [-literal for literal in allowed]
        if verdict.verdict == "does_not_fit":
            self.cone.clause(denied, reason)
        elif verdict.verdict == "not_known":
            opened = self.cone.unknown(verdict.measure)
            self.cone.clause((*denied, opened), reason)
        elif verdict.verdict == "fits_with_work":
            steps = [(step, self.cone.step(step)) for step in verdict.work]
            key, owner = _judgement_key(members, axle, verdict), node("part", members[0].part)
            self.cone.needs.steps(key, owner, literals, unless, steps, reason)
        for work in verdict.spoilt_by:
            self.cone.bar(work, denied, reason)
        if verdict.needs:
            self._needs(members, axle, verdict, literals, unless)

    def _needs(
        self, members: tuple[Member, ...], axle: Axle | None, verdict: Verdict,
        literals: tuple[int, ...], unless: tuple[int, ...],
    ) -> None:
        key, owner = _judgement_key(members, axle, verdict), node("part", members[0].part)
        for i, need in enumerate(verdict.needs):
            units = self._units_on(members[0], axle)
            self.cone.needs.need(need, f"{key}#{i}", owner, members[0].part, literals, unless,
                       literals[0], units)

    def _units_on(self, member: Member, axle: Axle | None) -> int:
        if member.stock_place:
            return self.at.baseline.places[member.stock_place].count
        return self.at.units(member.part, axle) or 1


def _judgement(members: tuple[Member, ...], axle: Axle | None, verdict: Verdict) -> _Judgement:
    return verdict.check, verdict.aspect, axle, members


def _judgement_key(
    members: tuple[Member, ...], axle: Axle | None, verdict: Verdict
) -> str:
    names = "/".join(f"{m.part}@{m.stock_place}" if m.stock_place else m.part for m in members)
    return f"check:{verdict.check}/{verdict.aspect}/{axle}/{names}"
