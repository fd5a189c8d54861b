"""The checks of what is on a car, held against what a package says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import product

from kb.statements import Axle
from rules.checking import Check, Verdict, checks
from rules.verify_scene import Scene, There

Combination = tuple[Check, tuple[There, ...], Axle | None]


class Checks:
    """The checks of what is on a car."""

    def __init__(self, scene: Scene) -> None:
        self.scene, self.car = scene, scene.car

    @cached_property
    def combinations(self) -> list[Combination]:
        """Everything there that some check compares, with the part that modifies it if any."""
        return list(self._combinations())

    def _combinations(self) -> Iterator[Combination]:
        by_kind: dict[str | None, list[There]] = {}
        for thing in self.scene.there:
            by_kind.setdefault(self.car.catalogue.parts[thing.part].kind, []).append(thing)
        for check in checks().values():
            if not all(role.kind in by_kind for role in check.roles):
                continue
            pools = [
                [t for t in by_kind[role.kind]
                 if role.axle is None or role.axle in self.scene.axles_of(t)]
                for role in check.roles
            ]
            modifiers = by_kind.get(check.modifier, [])
            for things in product(*pools):
                for axle in [None] if check.whole_car else self._shared_axles(things):
                    here = [m for m in modifiers if axle in self.scene.axles_of(m)]
                    for full in [(*things, m) for m in here] or [things]:
                        if any(t.place is None for t in full) and not self._yields(check, axle):
                            yield check, full, axle

    def _yields(self, check: Check, axle: Axle | None) -> bool:
        return check.unless is not None and any(
            self.car.catalogue.parts[part].kind == check.unless
            and self.car.baseline.places[place].axle == axle
            for place, part in self.car.baseline.fitted.items()
        )

    def _shared_axles(self, things: Sequence[There]) -> list[Axle | None]:
        shared: set[Axle | None] | None = None
        for thing in things:
            axles = self.scene.axles_of(thing)
            if axles == [None]:
                continue
            shared = set(axles) if shared is None else shared & set(axles)
        return [None] if shared is None else sorted(shared, key=str)

    def faults(self) -> Iterator[str]:
        """What does not pass, or only with what is not in the package."""
        for check, things, axle in self.combinations:
            names = " with ".join(f"'{t.part}'" for t in things)
            for verdict, work, spoilt_by in self._judged(check, things, axle):
                if verdict == "does_not_fit":
                    yield f"{names} does not pass '{check.name}'"
                elif verdict == "fits_with_work" and self.scene.steps.isdisjoint(work):
                    yield f"{names} passes '{check.name}' only with work not in the package"
                elif any(map(self.scene.steps.issuperset, spoilt_by)):
                    yield f"{names} does not pass '{check.name}' after work in the package"
                elif verdict == "not_known" and self.scene.certain:
                    yield f"{names}: '{check.name}' is not known, yet the package is complete"

    def _judged(
        self, check: Check, things: Sequence[There], axle: Axle | None
    ) -> list[tuple[str, tuple[str, ...], tuple[tuple[str, ...], ...]]]:
        """Verdict, work and work ruled out by each aspect of a check; a trial fit outranks it."""
        computed = self.run(check, things, axle)
        for trial in self.car.trials:
            if set(trial.parts) == {t.part for t in things} and trial.check in (None, check.name):
                return [(trial.verdict, trial.work, ()) for _ in computed]
        return [(found.verdict, found.work, found.spoilt_by) for found in computed]

    def run(self, check: Check, things: Sequence[There], axle: Axle | None) -> tuple[Verdict, ...]:
        """What a check says of these."""
        return self.car.run(check, tuple(thing.part for thing in things), axle)
