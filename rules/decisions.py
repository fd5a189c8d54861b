"""What checks decide, without the words, shared by all parts and cars that look the same to them.

A large shop has very many parts and few sizes. What a check reads while it runs is written down,
of the car (as in `rules.sharing`) and of the dimensions of each part. Where all of that is equal on
other parts or another car, so is what it decides. Only its words are not: they name the parts it
ran on, so nobody may read them. A check that looks at more of a part than its dimensions is seen to
do so, and shares nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from typing import Any, cast

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.dimensions import Dimensions
from kb.entries import Part
from kb.statements import Axle
from rules.checking import Check, Sheet, Verdict
from rules.sharing import Watched

Look = Callable[[Baseline], Any]
Verdicts = tuple[Verdict, ...]

NAMES = frozenset({"kind", "name"})
"""What a check may read of a part without its being written down: names are only for words, and
which kinds it compares is known.
"""


class Matter:
    """One check: what it was seen to read, and what it decided."""

    def __init__(self, check: Check) -> None:
        self.check = check
        self.private = False
        """Whether it looks at more of a part than its dimensions."""
        self._looks: dict[Axle | None, dict[Hashable, Look]] = {}
        """On each axle, what it reads of a car."""
        self._fields: tuple[dict[str, None], ...] = tuple({} for _ in range(len(check.roles) + 1))
        """In each role, the dimensions it reads of a part."""
        self._numbers: dict[Hashable, int] = {}
        self._decided: dict[Hashable, Verdicts] = {}
        self._car: tuple[Hashable, int] = ("", 0)
        """The number given to a car last, and what it was given for."""

    def of_car(self, car: Baseline, axle: Axle | None) -> int:
        """The same number for all cars that look the same to the check on an axle."""
        looks = self._looks.get(axle, {})
        asked = (car.id, axle, len(looks))
        if self._car[0] != asked:
            self._car = (asked, self._number([look(car) for look in looks.values()]))
        return self._car[1]

    def of_part(self, role: int, part: Part) -> int:
        """The same number for all parts that look the same to the check, in one role."""
        return self._number([getattr(part.dimensions, name) for name in self._fields[role]])

    def _number(self, values: list[Any]) -> int:
        return self._numbers.setdefault(tuple(values), len(self._numbers))

    def known(self, key: Hashable) -> Verdicts | None:
        """What was decided on the numbers of parts and car, if it was."""
        return self._decided.get(key)

    def keep(self, key: Hashable, decided: Verdicts) -> None:
        """Keep what was decided."""
        self._decided[key] = decided

    def learn(self, run: _Run, axle: Axle | None) -> bool:
        """Note what a run has read. True if it was more than those before it."""
        before = self._size()
        self.private = self.private or run.prying
        self._looks.setdefault(axle, {}).update(run.car.looks)
        for fields, read in zip(self._fields, run.fields, strict=False):
            fields.update(read)
        return before != self._size()

    def _size(self) -> tuple[int, ...]:
        return (self.private, *map(len, self._looks.values()), *map(len, self._fields))


class Decisions:
    """The decisions of all checks on the parts of one catalogue."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue, self.version = catalogue, 0
        """The version counts how often a check read what it had not before: numbers given out
        before that are then no longer good."""
        self.shared = 0
        """How often a check did not have to run."""
        self.tried = {part for trial in catalogue.trials.values() for part in trial.parts}
        """Parts that a trial fit speaks of: what is decided of one says nothing of another."""
        self._matters: dict[str, Matter] = {}
        self._forms: dict[Dimensions, int] = {}

    def matter(self, check: Check) -> Matter:
        """What is known of a check."""
        known = self._matters.get(check.name)
        if known is None:
            known = self._matters[check.name] = Matter(check)
        return known

    def form(self, part: str) -> int:
        """The same number for all parts of the same dimensions."""
        return self._forms.setdefault(self.catalogue.parts[part].dimensions, len(self._forms))

    def decide(
        self, check: Check, parts: Sequence[str], car: Baseline, axle: Axle | None
    ) -> Verdicts | None:
        """What a check decides of these parts; None where it shares nothing.

        Left out is what limits nothing: what simply fits, and what is not known.
        """
        matter = self.matter(check)
        if matter.private:
            return None
        key = self._key(matter, parts, car, axle)
        decided = matter.known(key)
        self.shared += decided is not None
        if decided is None:
            run = _Run(self.catalogue, parts, car, self.form)
            decided = run.decide(check, axle)
            if matter.learn(run, axle):
                self.version += 1
            if matter.private:
                return None
            matter.keep(self._key(matter, parts, car, axle), decided)
        return decided

    def _key(
        self, matter: Matter, parts: Sequence[str], car: Baseline, axle: Axle | None
    ) -> Hashable:
        faces = [
            (matter.of_part(role, self.catalogue.parts[part]), car.is_fitted(part))
            for role, part in enumerate(parts)
        ]
        return (axle, matter.of_car(car, axle), *faces)


