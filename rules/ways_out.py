"""Ways out of an impossible question: smallest sets of changes, each proven to give a package.

The smallest sets of picks, wishes and budget to give up are the smallest sets that hit every
clash. They are found fewest changes first, a clash being looked for only where a set fails
(Reiter, "A theory of diagnosis from first principles", Artificial Intelligence 32, 1987).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from functools import reduce
from re import fullmatch

from pysat.examples.hitman import Hitman

from kb.errors import OutOfTime
from kb.graph import key_of, node
from rules import answers as a
from rules.asking import Asked, ask, current
from rules.clashes import Switched
from rules.naming import money
from rules.sat import clauses
from rules.situation import Situation
from rules.solution import NO_BOUNDS, Bounds, Solution
from rules.whole_car import least_for

MOST_RIVALS = 12
"""So many parts of its kind are tried in place of a pick."""

MOST_TRIED = 60
"""So many sets of changes are tried: a long list of picks can be thinned out in countless ways."""

BUDGET = "budget"
LISTS = ("keep", "avoid", "avoid_makers", "refuse_work")
FLAGS = ("reversible_only", "certain_only")
"""The wishes that hold values, and those that are given or not."""


def ways_out(asked: Asked, most: int = 6) -> tuple[a.WayOut, ...]:
    """The smallest changes that lead to a package, least change first, then least price.

    What cannot be tried within the question's deadline is left out.
    """
    found: list[a.WayOut] = []
    try:
        for keys in _given_up(asked):
            if len(found) >= most and len(keys) > len(found[-1].changes):
                break
            found += _led_to(asked, _raised(asked, [change_of(asked, key) for key in keys]))
            if len(keys) == 1 and keys[0].startswith("pick:"):
                found += _swaps(asked, keys[0].removeprefix("pick:"))
    except OutOfTime:
        pass  # what was found so far is proven all the same
    found.sort(key=lambda w: (len(w.changes), Decimal(w.price), w.changes[0].text))
    return tuple(found[:most])


def bounds_of(question: a.Question) -> Bounds:
    """The bounds a question sets: its budget."""
    if question.budget is None:
        return NO_BOUNDS
    return Bounds(at_most={"money": int(Decimal(question.budget) * 100)})


# -- changes ----------------------------------------------------------------------------------


def changed(situation: Situation, question: a.Question, change: a.Change) -> a.Question:
    """The question after one change to it."""
    if change.type == "raise_budget":
        return question.model_copy(update={"budget": change.by})
    if change.type == "give_up_wish":
        return _without_wish(question, change.wish or "", change.by or "")
    gone = [item for item in question.picks if current(situation, item.part) == change.part]
    picks = tuple(item for item in question.picks if item not in gone)
    if change.type == "swap":
        qty = sum(item.qty or 0 for item in gone) or None
        picks = (*picks, a.Item(part=change.by or "", qty=qty))
    return question.model_copy(update={"picks": picks})


def _without_wish(question: a.Question, wish: str, value: str) -> a.Question:
    if wish in FLAGS:
        return question.model_copy(update={wish: False})
    left = tuple(v for v in getattr(question, wish) if v != value)
    return question.model_copy(update={wish: left})


def change_of(asked: Asked, key: str) -> a.Change:
    """Giving up a pick, a wish or the budget, in words."""
    kind, _, rest = key.partition(":")
    if kind == "pick":
        text = f"leave out {asked.situation.name(rest)}"
        return a.Change(type="leave_out", text=text, part=rest)
    if kind == "wish":
        wish, _, value = rest.partition(":")
        text = f"give up that {asked.reasons.wish(wish, value).text}"
        return a.Change(type="give_up_wish", text=text, wish=wish, by=value or None)
    return _budget(asked, None)


def _budget(asked: Asked, price: str | None) -> a.Change:
    text = f"raise the budget to {price} {asked.catalogue.header.currency}"
    return a.Change(type="raise_budget", text=text, by=price)


def _raised(asked: Asked, changes: Iterable[a.Change]) -> Iterator[a.Change]:
    """The changes, a raised budget being no more than what is then the least cost."""
    changes = tuple(changes)
    for change in changes:
        if change.type == "raise_budget":
            free = _after(asked, changes).model_copy(update={"prefer": "least_cost"})
            if (cheapest := _solved(asked, free)) is not None:
                yield _budget(asked, money(cheapest.costs["money"]))
        else:
            yield change


def _led_to(asked: Asked, changes: Iterable[a.Change]) -> Iterator[a.WayOut]:
    """The way out that changes are, if they lead to a package. Raises OutOfTime."""
    changes = tuple(changes)
    solution = _solved(asked, _after(asked, changes))
    if solution is not None:
        yield a.WayOut(
            changes=changes, price=money(solution.costs["money"]),
            minutes=round(solution.costs["minutes"] / 60, 1),
            outcome="complete_once_measured" if solution.costs["open"] else "complete",
        )


def leads_as_said(asked: Asked, way: a.WayOut) -> bool:
    """Whether a way out is made of changes to this question and leads to the package it says.

    Raises OutOfTime.
    """
    possible = all(_is_change(asked, change) for change in way.changes)
    return possible and way in _led_to(asked, way.changes)


def _is_change(asked: Asked, change: a.Change) -> bool:
    if change.type == "raise_budget":
        named = fullmatch(r"\d+\.\d\d", change.by or "") is not None
        return named and change == _budget(asked, change.by)
    if change.type == "swap":
        known = change.part in asked.problem.picks and change.by in asked.situation.parts
        return known and change == _swap(asked, change.part or "", change.by or "")
    return change in [change_of(asked, key) for key in given(asked)]


def _after(asked: Asked, changes: Iterable[a.Change]) -> a.Question:
    return reduce(
        lambda question, change: changed(asked.situation, question, change), changes,
        asked.question,
    )


def _solved(asked: Asked, question: a.Question) -> Solution | None:
    """The least package of another question, in the time of this one. Raises OutOfTime."""
    again = ask(asked.catalogue, question)
    return least_for(again, question.prefer, asked.left(), bounds_of(question))


# -- what to give up --------------------------------------------------------------------------


def given(asked: Asked) -> list[str]:
    """Everything the asker could give up: the keys of picks, wishes and the budget."""
    question = asked.question
    keys = [f"pick:{part}" for part in asked.problem.picks]
    for field in LISTS:
        keys += [f"wish:{field}:{value}" for value in dict.fromkeys(getattr(question, field))]
    keys += [f"wish:{flag}:" for flag in FLAGS if getattr(question, flag)]
    return keys + ([BUDGET] if question.budget is not None else [])


def with_only(
    asked: Asked, kept: Iterable[str], prefer: a.Preference | None = None
) -> Solution | None:
    """The least package when only these keys still count. Raises OutOfTime."""
    kept = set(kept)
    gone = [change_of(asked, key) for key in given(asked) if key not in kept]
    question = _after(asked, gone)
    return _solved(asked, question.model_copy(update={"prefer": prefer or question.prefer}))


def _given_up(asked: Asked) -> Iterator[tuple[str, ...]]:
    """Every smallest set of keys without which there is a package, fewest first.

    Raises OutOfTime past the deadline.
    """
    keys = given(asked)
    stated = clauses(asked.problem, asked.reasons)
    with Switched(stated, asked.left()) as switched, Hitman() as hitting:
        for _ in range(MOST_TRIED):
            out = hitting.get()
            if out is None:
                return
            kept = [key for key in keys if key not in out]
            clash = _stated_clash(switched, kept)
            if clash is None and with_only(asked, kept) is None:
                clash = needed_keys(asked, kept)
            if clash is None and out:
                yield tuple(key for key in keys if key in out)
                hitting.block(out)
            elif not clash:
                return  # nothing the asker could give up is to blame
            else:
                hitting.hit(clash)


def _stated_clash(switched: Switched, kept: Iterable[str]) -> list[str] | None:
    """The kept keys that clash with what the catalogue states; None when none do."""
    stated = [s for s, said in switched.said.items() if said.type not in ("pick", "wish")]
    ours = {switched.switches[key]: key for key in kept if key in switched.switches}
    core = switched.refuted([*stated, *ours])
    return None if core is None else [ours[switch] for switch in core if switch in ours]


def needed_keys(asked: Asked, kept: Iterable[str]) -> list[str]:
    """An irreducible part of the kept keys with which there is no package, in any amounts.

    There must be none with all of them. Raises OutOfTime.
    """
    needed = list(kept)
    for key in list(needed):
        fewer = [other for other in needed if other != key]
        if with_only(asked, fewer) is None:
            needed = fewer
    return needed


# -- swaps ------------------------------------------------------------------------------------


def _swaps(asked: Asked, part: str) -> Iterator[a.WayOut]:
    """What could be taken in place of a pick, nearest in price first. Raises OutOfTime."""
    for rival in _rivals(asked, part):
        yield from _led_to(asked, [_swap(asked, part, rival)])


def _swap(asked: Asked, part: str, rival: str) -> a.Change:
    name = asked.situation.name
    text = f"take {name(rival)} in place of {name(part)}"
    return a.Change(type="swap", text=text, part=part, by=rival)


def _rivals(asked: Asked, part: str) -> list[str]:
    """Other parts of the same kind for the same places, sold by the same measure."""
    at = asked.situation
    stated = at.parts[part]

    def may_stand_in(rival: str) -> bool:
        other = at.parts[rival]
        return (
            rival != part and rival not in asked.problem.picks and at.buyable(rival)
            and not at.refusal(rival) and set(other.takes) == set(stated.takes)
            and other.pack.unit == stated.pack.unit
        )

    def apart(rival: str) -> tuple[int, str]:
        price = at.parts[rival].price
        return abs((price.cents if price else 0) - (stated.price.cents if stated.price else 0)), \
            rival

    same_kind = (key_of(edge.node) for edge in at.graph.into(node("kind", stated.kind), "is"))
    return sorted(filter(may_stand_in, same_kind), key=apart)[:MOST_RIVALS]
