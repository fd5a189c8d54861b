"""Puts a problem in an order of its own, whatever came into it first.

What is found out does not hang on the order in which a problem came about, but which of two equal
solutions a solver comes to first, and which of two reasons is named first, may.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from rules.problem import NeedInstance, Problem

_Key = tuple[str, bool, int, str]


def in_order(problem: Problem) -> Problem:
    """The same problem with its statements and parts by name; variables keep their numbers."""
    names = [("any", "") if kind == "any" else (kind, key) for kind, key in problem.atoms]
    by_name = sorted(range(1, len(names)), key=names.__getitem__)
    rank = {variable: number for number, variable in enumerate(by_name, 1)}
    rank |= dict.fromkeys(problem.members, 0)

    def ranked(literals: Iterable[int]) -> list[int]:
        return [rank[v] if v > 0 else -rank[-v] for v in literals]

    def listed(by_place: Mapping[str, list[int]]) -> dict[str, list[int]]:
        return {place: sorted(by_place[place], key=rank.__getitem__) for place in sorted(by_place)}

    needs = [
        need._replace(askers=tuple(sorted(need.askers, key=lambda a: rank.get(a.literal, 0))))
        if len(need.askers) > 1 else need for need in sorted(problem.needs, key=_key)
    ]
    clauses = sorted(problem.clauses, key=lambda clause: ranked(clause.literals))
    groups = _groups_as_named(
        problem, [*(c.literals for c in clauses), *(need.guard for need in needs)]
    )
    return replace(
        problem, clauses=clauses, needs=needs,
        variables={problem.atoms[v]: v for v in by_name if problem.atoms[v] in problem.variables},
        exclusive=listed(problem.exclusive), displacers=listed(problem.displacers),
        members={
            group: sorted(problem.members[group], key=rank.__getitem__) for group in groups
        },
        kits={kit: problem.kits[kit] for kit in sorted(problem.kits)},
    )


def _key(need: NeedInstance) -> _Key:
    """By who asks, then by the number among what it asks for."""
    owner, _, number = need.key.partition("#")
    return (owner, not number.isdigit(), int(number) if number.isdigit() else 0, number)


def _groups_as_named(problem: Problem, statements: Iterable[Iterable[int]]) -> list[int]:
    """The groups in the order in which statements first name them."""
    named = dict.fromkeys(
        abs(v) for literals in statements for v in literals if abs(v) in problem.members
    )
    return [*named, *(group for group in problem.members if group not in named)]
