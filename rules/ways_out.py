"""Ways out of an impossible question: smallest sets of changes, each proven to give a package."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from time import monotonic

from pysat.solvers import Solver

from kb.errors import OutOfTime
from kb.graph import key_of, node
from rules import answers as a
from rules.asking import Asked, ask
from rules.clashes import Switched
from rules.least import NO_BOUNDS, Bounds
from rules.naming import money
from rules.whole_car import least_package

MOST_RIVALS = 12
"""So many parts of its kind are tried in place of a pick."""


def ways_out(asked: Asked, most: int = 6) -> tuple[a.WayOut, ...]:
    """The smallest changes that lead to a package, least change first, then least price.

    What cannot be tried within the question's deadline is left out.
    """
    ends = monotonic() + asked.question.deadline
    found: dict[str, a.WayOut] = {}
    for changes, question in _candidates(asked, ends):
        if monotonic() > ends:
            break
        if not question.picks:
            continue  # to ask for nothing is no way out
        way = _proven(asked, changes, question, ends)
        if way is not None:
            found[way.model_dump_json(include={"changes"})] = way
    # A change that needs another on top is no smallest way out.
    smallest = [
        way for way in found.values()
        if not any(set(other.changes) < set(way.changes) for other in found.values())
    ]
    smallest.sort(key=lambda w: (len(w.changes), Decimal(w.price), w.changes[0].text))
    return tuple(smallest[:most])


def _proven(
    asked: Asked, changes: tuple[a.Change, ...], question: a.Question, ends: float
) -> a.WayOut | None:
    """The way out if its question has a package: found, not just believed."""
    again = ask(asked.catalogue, question)
    try:
        solution = least_package(
            again.cone, question.prefer, max(ends - monotonic(), 0.05), bounds_of(question)
        )
    except OutOfTime:
        return None
    if solution is None:
        return None
    return a.WayOut(
        changes=changes, price=money(solution.costs["money"]),
        minutes=round(solution.costs["minutes"] / 60, 1),
        outcome="complete_once_measured" if solution.costs["open"] else "complete",
    )


def bounds_of(question: a.Question) -> Bounds:
    """The bounds a question sets: its budget."""
    if question.budget is None:
        return NO_BOUNDS
    return Bounds(at_most={"money": int(Decimal(question.budget) * 100)})


# -- candidates -------------------------------------------------------------------------------


def _candidates(
    asked: Asked, ends: float
) -> Iterator[tuple[tuple[a.Change, ...], a.Question]]:
    """Sets of changes worth trying, with the question they lead to."""
    if asked.question.budget is not None:
        yield from _by_budget(asked, ends)
    for keys in _correction_sets(asked, ends):
        changes, question = _left_out(asked, keys)
        yield changes, question
        picks = [key.partition(":")[2] for key in keys if key.startswith("pick:")]
        if len(keys) == 1 and picks:
            yield from _swaps(asked, picks[0])


def _by_budget(
    asked: Asked, ends: float
) -> Iterator[tuple[tuple[a.Change, ...], a.Question]]:
    """A larger budget, and what is left out or swapped to stay within it."""
    free = asked.question.model_copy(update={"budget": None})
    try:
        cone = ask(asked.catalogue, free).cone
        solution = least_package(cone, free.prefer, max(ends - monotonic(), 0.05))
    except OutOfTime:
        return
    if solution is None:
        return
    price = money(solution.costs["money"])
    currency = asked.catalogue.header.currency
    text = f"raise the budget to {price} {currency}"
    change = a.Change(type="raise_budget", text=text, by=price)
    yield (change,), free.model_copy(update={"budget": price})
    for item in asked.question.picks:
        yield _left_out(asked, (f"pick:{item.part}",))
        yield from _swaps(asked, item.part)


def _correction_sets(asked: Asked, ends: float) -> Iterator[tuple[str, ...]]:
    """Every smallest set of picks and wishes without which the rest can hold."""
    left = max(ends - monotonic(), 0.05)
    with Switched(asked.problem, asked.reasons, left) as switched, Solver("minisat22") as explored:
        free = {
            key: switch for key, switch in switched.switches.items()
            if switched.said[switch].type in ("pick", "wish")
        }
        fixed = [s for key, s in switched.switches.items() if key not in free]
        for switch in free.values():
            explored.add_clause([switch, -switch])
        explored.set_phases(list(free.values()))
        while free and explored.solve():
            model = set(explored.get_model() or ())
            chosen = [switch for switch in free.values() if switch in model]
            try:
                core = switched.refuted([*fixed, *chosen])
                if core is not None:
                    explored.add_clause([-s for s in core if s in free.values()])
                    continue
                for switch in free.values():
                    if switch not in chosen and switched.holds([*fixed, *chosen, switch]):
                        chosen.append(switch)
            except OutOfTime:
                return
            out = [key for key, switch in free.items() if switch not in chosen]
            explored.add_clause([free[key] for key in out])
            yield tuple(out)


def _left_out(
    asked: Asked, keys: tuple[str, ...]
) -> tuple[tuple[a.Change, ...], a.Question]:
    """The question without these picks and wishes."""
    question, changes = asked.question, []
    for key in keys:
        kind, _, rest = key.partition(":")
        if kind == "pick":
            question = _without_pick(asked, question, rest)
            text = f"leave out {asked.situation.name(rest)}"
            changes.append(a.Change(type="leave_out", text=text, part=rest))
            continue
        wish, _, value = rest.partition(":")
        question = _without_wish(question, wish, value)
        text = f"give up that {asked.reasons.wish(wish, value).text}"
        changes.append(a.Change(type="give_up_wish", text=text, wish=wish, by=value or None))
    return tuple(changes), question


def _without_pick(asked: Asked, question: a.Question, part: str) -> a.Question:
    old = {part, *_replaced_by(asked, part)}
    left = tuple(item for item in question.picks if item.part not in old)
    return question.model_copy(update={"picks": left})


def _replaced_by(asked: Asked, part: str) -> list[str]:
    """The older parts that a pick of this part may have been asked for by."""
    edges = asked.situation.graph.out(node("part", part), "supersedes")
    found = [key_of(edge.node) for edge in edges]
    return found + [older for old in found for older in _replaced_by(asked, old)]


def _without_wish(question: a.Question, wish: str, value: str) -> a.Question:
    if wish in ("reversible_only", "certain_only"):
        return question.model_copy(update={wish: False})
    left = tuple(v for v in getattr(question, wish) if v != value)
    return question.model_copy(update={wish: left})


def _swaps(
    asked: Asked, part: str
) -> Iterator[tuple[tuple[a.Change, ...], a.Question]]:
    """Other parts of the same kind for the same places, nearest in price first."""
    at = asked.situation
    stated = at.parts[part]
    rivals = [
        key_of(edge.node) for edge in at.graph.into(node("kind", stated.kind), "is")
    ]
    rivals = [
        rival for rival in rivals
        if rival != part and rival not in asked.problem.picks and at.buyable(rival)
        and not at.refusal(rival) and set(at.parts[rival].takes) == set(stated.takes)
    ]
    price = stated.price.cents if stated.price else 0
    rivals.sort(key=lambda r: (abs((p.cents if (p := at.parts[r].price) else 0) - price), r))
    for rival in rivals[:MOST_RIVALS]:
        question = _without_pick(asked, asked.question, part)
        question = question.model_copy(update={"picks": (*question.picks, a.Item(part=rival))})
        text = f"take {at.name(rival)} in place of {at.name(part)}"
        yield (a.Change(type="swap", text=text, part=part, by=rival),), question
