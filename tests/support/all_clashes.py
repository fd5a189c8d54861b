"""All clashes of a problem, by another method than the one that is tested.

First every smallest set of statements to strike out is listed (by a MaxSAT-free search of another
library, on another solver); the clashes are the smallest sets that hit all of those (Reiter, "A
theory of diagnosis from first principles", Artificial Intelligence 32, 1987; Liffiton and Sakallah,
"Algorithms for computing minimal unsatisfiable subsets of constraints", Journal of Automated
Reasoning 40, 2008).
"""

from __future__ import annotations

from pysat.examples.hitman import Hitman
from pysat.examples.lbx import LBX
from pysat.formula import WCNF

from rules.asking import Asked
from rules.sat import clauses

Keys = frozenset[str]


class TooMany(Exception):
    """There are too many sets to list."""


def all_clashes(asked: Asked, most: int = 300) -> set[Keys]:
    """Every clash, as the keys of its statements. Raises TooMany."""
    stated = list(clauses(asked.problem, asked.reasons))
    top = max(abs(literal) for each in stated for literal in each.literals)
    switches: dict[str, int] = {}
    formula = WCNF()
    for each in stated:
        if each.reason is None:
            formula.append(each.literals)
            continue
        switch = switches.setdefault(each.reason.key, top + len(switches) + 1)
        formula.append([*each.literals, -switch])
    for switch in switches.values():
        formula.append([switch], weight=1)
    keys = list(switches)
    with LBX(formula, solver_name="cd15") as search:
        corrections = []
        for found in search.enumerate():
            corrections.append([keys[i - 1] for i in found])
            search.block(found)
            if len(corrections) > most:
                raise TooMany
    return _hitting(corrections, most)


def _hitting(sets: list[list[str]], most: int) -> set[Keys]:
    found: set[Keys] = set()
    with Hitman(bootstrap_with=sets, solver="g4", htype="sorted") as hitting:
        for hit in hitting.enumerate():
            found.add(frozenset(hit))
            if len(found) > most:
                raise TooMany
    return found
