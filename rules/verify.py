"""An independent re-check of every package before it is returned.

It reads only the answer, the question and the catalogue, and judges by the plain meaning of the
language: nothing here knows how the package was found. It shares the checks themselves and the
comparison of dimensions, but no code of the cone, the problem or the solvers.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from kb.baseline import find_baseline
from kb.catalogue import Catalogue
from kb.errors import QuestionError
from rules import answers as a
from rules.checking import mounting_is_judged
from rules.verify_car import Car, exact
from rules.verify_checks import Checks
from rules.verify_lines import line_faults
from rules.verify_needs import Needs
from rules.verify_scene import Scene, There
from rules.verify_sums import Sums
from rules.verify_wishes import wish_faults


def verify(catalogue: Catalogue, answer: a.Package, question: a.Question) -> list[str]:
    """What is wrong with a package, in words; empty when nothing is."""
    if answer.outcome == "impossible":
        return []
    if answer.catalog.digest != catalogue.digest:
        return ["the answer is from another catalogue"]
    try:
        baseline = find_baseline(
            catalogue, answer.baseline.vehicle, answer.baseline.year, answer.baseline.variant
        )
    except QuestionError as error:
        return [str(error)]
    return list(_Verifier(Scene(Car(catalogue, baseline), answer), question).findings())


class _Verifier:
    def __init__(self, scene: Scene, question: a.Question) -> None:
        self.scene, self.car, self.question = scene, scene.car, question

    def findings(self) -> Iterator[str]:
        """Every fault found."""
        named = {line.part for line in self.scene.answer.lines}
        unknown = sorted(part for part in named if part not in self.car.catalogue.parts)
        unknown += sorted(s for s in self.scene.steps if s not in self.car.catalogue.work)
        if unknown:
            yield from (f"'{name}' is not in the catalogue" for name in unknown)
            return
        if len(self.scene.new) != sum(line.status != "kept" for line in self.scene.answer.lines):
            yield "a part stands on two lines"
        catalogue, baseline, answer = self.car.catalogue, self.car.baseline, self.scene.answer
        yield from line_faults(catalogue, baseline, answer)
        yield from wish_faults(catalogue, baseline, answer, self.question)
        yield from self._picks()
        for part in self.scene.new:
            yield from self._goes_on(part)
        yield from self._places()
        yield from self._kits()
        yield from self._work_possible()
        yield from self._conflicts()
        checks = Checks(self.scene)
        yield from checks.faults()
        yield from Needs(self.scene, checks, self._picked()).faults()
        yield from Sums(self.scene, self.question.on_hand).faults()

    def _picked(self) -> dict[str, Fraction]:
        """How many are asked for of each part, newer parts standing in for replaced ones."""
        wanted: dict[str, Fraction] = {}
        for item in self.question.picks:
            after = sorted(p for p in self.car.successors(item.part) if self.car.buyable(p))
            part = next((p for p in after if p in self.scene.new), after[0]) if after else item.part
            stated = self.car.catalogue.parts[part]
            qty = exact(item.qty) if item.qty is not None else self.car.usual(stated)
            wanted[part] = wanted.get(part, Fraction(0)) + qty
        return wanted

    def _picks(self) -> Iterator[str]:
        for part, qty in self._picked().items():
            stays = any(t.part == part and t.place for t in self.scene.there)
            if part not in self.scene.new:
                # To pick a stock part that nobody sells is to ask that it stays.
                if not stays or self.car.buyable(part):
                    yield f"the pick '{part}' is missing"
            elif exact(self.scene.new[part].qty) < qty:
                yield f"'{part}': {self.scene.new[part].qty:g} are fewer than the {qty} asked for"

    def _goes_on(self, part_id: str) -> Iterator[str]:
        part, qty = self.car.catalogue.parts[part_id], exact(self.scene.new[part_id].qty)
        if part.fits and not any(self.car.baseline.applies(f) for f in part.fits):
            yield f"'{part_id}' is not listed for this car"
        for place in part.takes:
            if place not in self.car.baseline.places:
                yield f"this car has no place '{place}' for '{part_id}'"
        if not self.car.usable(part_id):
            yield f"'{part_id}' does not go on this car"
        if qty < self.car.units(part):
            yield f"'{part_id}': {qty} do not fill its {self.car.units(part)} places"
        for fits in part.fits:
            if self.car.baseline.applies(fits):
                for step in fits.work:
                    if step not in self.scene.steps:
                        yield f"'{part_id}' goes on only with the work '{step}'"
        unknown = part.takes and not part.fits and not mounting_is_judged(part.kind)
        if unknown and self.scene.certain:
            yield f"nobody has stated that '{part_id}' fits this car"

    def _places(self) -> Iterator[str]:
        taken: dict[str, list[str]] = {}
        displaced: set[str] = set()
        for part_id in self.scene.new:
            part = self.car.catalogue.parts[part_id]
            for place in part.takes:
                taken.setdefault(place, []).append(part_id)
            displaced |= {*part.takes, *part.clears} & self.car.baseline.fitted.keys()
        for place, parts in taken.items():
            if len(parts) > 1:
                yield f"'{place}' is taken by {' and '.join(sorted(parts))}"
        for place in sorted(displaced ^ self.scene.off):
            yield f"what stays and what comes off at '{place}' is wrong"

    def _kits(self) -> Iterator[str]:
        for kit in self.scene.new:
            for inner in self.car.catalogue.parts[kit].contents:
                if self.car.usable(inner) and inner not in self.scene.new:
                    yield f"'{kit}' brings '{inner}', which is not in the list"

    def _work_possible(self) -> Iterator[str]:
        for step in self.scene.steps:
            if not self.car.baseline.applies(self.car.catalogue.work[step].on):
                yield f"the work '{step}' is not possible on this car"

    def _conflicts(self) -> Iterator[str]:
        stating: list[tuple[str, There | None, str | None]] = [
            (f"part '{t.part}'", t, t.part) for t in self.scene.there
        ]
        stating += [(f"work '{step}'", None, None) for step in sorted(self.scene.steps)]
        for name, thing, owner in stating:
            entry = self.car.catalogue.parts[owner] if owner else \
                self.car.catalogue.work[name.split("'")[1]]
            for conflict in entry.conflicts:
                if not self.scene.holds(conflict.when, owner):
                    continue
                if self.scene.step_there(conflict):
                    yield f"{name} conflicts with the work '{conflict.step}'"
                for other in self.scene.worth_a_look((conflict,)):
                    both_stock = thing is not None and thing.place and other.place
                    if other == thing or both_stock or (owner == other.part):
                        continue
                    means = self.scene.means(conflict, other, owner)
                    if means or (means is None and self.scene.certain):
                        yield f"{name} conflicts with '{other.part}'"
