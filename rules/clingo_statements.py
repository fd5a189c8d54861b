"""What a package has to keep to, as rules for clingo: every statement, and who meets which need."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rules.clingo_program import Program
from rules.problem import Choice, NeedInstance, Problem


class Statements:
    """The statements of one problem. `assigned` has a literal for every choice of every need: it
    holds where the need falls on that choice.
    """

    def __init__(self, problem: Problem, program: Program) -> None:
        self.problem, self.program = problem, program
        self.assigned: list[tuple[int, NeedInstance, Choice]] = []
        self._let: set[tuple[int, ...]] = set()
        """What was let in under which conditions."""
        self._opens()
        self._let_in_what_is_asked_for()
        self._stock()
        self._clauses()
        for need in problem.needs:
            self._need(need)

    def _opens(self) -> None:
        for (kind, _), variable in self.problem.variables.items():
            if kind == "open":
                self.program.may([self.program.literal(variable)])

    def _stock(self) -> None:
        literal = self.program.literal
        for place, displacers in self.problem.displacers.items():
            stays = literal(self.problem.variables["stays", place])
            self.program.follows(stays, [-literal(d) for d in displacers])

    def _clauses(self) -> None:
        literal = self.program.literal
        for variable, members in self.problem.members.items():
            for member in members:
                self.program.follows(literal(variable), [literal(member)])
        for clause in self.problem.clauses:
            self.program.forbid([literal(-other) for other in clause.literals])
        for takers in self.problem.exclusive.values():
            self.program.at_most_one([literal(taker) for taker in takers])

    def _need(self, need: NeedInstance) -> None:
        """One choice is assigned to every active need."""
        literal, program = self.program.literal, self.program
        guard = [literal(condition) for condition in need.guard]
        if len(need.choices) == 1:
            self._only_choice(need, guard)
            return
        taken: list[int] = []
        for choice in need.choices:
            atom = program.atom()
            program.may([atom], [*guard, literal(choice.literal)])
            if choice.open is not None:
                program.forbid([atom, -literal(choice.open)])
            self.assigned.append((atom, need, choice))
            taken.append(atom)
        program.forbid([*guard, *[-atom for atom in taken]])
        program.at_most_one(taken)

    def _only_choice(self, need: NeedInstance, guard: list[int]) -> None:
        """A need that falls on its only choice whenever it is active."""
        choice = need.choices[0]
        for met in (choice.literal, choice.open):
            if met is not None:
                self.program.forbid([*guard, -self.program.literal(met)])
        self.assigned.append((self.program.both(*guard), need, choice))

    # -- nothing unasked ------------------------------------------------------------------------

    def _let_in_what_is_asked_for(self) -> None:
        """A part or step may be there only if a statement asks for it, starting from the picks.

        What lets a need lapse, or a conflict, is asked for as well. Without this, less mass or time
        could be had by changing what nobody asked about.
        """
        for part in self.problem.picks:
            if (new := self.problem.known("new", part)) is not None:
                self._may(new, [])
        for need in self.problem.needs:
            conditions = [g for g in need.guard if g > 0]
            for choice in need.choices:
                if choice.stock_place is None:
                    self._may(choice.literal, conditions)
            self._may_settle([-g for g in need.guard])
        for clause in self.problem.clauses:
            self._may_settle(clause.literals)
        for kit, contents in self.problem.kits.items():
            whole = self.problem.variables["new", kit]
            for part in contents:
                if (inner := self.problem.known("new", part)) is not None:
                    self._may(inner, [whole])
                    self._may(whole, [inner])

    def _may(self, literal: int, conditions: Iterable[int]) -> None:
        """Let something in while all conditions hold."""
        if literal in self.program.atoms:
            let = (literal, *conditions)
            if let not in self._let and (literal,) not in self._let:
                self._let.add(let)
                body = [self.program.literal(condition) for condition in let[1:]]
                self.program.may([self.program.atoms[literal]], body)

    def _may_settle(self, literals: Sequence[int]) -> None:
        """Let in what makes a statement hold: what it names, and what takes a stock part off the
        car that it speaks against.

        Where statements are left out, another stock part in it may be off for their sake.
        """
        named = [v for v in literals if v > 0 and self.problem.atoms[v][0] in ("new", "step")]
        against = {v: places for v in literals if v < 0 and (places := self._stock_behind(v))}
        if not named and not against:
            return
        held = [
            v for v in literals if v < 0 and not (self.problem.partial and v in against)
        ]
        for literal in named:
            self._may(literal, [-other for other in held])
        for literal, places in against.items():
            for place in places:
                conditions = [-other for other in held if other != literal]
                for displacer in self.problem.displacers[place]:
                    # Of a group, nothing else may be left: else it settles nothing.
                    self._may(displacer, [*conditions, literal])

    def _stock_behind(self, literal: int) -> Sequence[str]:
        """The places whose stock part a negative literal denies, itself or in a group."""
        kind, key = self.problem.atoms[-literal]
        if kind == "stays":
            return (key,)
        if kind != "any":
            return ()
        members = self.problem.members.get(-literal, ())
        return [place for member in members for place in self._stock_behind(-member)]
