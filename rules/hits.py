"""Whether each of some parts goes on a car beside what a question asks for, and why not.

One problem holds the question and all the parts; each part is then assumed in it. A part fits when
some package has it and takes no work and no measurement beyond what the question takes anyway;
checks of the whole car are let in as packages turn up that fail one. Amounts play no part, as in
`rules.options`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

from pysat.examples.hitman import Hitman

from kb.catalogue import Catalogue
from rules import answers as a
from rules.asking import Asked, ask, current, known_part
from rules.checking import FitVerdict
from rules.clashes import Switched
from rules.naming import baseline_ref, catalog_ref, clash_of, part_ref
from rules.problem import Problem, late
from rules.sat import Sat, clauses
from rules.ways_out import change_of, given
from rules.whole_car import let_in


def hits(catalogue: Catalogue, question: a.Question, parts: Iterable[str]) -> a.Hits:
    """The verdict on each of the parts, successors standing in for what they replace.

    Where the picks themselves cannot go together, the parts are judged without them. Raises
    QuestionError for unknown names, OutOfTime past the deadline.
    """
    asked = ask(catalogue, question)
    at = asked.situation
    wanted = dict.fromkeys(
        current(at, known_part(at, part, f"parts.{i}")) for i, part in enumerate(parts)
    )
    judge = _Judge(asked, wanted)
    alone = bool(question.picks) and not judge.holds([])
    if alone:
        judge.close()
        asked = ask(catalogue, question.model_copy(update={"picks": ()}))
        judge = _Judge(asked, wanted)
    try:
        return a.Hits(
            catalog=catalog_ref(catalogue), baseline=baseline_ref(at.baseline),
            without_picks=alone, items=tuple(judge.hits()),
        )
    finally:
        judge.close()


class _Judge:
    """The problem of a question with some parts let in, none of them asked for."""

    def __init__(self, asked: Asked, parts: Iterable[str]) -> None:
        self.asked, self.at, self.cone = asked, asked.situation, asked.cone
        self.parts = tuple(parts)
        self.cone.enter(part for part in self.parts if not self.at.refusal(part))
        self.sat = self._solver()

    def close(self) -> None:
        """Give back the solver."""
        self.sat.__exit__()

    @property
    def problem(self) -> Problem:
        """The problem as it is now: it grows as failings of the whole car turn up."""
        return self.cone.problem

    def _solver(self) -> Sat:
        return Sat(self.problem, self.cone.say, self.asked.left())

    # -- solving --------------------------------------------------------------------------------

    def holds(self, assumed: Sequence[int]) -> bool:
        """Whether some package passes with all of these."""
        while self.sat.solve(assumed):
            if not self._let_in(self.sat.model()):
                return True
            self.close()
            self.sat = self._solver()
        return False

    def _let_in(self, model: set[int]) -> bool:
        there = [self.problem.atoms[variable] for variable in model]
        return let_in(
            self.cone, {key for kind, key in there if kind == "new"},
            {key for kind, key in there if kind == "stays"},
        )

    def fewest(self, assumed: Sequence[int], free: Collection[int]) -> frozenset[int] | None:
        """The fewest soft things beyond those free that some package takes; None: no package.

        A smallest set that hits every clash of doing without them all.
        """
        clash = self._clash(assumed, self._soft() - set(free))
        if clash is None:
            return frozenset()
        with Hitman() as hitting:
            while clash:
                hitting.hit(clash)
                taken = frozenset(hitting.get())
                clash = self._clash(assumed, self._soft() - taken - set(free))
                if clash is None:
                    return taken
        return None

    def _clash(self, assumed: Sequence[int], spared: Collection[int]) -> list[int] | None:
        """Which of those spared stand in the way, of which some are needed; None where none do."""
        if self.holds([*assumed, *(-v for v in sorted(spared))]):
            return None
        return [-v for v in self.sat.core() if -v in spared]

    def _soft(self) -> set[int]:
        return {v for v, (kind, _) in enumerate(self.problem.atoms) if kind in ("step", "open")}

    # -- verdicts -------------------------------------------------------------------------------

    def hits(self) -> Iterator[a.Hit]:
        """Every part with its verdict, in the order given."""
        free = self.fewest([], ())
        if free is None:
            yield from (self._refused_with_the_rest(part) for part in self.parts)
            return
        found = {part: self._verdict(part, free) for part in self.parts}
        refused = [part for part, hit in found.items() if hit is None]
        told = dict(self._why_not(refused))
        for part, hit in found.items():
            yield hit or told[part]

    def _verdict(self, part: str, free: frozenset[int]) -> a.Hit | None:
        """None where the part does not fit: why not is worked out for all of those together."""
        if self.at.refusal(part):
            return self._hit(part, "does_not_fit", because=self._stated(part))
        opens = [v for v in self._soft() - free if self.problem.atoms[v][0] == "open"]
        here = self._literal(part)
        work = self.fewest([here, *(-v for v in sorted(opens))], {*free, *opens})
        if work is not None:
            return self._hit(part, "fits_with_work" if work else "fits", work)
        taken = self.fewest([here], free)
        return None if taken is None else self._hit(part, "not_known", taken)

    def _stated(self, part: str) -> str:
        return self.cone.say.refusal(part, self.at.refusal(part)).text

    def _refused_with_the_rest(self, part: str) -> a.Hit:
        because = self._stated(part) if self.at.refusal(part) else (
            "nothing goes on this car with these wishes"
        )
        return self._hit(part, "does_not_fit", because=because)

    def _hit(
        self, part: str, verdict: FitVerdict, taken: Iterable[int] = (), because: str = "",
        clash: a.Clash | None = None, way_out: tuple[a.Change, ...] = (),
    ) -> a.Hit:
        atoms = [self.problem.atoms[variable] for variable in sorted(taken)]
        steps = self.asked.catalogue.work
        return a.Hit(
            ref=part_ref(self.at, part), maker=self.at.parts[part].maker or "",
            verdict=verdict, because=because, clash=clash, way_out=way_out,
            picked=part in self.problem.picks,
            work=tuple(
                a.StepRef(step=key, name=steps[key].name, minutes=steps[key].minutes.value,
                          because=steps[key].effect)
                for kind, key in atoms if kind == "step"
            ),
            measure=tuple(key for kind, key in atoms if kind == "open"),
        )

    # -- refusals -------------------------------------------------------------------------------

    def _why_not(self, parts: Sequence[str]) -> Iterator[tuple[str, a.Hit]]:
        if not parts:
            return
        with Switched(clauses(self.problem, self.cone.say), self.asked.left()) as switched:
            for part in parts:
                core = switched.shrunk([*switched.switches.values(), self._literal(part)])
                reasons = [switched.said[switch] for switch in core if switch in switched.said]
                told = [r for r in reasons if r.type not in ("pick", "wish")] or reasons
                yield part, self._hit(
                    part, "does_not_fit", because=told[-1].text if told else "",
                    clash=clash_of([late(self.cone.say.pick, part), *reasons]),
                    way_out=self._way_out(switched, part),
                )

    def _literal(self, part: str) -> int:
        return self.problem.variables["new", part]

    def _way_out(self, switched: Switched, part: str) -> tuple[a.Change, ...]:
        """The one pick or wish to give up, else as many as it takes; none where none helps."""
        ours = {
            switched.switches[key]: key for key in given(self.asked) if key in switched.switches
        }
        dropped: list[int] = []
        while True:
            kept = [s for s in switched.switches.values() if s not in dropped]
            core = switched.refuted([*kept, self._literal(part)])
            if core is None:
                return tuple(change_of(self.asked, ours[switch]) for switch in dropped)
            blamed = [switch for switch in core if switch in ours]
            if not blamed:
                return ()
            alone = (
                s for s in blamed if not dropped
                and switched.holds([k for k in kept if k != s] + [self._literal(part)])
            )
            dropped.append(next(alone, blamed[0]))
