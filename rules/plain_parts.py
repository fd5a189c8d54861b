"""Parts of which all that matters is what they ask for, what they clash with and where they sit.

No check compares them, no general rule or work step speaks of them, they call for no work. Most
parts of a shop are of this sort, and packages of them alone are found without a search:

- *Harmless* ones sit nowhere, clash with nothing, and ask only for what is harmless. All of them
  at once go with every package on a car, so what asks for one of them has it.
- Of the others, one with what it asks for, beside all harmless ones and the car as it is, is a
  package if these do not clash with each other and nothing leans on what they displace.

Both are on the safe side: of a part that is not shown to be in a package nothing is said.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Set

from kb.catalogue import Catalogue
from kb.entries import Part, Work
from kb.statements import Need, Selector
from rules.checking import checks
from rules.everywhere import stock_anywhere
from rules.situation import Situation


class PlainParts:
    """The plain parts of one catalogue, of which the `dead` ones are in no package.

    What those state is of no account: so they must not be chosen for anything.
    """

    def __init__(self, catalogue: Catalogue, dead: Collection[str] = ()) -> None:
        self.parts, self.dead = catalogue.parts, dead
        self.clashes: dict[str, set[str]] = {}
        """Parts by name that cannot be there together with a part."""
        stock = stock_anywhere(catalogue)
        kinds, spoken_of = _conditions(catalogue, dead)
        for key, part in self.parts.items():
            if part.conflicts and key not in dead:
                self._clash(key, part)
        for key in stock.intersection(self.clashes):
            spoken_of |= self.clashes[key]
        kinds |= _compared()
        spoken_of |= stock
        self._plain = {
            key for key, part in self.parts.items()
            if part.kind not in kinds and key not in spoken_of and key not in dead
            and _is_plain(part)
        }
        self._mild = {
            key for key in self._plain if not self.parts[key].takes and key not in self.clashes
        }
        """Parts that are harmless wherever they go, if all they ask for is."""
        self._always = _served(
            {key for key in self._mild if not (self.parts[key].fits or self.parts[key].contents)},
            frozenset(), lambda key, harmless: all(
                self.is_met(need, harmless) for need in self.parts[key].requires
            ),
        )
        """Parts that are harmless on every car."""

    def _clash(self, key: str, part: Part) -> None:
        for conflict in part.conflicts:
            for other in conflict.listed:
                self.clashes.setdefault(key, set()).add(other)
                self.clashes.setdefault(other, set()).add(key)

    def is_met(self, selector: Selector, there: Set[str]) -> bool:
        """Whether one of the parts that a selector names is among some that are there."""
        if selector.at is not None or selector.fitted is True:
            return False
        unit = selector.amount.unit if isinstance(selector, Need) else None
        return any(
            part in there and unit in (None, self.parts[part].pack.unit)
            for part in selector.listed
        )

    def harmless(self, at: Situation, on_car: Iterable[str]) -> frozenset[str]:
        """The parts that are harmless on a car; `on_car` are all that can matter there."""
        def is_served(key: str, harmless: Set[str]) -> bool:
            part = self.parts[key]
            return all(
                self.is_met(need, harmless) or not at.holds(need.when) for need in part.requires
            ) and all(inner in harmless or at.refusal(inner) for inner in part.contents)

        mild = [part for part in on_car if part in self._mild and part not in self._always]
        return _served({part for part in mild if not at.refusal(part)}, self._always, is_served)

    def teams(self, at: Situation, parts: Iterable[str], harmless: Set[str]) -> set[str]:
        """Parts, of these and others, that are in a package of plain parts on a car."""
        found: set[str] = set()
        if not all(self._is_kept(at, rule, harmless) for rule in at.always):
            return found
        for part in parts:
            if part not in found and self._may_join(at, part, set()):
                found |= self._team(at, part, harmless)
        return found

    def _is_kept(self, at: Situation, rule_id: str, harmless: Set[str]) -> bool:
        """Whether a rule that holds on every package is kept without a search."""
        rule = at.catalogue.rules[rule_id]
        return at.stock_meets(rule) or any(self.is_met(then, harmless) for then in rule.then_any)

    def _team(self, at: Situation, first: str, harmless: Set[str]) -> set[str]:
        """A part with what it asks for; empty where that is not found at once."""
        team, queue = {first}, [first]
        while queue:
            for choices in self._asked(at, queue.pop(), harmless):
                if team.isdisjoint(choices):
                    joins = next((c for c in choices if self._may_join(at, c, team)), None)
                    if joins is None:
                        return set()
                    team.add(joins)
                    queue.append(joins)
        return team

    def _asked(self, at: Situation, key: str, harmless: Set[str]) -> Iterator[Collection[str]]:
        """For all that a part asks for and that is not harmless, the parts that would do."""
        part = self.parts[key]
        for need in part.requires:
            if not self.is_met(need, harmless) and at.holds(need.when):
                yield [p for p in need.listed if self.is_met(need, {p})]
        for inner in part.contents:
            if inner not in harmless and not at.refusal(inner):
                yield (inner,)

    def _may_join(self, at: Situation, key: str, team: Set[str]) -> bool:
        """Whether a part goes on the car beside these."""
        if key not in self._plain or at.refusal(key):
            return False
        takes, clashes = self.parts[key].takes, self.clashes.get(key, ())
        return (
            not any(place in at.dependents or place in at.stock_rules for place in takes)
            and team.isdisjoint(clashes)
            and (not takes or all(set(takes).isdisjoint(self.parts[p].takes) for p in team))
        )


def _served(
    parts: set[str], more: frozenset[str], is_served: Callable[[str, Set[str]], bool]
) -> frozenset[str]:
    """These parts and more, without those that are not served by what is left."""
    found = {*parts, *more}
    while True:
        harmful = [part for part in parts if not is_served(part, found)]
        if not harmful:
            return frozenset(found)
        found.difference_update(harmful)
        parts.difference_update(harmful)


def _is_plain(part: Part) -> bool:
    """Whether a part's own statements are only those that are looked at here."""
    return (
        part.orderable
        and not (part.clears or part.work or part.supersedes)
        and not any(fits.work for fits in part.fits)
        and all(conflict.listed for conflict in part.conflicts)
    )