class _Run:
    """One run of a check on some parts of a car, all it reads being written down."""

    def __init__(
        self, catalogue: Catalogue, parts: Sequence[str], car: Baseline, form: Callable[[str], int]
    ) -> None:
        self.catalogue, self.parts, self.prying = catalogue, parts, False
        self.car = _Car(car, catalogue, frozenset(parts), form)
        self.fields: list[dict[str, None]] = [{} for _ in parts]
        """What was read of the dimensions of each part."""

    def decide(self, check: Check, axle: Axle | None) -> Verdicts:
        """What the check decides."""
        shown = [
            (part, cast(Part, _Shown(self.catalogue.parts[part], self, fields)))
            for part, fields in zip(self.parts, self.fields, strict=True)
        ]
        catalogue = cast(Catalogue, _Catalogue(self.catalogue, self))
        car = cast(Baseline, self.car)
        found = check.judge(check.sheet(shown, catalogue, car, axle, _Quiet))
        verdicts: Iterable[Verdict] = (found,) if isinstance(found, Verdict) else found or ()
        return tuple([verdict for verdict in verdicts if verdict.limits])


class _Quiet(Sheet):
    """A sheet on which nothing is put into words."""

    def _read(self, part: Part, name: str, *, optional: bool) -> Any:
        value = getattr(part.dimensions, name)
        if value is None and not optional:
            self.missing.append(name)
        return value

    def fact(self, name: str, *, axle: Axle | None = None, optional: bool = False) -> Any:
        found = self.baseline.fact(name, axle or self.axle)
        if found is None and not optional:
            self.missing.append(name)
        return None if found is None else found.value

    def limit(self, name: str) -> Any:
        return getattr(self.catalogue.limits, name)

    def note(self, name: str, value: str) -> None:
        pass


class _Car(Watched):
    """A car whose every reading is written down so that it can be repeated on any other."""

    def __init__(
        self, car: Baseline, catalogue: Catalogue, judged: frozenset[str],
        form: Callable[[str], int],
    ) -> None:
        super().__init__(car)
        self._catalogue, self._judged, self._form = catalogue, judged, form

    @property
    def looks(self) -> dict[Hashable, Look]:
        """What was read."""
        return {key: reading.look for key, reading in self.readings.items()}

    def is_fitted(self, part: str) -> Any:
        """As `Baseline.is_fitted`. Of the parts that are judged it is known."""
        return self.car.is_fitted(part) if part in self._judged else super().is_fitted(part)

    def fitted_of(self, parts: Mapping[str, Part], kind: str, axle: Axle | None = None) -> Any:
        """As `Baseline.fitted_of`. What matters of a stock part is its form."""
        look = partial(_stock_forms, self._catalogue.parts, self._form, kind, axle)
        self.look(("fitted of", kind, axle), look)
        return self.car.fitted_of(self._catalogue.parts, kind, axle)


def _stock_forms(
    parts: Mapping[str, Part], form: Callable[[str], int], kind: str, axle: Axle | None,
    car: Baseline,
) -> tuple[int, ...]:
    return tuple(map(form, car.fitted_of(parts, kind, axle)))


class _Shown:
    """A part, and its dimensions, as a run sees them; whatever else it looks at is prying."""

    def __init__(self, part: Part, run: _Run, fields: dict[str, None] | None) -> None:
        self._part, self._run, self._fields = part, run, fields

    @property
    def dimensions(self) -> Any:
        """The dimensions; each that is read is written down."""
        if self._fields is None:
            return self._part.dimensions
        return _Dimensions(self._part.dimensions, self._run, self._fields)

    def __getattr__(self, name: str) -> Any:
        if name not in NAMES:
            self._run.prying = True
        return getattr(self._part, name)


class _Dimensions:
    def __init__(self, dimensions: Dimensions, run: _Run, fields: dict[str, None]) -> None:
        self._dimensions, self._run, self._fields = dimensions, run, fields

    def __getattr__(self, name: str) -> Any:
        if name in type(self._dimensions).model_fields:
            self._fields[name] = None
        else:
            self._run.prying = True
        return getattr(self._dimensions, name)


class _Parts(Mapping[str, Part]):
    """The parts of a catalogue as a run sees them. Of stock parts the forms are written down."""

    def __init__(self, parts: Mapping[str, Part], run: _Run) -> None:
        self._parts, self._run = parts, run

    def __getitem__(self, key: str) -> Part:
        parts, fields = self._run.parts, self._run.fields
        own = fields[parts.index(key)] if key in parts else None
        return cast(Part, _Shown(self._parts[key], self._run, own))

    def __iter__(self) -> Iterator[str]:
        return iter(self._parts)

    def __len__(self) -> int:
        return len(self._parts)


class _Catalogue:
    """A catalogue as a run sees it."""

    def __init__(self, catalogue: Catalogue, run: _Run) -> None:
        self._catalogue, self.parts = catalogue, _Parts(catalogue.parts, run)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._catalogue, name)


def decisions_of(catalogue: Catalogue) -> Decisions:
    """The decisions of a catalogue, made on first use and kept with it."""
    if "decisions" not in catalogue.caches:
        catalogue.caches["decisions"] = Decisions(catalogue)
    known: Decisions = catalogue.caches["decisions"]
    return known
