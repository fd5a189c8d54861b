"""Why each thing is in a package: chains of statements from a pick to every line.

The chains follow what the solver actually used: the need that falls on a part, the kit that
brings it, the stock part it had to displace. One walk from the picks reaches everything.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rules.least import Solution
from rules.problem import Clause, NeedInstance, Problem, Reason
from rules.reasons import Reasons
from rules.situation import Situation

Node = tuple[str, str]
"""An atom of the problem: ("new", part), ("stays", place), ("step", work)."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a chain: what it leads to, from where, by which statement."""

    node: Node
    parent: Node | None
    reason: Reason


class Explanation:
    """Every chain of one solution."""

    def __init__(self, situation: Situation, problem: Problem, solution: Solution) -> None:
        self.at, self.problem, self.solution = situation, problem, solution
        self.say = Reasons(situation)
        self.reached: dict[Node, Step] = {}
        self._walk()

    def chain(self, kind: str, key: str) -> list[Step]:
        """The steps that lead to an atom, from a pick or a rule; empty when nothing does."""
        found: list[Step] = []
        step = self.reached.get((kind, key))
        while step is not None:
            found.append(step)
            step = self.reached.get(step.parent) if step.parent else None
        return found[::-1]

    # -- walking --------------------------------------------------------------------------------

    def _walk(self) -> None:
        for part in self.problem.picks:
            self._reach(("new", part), None, self.say.pick(part))
        # Needs explain better than kits, and kits better than the lack of another way.
        while self._follow_needs() or self._follow_kits() or self._by_force():
            pass

    def _reach(self, node: Node, parent: Node | None, reason: Reason) -> bool:
        if node in self.reached or not self._holds(node):
            return False
        self.reached[node] = Step(node, parent, reason)
        return True

    def _holds(self, node: Node) -> bool:
        variable = self.problem.variables.get(node)
        return variable is not None and variable in self.solution.true

    def _follow_needs(self) -> bool:
        """One round along the needs as they were met. True if anything new was reached."""
        moved = False
        for need, choice in self.solution.assigned:
            parent = self._parent(need)
            if parent is None and not self._is_root(need):
                continue
            node = self.problem.atoms[choice.literal]
            moved |= self._reach(node, parent, need.reason)
        return moved

    def _follow_kits(self) -> bool:
        """One round between kits and what they bring. True if anything new was reached."""
        moved = False
        for kit in self.solution.kits:
            for inner in self.problem.kits[kit]:
                reason = self.say.contents(kit, inner)
                if ("new", kit) in self.reached:
                    moved |= self._reach(("new", inner), ("new", kit), reason)
                elif ("new", inner) in self.reached:
                    moved |= self._reach(("new", kit), ("new", inner), reason)
        return moved

    def _parent(self, need: NeedInstance) -> Node | None:
        """What asks for a need, once that is explained itself."""
        for literal in need.guard:
            if literal < 0:
                continue
            for node in self._nodes(literal):
                if node in self.reached:
                    return node
        return None

    def _is_root(self, need: NeedInstance) -> bool:
        """Whether a need is the car's own: of every package, or of a stock part that stays."""
        nodes = [n for literal in need.guard if literal > 0 for n in self._nodes(literal)]
        return all(kind == "stays" for kind, _ in nodes)

    def _nodes(self, literal: int) -> Iterator[Node]:
        """The atoms behind a positive literal; for a group, its members that are there."""
        node = self.problem.atoms[literal]
        if node[0] != "any":
            yield node
            return
        for member in self.problem.members[literal]:
            if member in self.solution.true:
                yield from self._nodes(member)

    def _by_force(self) -> bool:
        """Explain one part that nothing asks for by name: the statement that leaves no other way.

        Typically its place had to be refilled because the stock part there is at odds with
        something new.
        """
        for part in sorted(self.solution.new):
            if ("new", part) in self.reached:
                continue
            for literals, reason in self._statements():
                parent = self._forced_by(part, literals)
                if parent is not None:
                    return self._reach(("new", part), parent, reason)
        for step in sorted(self.solution.steps):
            node = ("step", step)
            if node not in self.reached:
                for literals, reason in self._statements():
                    parent = self._sole_support(self.problem.variables[node], literals)
                    if parent is not None:
                        return self._reach(node, parent, reason)
        return False

    def _statements(self) -> Iterator[tuple[tuple[int, ...], Reason]]:
        clause: Clause | NeedInstance
        for clause in self.problem.clauses:
            yield clause.literals, clause.reason
        for clause in self.problem.needs:
            literals = (*(-g for g in clause.guard), *(c.literal for c in clause.choices))
            yield literals, clause.reason

    def _forced_by(self, part: str, literals: tuple[int, ...]) -> Node | None:
        """What is at odds with the stock part that `part` displaces, if this statement says so."""
        new = self.problem.variables["new", part]
        for place, displacers in self.problem.displacers.items():
            if new in displacers:
                stays = self.problem.variables["stays", place]
                parent = self._sole_support(-stays, literals)
                if parent is not None:
                    return parent
        return self._sole_support(new, literals)

    def _sole_support(self, literal: int, literals: tuple[int, ...]) -> Node | None:
        """What makes a statement depend on just this literal, once that is explained."""
        if literal not in literals:
            return None
        others = [other for other in literals if other != literal]
        if any((abs(o) in self.solution.true) == (o > 0) for o in others):
            return None
        for other in others:
            if other < 0:
                for node in self._nodes(-other):
                    if node in self.reached:
                        return node
        return None
