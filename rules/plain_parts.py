"""Parts of which all that matters is what they ask for, what they clash with and where they sit.

No check compares them, no general rule or work step speaks of them, they call for no work. Most
parts of a shop are of this sort, and packages of them alone are found without a search:

- *Harmless* ones sit nowhere, clash with nothing, and ask only for what is harmless. All of them
  at once go with every package on a car, so what asks for one of them has it.
- The others make up packages among themselves (`rules.teams`).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence, Set

from kb.catalogue import Catalogue
from kb.entries import Part, Work
from kb.statements import Need, Selector, When
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
        self._asked: dict[str, tuple[tuple[tuple[str, ...], When | None], ...]] = {}
        everyones = (
            key for key in self._mild if not (self.parts[key].fits or self.parts[key].contents)
        )
        self._always = _served(
            {key: [names for names, _ in self._asks(key)] for key in everyones}, frozenset()
        )
        """Parts that are harmless on every car."""

    def _clash(self, key: str, part: Part) -> None:
        for conflict in part.conflicts:
            for other in conflict.listed:
                self.clashes.setdefault(key, set()).add(other)
                self.clashes.setdefault(other, set()).add(key)

    def is_plain(self, part: str) -> bool:
        """Whether a part is plain."""
        return part in self._plain

    def is_met(self, selector: Selector, there: Set[str]) -> bool:
        """Whether one of the parts that a selector names is among some that are there."""
        return not there.isdisjoint(self._names(selector))

    def _names(self, selector: Selector) -> tuple[str, ...]:
        """The parts by name that are what a selector asks for."""
        if selector.at is not None or selector.fitted is True:
            return ()
        named = selector.listed
        if not isinstance(selector, Need):
            return named
        unit = selector.amount.unit
        return tuple([part for part in named if self.parts[part].pack.unit == unit])

    def asked(self, at: Situation, key: str) -> Iterator[tuple[str, ...]]:
        """For all that a part asks for on a car, the parts of which one has to be there."""
        for names, when in self._asks(key):
            if when is None or at.holds(when):
                yield names
        for inner in self.parts[key].contents:
            if not at.refusal(inner):
                yield (inner,)

    def _asks(self, key: str) -> tuple[tuple[tuple[str, ...], When | None], ...]:
        known = self._asked.get(key)
        if known is None:
            known = self._asked[key] = tuple([
                (self._names(need), need.when if need.when.model_fields_set else None)
                for need in self.parts[key].requires
            ])
        return known

    def harmless(self, at: Situation, on_car: Iterable[str]) -> frozenset[str]:
        """The parts that are harmless on a car; `on_car` are all that can matter there."""
        mild = [part for part in on_car if part in self._mild and part not in self._always]
        asked = {part: list(self.asked(at, part)) for part in mild if not at.refusal(part)}
        return _served(asked, self._always)


def _served(
    asked: Mapping[str, Sequence[tuple[str, ...]]], more: frozenset[str]
) -> frozenset[str]:
    """These parts and more, but for those that ask for something that is not among what is left.

    Per part, for all it asks for the parts that would do.
    """
    found = {*asked, *more}
    askers: dict[str, list[str]] = {}
    for part, asks in asked.items():
        for names in asks:
            for name in names:
                if name in asked:
                    askers.setdefault(name, []).append(part)
    queue = list(asked)
    while queue:
        part = queue.pop()
        if part in found and any(map(found.isdisjoint, asked[part])):
            found.remove(part)
            queue += askers.get(part, ())
    return frozenset(found)


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