def _compared() -> set[str]:
    """The kinds that checks compare which may say anything but that it fits."""
    return {
        kind for check in checks().values() if not check.informs
        for kind in (*(role.kind for role in check.roles), check.modifier) if kind
    }


def _conditions(catalogue: Catalogue, dead: Collection[str]) -> tuple[set[str], set[str]]:
    """The kinds and the parts of which something depends on whether they are there, but for
    conflicts between parts by name; with the parts that were tried, and those that others replace.
    """
    kinds: set[str] = set()
    parts: set[str] = set()
    for selector in _selectors(catalogue, dead):
        parts.update(selector.listed)
        if selector.kind is not None:
            kinds.add(selector.kind)
    parts.update(old for part in catalogue.parts.values() for old in part.supersedes)
    parts.update(part for trial in catalogue.trials.values() for part in trial.parts)
    return kinds, parts


def _selectors(catalogue: Catalogue, dead: Collection[str]) -> Iterator[Selector]:
    """Every selector that stands on the side of what is there."""
    for rule in catalogue.rules.values():
        yield from rule.when
    for work in catalogue.work.values():
        yield from work.conflicts
        yield from _present(work)
    for key, part in catalogue.parts.items():
        if key in dead:
            continue
        yield from (conflict for conflict in part.conflicts if not conflict.listed)
        yield from _present(part)
        for called in part.work:
            yield from called.when.present


def _present(entry: Part | Work) -> Iterator[Selector]:
    """What the needs and conflicts of an entry speak of as there."""
    for need in entry.requires:
        yield from need.when.present
    for conflict in entry.conflicts:
        yield from conflict.when.present
