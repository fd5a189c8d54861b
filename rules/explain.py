"""Why each thing is in a package: chains of statements from a pick to every line.

The chains follow what the solver actually used: the need that falls on a part, the kit that
brings it, the stock part it had to displace. One walk from the picks reaches everything.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from rules.problem import NeedInstance, Problem, Reason
from rules.reasons import Reasons
from rules.situation import Situation
from rules.solution import Solution

Node = tuple[str, str]
"""An atom of the problem: ("new", part), ("stays", place), ("step", work)."""
_Statement = tuple[tuple[int, ...], Reason]
"""The literals of which one must hold, and why."""


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
        self._known: dict[Node, tuple[set[int], list[_Statement]]] = {}
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
            node = self.problem.atoms[choice.literal]
            if node in self.reached:
                continue
            parent = self._parent(need)
            if parent is not None or self._is_root(need):
                moved |= self._reach(node, parent, need.reason)
        return moved

    def _follow_kits(self) -> bool:
        """One round between kits and what they bring. True if anything new was reached."""
        moved = False
        for kit, contents in self.problem.kits.items():
            if kit in self.solution.new:
                for inner in contents:
                    moved |= self._follow_kit(kit, inner)
        return moved

    def _follow_kit(self, kit: str, inner: str) -> bool:
        """From a kit that is reached to what it brings, or back. True if that is new."""
        whole, part = ("new", kit), ("new", inner)
        if whole not in self.reached and kit in self.solution.kits and part in self.reached:
            whole, part = part, whole
        if whole not in self.reached or part in self.reached:
            return False
        return self._reach(part, whole, self.say.contents(kit, inner))

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
        """Explain one thing that nothing asks for by name: the statement that leaves no other way.

        Typically a place had to be refilled because the stock part there is at odds with something
        new. What is merely the cheaper way out is explained by any statement it helps to keep.
        """
        for only_way in (True, False):
            for root in (False, True):
                for node in self._unexplained():
                    if self._explain(node, only_way=only_way, root=root):
                        return True
        return False

    def _unexplained(self) -> list[Node]:
        nodes = [("new", part) for part in sorted(self.solution.new)]
        nodes += [("step", step) for step in sorted(self.solution.steps)]
        return [node for node in nodes if node not in self.reached]

    def _explain(self, node: Node, *, only_way: bool, root: bool) -> bool:
        mine, statements = self._behind(node)
        for literals, reason in statements:
            if only_way and any(self._is_true(o) for o in literals if o not in mine):
                continue
            parent = self._reached_in(literals)
            if parent is not None or (root and self._is_own(literals)):
                return self._reach(node, parent, reason)
        return False

    def _behind(self, node: Node) -> tuple[set[int], list[_Statement]]:
        """What holds because of a thing, and the statements that it helps to keep."""
        if node not in self._known:
            mine = self._holds_through(node)
            numbers = {number for literal in mine for number in self._naming.get(literal, ())}
            self._known[node] = mine, [self._statements[i] for i in sorted(numbers)]
        return self._known[node]

    def _holds_through(self, node: Node) -> set[int]:
        """What holds because of a thing: that it is there, and that a stock part is not."""
        me = self.problem.variables[node]
        gone = {
            -self.problem.variables["stays", place]
            for place, displacers in self.problem.displacers.items()
            if me in displacers and not any(self._is_true(d) for d in displacers if d != me)
        }
        groups = {
            -group for group, members in self.problem.members.items()
            if group not in self.solution.true and any(-member in gone for member in members)
        }
        return {me, *gone, *groups}

    def _is_true(self, literal: int) -> bool:
        return (abs(literal) in self.solution.true) == (literal > 0)

    @cached_property
    def _statements(self) -> list[_Statement]:
        found: list[_Statement] = list(self.problem.clauses)
        for need in self.problem.needs:
            literals = (*[-g for g in need.guard], *[c.literal for c in need.choices])
            found.append((literals, need.reason))
        return found

    @cached_property
    def _naming(self) -> Mapping[int, list[int]]:
        """For each literal the statements with it, by number."""
        found: dict[int, list[int]] = {}
        for number, (literals, _) in enumerate(self._statements):
            for literal in literals:
                found.setdefault(literal, []).append(number)
        return found

    def _reached_in(self, literals: tuple[int, ...]) -> Node | None:
        """The condition of a statement that is explained already."""
        conditions = (n for literal in literals if literal < 0 for n in self._nodes(-literal))
        return next((node for node in conditions if node in self.reached), None)

    def _is_own(self, literals: tuple[int, ...]) -> bool:
        """Whether a statement is the car's own: it depends on stock parts alone."""
        conditions = [n for literal in literals if literal < 0 for n in self._nodes(-literal)]
        return all(kind == "stays" for kind, _ in conditions)
