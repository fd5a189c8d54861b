"""The package problem in the solvers' terms: variables, clauses, needs with amounts, and costs.

It knows nothing of brakes or tyres. A variable stands for an atom:

- ("new", part): the part is added to the car, bought or from what is on hand
- ("stays", place): the stock part stays in that place
- ("step", work): the work step is done
- ("open", key): the answer rests on a measurement that nobody has taken yet
- ("any", n): some member of a group is there (a helper for conditions)

A literal is a variable or its negative, as in DIMACS.
"""

from __future__ import annotations

from collections.abc import Callable, Set
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Literal, NamedTuple, cast

from rules.checking import Verdict
from rules.situation import Member

Atom = tuple[str, str]
ReasonType = Literal[
    "pick", "need", "conflict", "place", "contents", "rule", "check", "fit", "work", "sale", "wish"
]


@dataclass(frozen=True, slots=True)
class Reason:
    """The statement behind a clause, in words. `key` is the same for every clause it causes."""

    type: ReasonType
    key: str
    text: str
    """The whole statement as a sentence, its reason included."""
    why: str = ""
    """The reason alone, as stated in the catalogue."""
    basis: str = "common_practice"
    source: str = ""
    also: tuple[str, ...] = ()
    """The keys of other statements that say the same, where one stands for all of them."""


class _Late:
    """A reason that is put into words when it is first read: most never are."""

    __slots__ = ("_args", "_made", "_say")

    def __init__(self, say: Callable[..., Reason], args: tuple[Any, ...]) -> None:
        self._say, self._args = say, args
        self._made: Reason | None = None

    def __getattr__(self, name: str) -> Any:
        return getattr(self._reason(), name)

    def _reason(self) -> Reason:
        if self._made is None:
            self._made = self._say(*self._args)
        return self._made

    def __eq__(self, other: object) -> bool:
        return self._reason() == (other._reason() if isinstance(other, _Late) else other)

    def __hash__(self) -> int:
        return hash(self._reason())


def late(say: Callable[..., Reason], *args: Any) -> Reason:
    """The reason `say(*args)`, made when it is first read."""
    return cast(Reason, _Late(say, args))


class Clause(NamedTuple):
    """At least one of these literals holds."""

    literals: tuple[int, ...]
    reason: Reason


class Asker(NamedTuple):
    """Whose units a need counts: while `literal` holds, `units`, or the quantity of `part`."""

    literal: int
    part: str | None
    units: int = 0


class Choice(NamedTuple):
    """One way to meet a need: a part that is added, one that stays in a place, or a work step."""

    literal: int
    part: str | None
    stock_place: str | None = None
    open: int | None = None
    step: str | None = None
    kept: tuple[tuple[int, int], ...] = ()
    """For a stock part whose number counts: the places it is in, as literals, with their counts."""


class NeedInstance(NamedTuple):
    """While every literal of `guard` holds, one choice must; the amount falls on that choice."""

    key: str
    owner: str
    """The graph node that asks."""
    guard: tuple[int, ...]
    askers: tuple[Asker, ...]
    amount: Fraction
    each: bool
    choices: tuple[Choice, ...]
    reason: Reason

    @property
    def literals(self) -> tuple[int, ...]:
        """The need as a clause, with the measurements its choices may rest on."""
        return (
            *[-literal for literal in self.guard], *[choice.literal for choice in self.choices],
            *[choice.open for choice in self.choices if choice.open],
        )

    def left(self, there: Callable[[int], bool], never: Set[int]) -> NeedInstance:
        """The need with only those askers that may be there, and choices that are never ruled out.
        """
        askers = [a for a in self.askers if not a.literal or there(a.literal)]
        choices = [c for c in self.choices if c.literal not in never and c.open not in never]
        if len(askers) + len(choices) == len(self.askers) + len(self.choices):
            return self
        return self._replace(askers=tuple(askers), choices=tuple(choices))


class Judged(NamedTuple):
    """A combination that does not simply fit; it counts while every literal holds."""

    literals: tuple[int, ...]
    members: tuple[Member, ...]
    verdict: Verdict
    reason: Reason
    """The very reason of the clauses that it causes."""


@dataclass(slots=True)
class Problem:
    """One question about one car, ready for any solver."""

    atoms: list[Atom] = field(default_factory=lambda: [("", "")])
    variables: dict[Atom, int] = field(default_factory=dict)
    clauses: list[Clause] = field(default_factory=list)
    needs: list[NeedInstance] = field(default_factory=list)
    exclusive: dict[str, list[int]] = field(default_factory=dict)
    """Per place, the additions of which at most one may hold."""
    displacers: dict[str, list[int]] = field(default_factory=dict)
    """Per place with a stock part: it stays exactly while none of these holds."""
    members: dict[int, list[int]] = field(default_factory=dict)
    """Per ("any", n) variable: it holds when one of these does."""
    judged: list[Judged] = field(default_factory=list)
    picks: dict[str, Fraction] = field(default_factory=dict)
    on_hand: dict[str, Fraction] = field(default_factory=dict)
    kits: dict[str, dict[str, Fraction]] = field(default_factory=dict)
    """Per kit, what one of it adds to the car, kits inside it unpacked."""
    units: dict[str, int] = field(default_factory=dict)
    """Per part, the units its places hold; 0 for parts without places."""
    measured: set[str] = field(default_factory=set)
    """Parts sold by measure: there is no least amount of them."""
    partial: bool = False
    """Statements are still left out: what they may ask for is let in, as far as can be told."""

    def variable(self, kind: str, key: str) -> int:
        """The variable of an atom, made when it is new."""
        atom = (kind, key)
        if atom not in self.variables:
            self.variables[atom] = len(self.atoms)
            self.atoms.append(atom)
        return self.variables[atom]

    def known(self, kind: str, key: str) -> int | None:
        """The variable of an atom if it has one."""
        return self.variables.get((kind, key))

    def stated(self) -> list[tuple[int, ...]]:
        """The literals of every statement: clauses first, then needs."""
        return [
            *[clause.literals for clause in self.clauses], *[need.literals for need in self.needs],
        ]

    def new_parts(self) -> list[tuple[str, int]]:
        """Every part that may be added, with its variable."""
        return [(key, var) for (kind, key), var in self.variables.items() if kind == "new"]

    def steps(self) -> list[tuple[str, int]]:
        """Every work step that may be done, with its variable."""
        return [(key, var) for (kind, key), var in self.variables.items() if kind == "step"]

    def own_amount(self, part: str) -> Fraction:
        """What a part is wanted for in itself: its places and the pick, and one at the least.

        Many a part is there for what it is and not because it is needed: it clears a place, or a
        need does not apply beside it.
        """
        least = 0 if part in self.measured else 1
        units = max(self.units.get(part, 0), least)
        picked = self.picks.get(part)
        return Fraction(units) if picked is None else max(Fraction(units), picked)
