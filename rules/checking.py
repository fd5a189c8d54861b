"""Checks: what a combination of parts on a car is judged by, and how a judgement is written down.

A check is a function in a module of `rules.checks`, declared with `@check` (parts on one axle) or
`@car_check` (parts on given axles of the whole car). It reads what it needs from a `Sheet`, which
notes every value used and everything missing. Nothing else lists the checks.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any, Literal, NamedTuple

from kb.baseline import Baseline
from kb.catalogue import Catalogue
from kb.entries import Part, Relief
from kb.statements import Axle, Basis, Need

FitVerdict = Literal["fits", "fits_with_work", "does_not_fit", "not_known"]


@dataclass(frozen=True, slots=True)
class Used:
    """One value that went into a verdict, and where it came from."""

    name: str
    value: str
    basis: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """What one check says of one combination.

    `aspect` tells apart several verdicts of one check, such as one per obstacle. `margin`,
    `required` and `worst_case` are in `unit`. `work` lists steps of which any one relieves a
    shortage, `spoilt_by` steps that may not be done, since they leave too little room: one alone,
    or two together. `needs` are parts the combination asks for. `measure` says what is missing.
    """

    check: str
    verdict: FitVerdict
    says: str
    aspect: str = ""
    margin: float | None = None
    required: float | None = None
    worst_case: float | None = None
    unit: str = ""
    values: tuple[Used, ...] = ()
    formula: str = ""
    source: str = ""
    basis: Basis = "computed"
    work: tuple[str, ...] = ()
    spoilt_by: tuple[tuple[str, ...], ...] = ()
    needs: tuple[Need, ...] = ()
    measure: tuple[str, ...] = ()
    overrules: Verdict | None = None
    """The computed verdict that a trial fit, or a stated fit where nothing is known, outranks."""

    @property
    def asks_something(self) -> bool:
        """Whether it says more of a package than that the combination fits."""
        return self.verdict == "not_known" or self.limits

    @property
    def limits(self) -> bool:
        """Whether it limits what is possible. What is not known is still to be measured."""
        decisive = self.verdict in ("does_not_fit", "fits_with_work")
        return decisive or bool(self.needs or self.spoilt_by)


class After(NamedTuple):
    """A gap after work that moves what is in the way, one step or two; numbers as in a verdict."""

    steps: tuple[str, ...]
    nominal: float
    worst: float


@dataclass(slots=True)
class Sheet:
    """The values a check reads, noted as they are read."""

    check: Check
    parts: Mapping[str, tuple[str, Part]]
    """Name of the role (the kind; "front caliper" in a check of the whole car) to id and part."""
    catalogue: Catalogue
    baseline: Baseline
    axle: Axle | None
    values: list[Used] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)

    def has(self, role: str) -> bool:
        """Whether there is a part in that role: the check's modifier may be absent."""
        return role in self.parts

    def name(self, role: str) -> str:
        """The name of the part in that role."""
        return self.parts[role][1].name

    def dimension(self, role: str, name: str, *, optional: bool = False) -> Any:
        """A dimension of the part in that role; None, and noted as missing, when not known."""
        return self._read(self.parts[role][1], name, optional=optional)

    def stock(self, kind: str, name: str) -> Any:
        """A dimension of the stock part of that kind on this axle, or None."""
        for part in self.baseline.fitted_of(self.catalogue.parts, kind, self.axle):
            return self._read(self.catalogue.parts[part], name, optional=True)
        return None

    def is_stock(self, role: str) -> bool:
        """Whether the part in that role is one of the car's stock parts."""
        return self.baseline.is_fitted(self.parts[role][0])

    def _read(self, part: Part, name: str, *, optional: bool) -> Any:
        value = getattr(part.dimensions, name)
        label = f"{_words(name)} of {part.name}"
        if value is not None:
            self.values.append(Used(label, _show(value), "catalogue"))
        elif not optional:
            self.missing.append(label)
        return value

    def fact(self, name: str, *, axle: Axle | None = None, optional: bool = False) -> Any:
        """A fact of the car, on this axle unless another is named; None, and noted, if unknown."""
        axle = axle or self.axle
        group, _, item = name.partition(".")
        where = f"{axle} {_words(group)}" if axle else _words(group)
        label = f"{_words(item)} of the car's {where}"
        found = self.baseline.fact(name, axle)
        if found is not None:
            basis = f"{found.basis}: {found.source}" if found.source else found.basis
            self.values.append(Used(label, _show(found.value), basis))
            return found.value
        if not optional:
            self.missing.append(label)
        return None

    def limit(self, name: str) -> Any:
        """One of the shop's limits: a quantity, or a plain number for a share or a factor."""
        value = getattr(self.catalogue.limits, name)
        self.values.append(Used(f"shop limit: {_words(name)}", str(value), "shop"))
        return value

    def note(self, name: str, value: str) -> None:
        """Put a worked-out value on the sheet."""
        self.values.append(Used(name, value, "computed"))

    def reliefs(self, obstacle: str) -> Iterator[tuple[str, tuple[Relief, ...]]]:
        """The work steps possible on this car that state a relief of an obstacle, and what of it.
        """
        for key, work in self.catalogue.work.items():
            stated = tuple(relief for relief in work.relieves if relief.obstacle == obstacle)
            if stated and self.baseline.applies(work.on):
                yield key, stated

    # -- verdicts -------------------------------------------------------------------------------

    def not_known(self, *missing: str, aspect: str = "") -> Verdict:
        """The verdict when something is missing: what was noted, or what is named here."""
        what = missing or tuple(dict.fromkeys(self.missing))
        return self.verdict(
            "not_known", f"not known: the {' and '.join(what)} is not in the catalogue",
            measure=what, aspect=aspect,
        )

    def judge(self, fits: bool, says: str, **details: Any) -> Verdict:
        """A verdict from a plain comparison: it fits or it does not."""
        return self.verdict("fits" if fits else "does_not_fit", says, **details)

    def clearance(
        self, between: str, nominal: float, worst: float, required: float, *,
        after: Sequence[After] = (), aspect: str = "", unit: str = "mm",
    ) -> Verdict:
        """A verdict from a gap with tolerances.

        It fits when the worst case still leaves what is required, and does not when even the
        nominal gap is short. In between the tolerances decide, so the real gap is to be measured.
        `after` are the gaps that work leaves: where one step is enough, it fits with that work;
        what takes room and leaves too little may not be done.
        """
        said = f"{between}: {nominal:.1f} {unit}, worst case {worst:.1f}, required {required:.1f}"
        work = tuple(
            gap.steps[0] for gap in after if len(gap.steps) == 1 and gap.worst >= required > worst
        )
        settled = worst >= required or bool(work)
        spoilt_by = tuple(
            gap.steps for gap in after
            if (gap.worst < worst or not set(work).isdisjoint(gap.steps))
            and (gap.worst if settled else gap.nominal) < required
        )
        details: dict[str, Any] = {
            "margin": nominal, "worst_case": worst, "required": required, "unit": unit,
            "aspect": aspect, "spoilt_by": spoilt_by,
        }
        told = [
            gap for gap in after
            if gap.steps in spoilt_by or (worst < required and len(gap.steps) == 1)
        ]
        then = "".join(self._said_after(gap, required, unit) for gap in told)
        if worst >= required:
            return self.verdict("fits", said + then, **details)
        if work:
            return self.verdict("fits_with_work", said + then, work=work, **details)
        if nominal >= required:
            says = f"{said}: only measuring tells{then}"
            return self.verdict("not_known", says, measure=(f"gap {between}",), **details)
        return self.verdict("does_not_fit", said + then, **details)

    def _said_after(self, gap: After, required: float, unit: str) -> str:
        names = " and ".join(f"'{self.catalogue.work[step].name}'" for step in gap.steps)
        left, only = f"{gap.nominal:.1f} {unit}", "" if gap.worst >= required else "only "
        self.note(f"gap after {names}", f"{left}, worst {gap.worst:.1f} {unit}")
        return f"; after {names} {only}{left}, worst case {gap.worst:.1f}"

    def verdict(self, verdict: FitVerdict, says: str, **details: Any) -> Verdict:
        """A verdict with everything read so far written down."""
        full: dict[str, Any] = {
            "formula": self.check.formula, "source": self.check.source, **details
        }
        values = tuple(dict.fromkeys(self.values))
        return Verdict(self.check.name, verdict, says, values=values, **full)


Judgement = Verdict | Sequence[Verdict] | None
CheckFunction = Callable[[Sheet], Judgement]


@dataclass(frozen=True, slots=True)
class Role:
    """A part a check compares: its kind, and its axle in a check of the whole car."""

    kind: str
    axle: Axle | None = None

    @property
    def name(self) -> str:
        """The role as its check calls it."""
        return f"{self.axle} {self.kind}" if self.axle else self.kind


@dataclass(frozen=True, slots=True)
class Check:
    """A registered check.

    `modifier` is a kind that, where one is on the axle, takes part and may change the verdict.
    `mounts` names the kinds whose going onto a car this check decides. `unless` names a kind: where
    the axle has a stock part of it, the check steps back, since one on that part judges. One that
    `informs` never says anything but that it fits.
    """

    name: str
    roles: tuple[Role, ...]
    judge: CheckFunction
    formula: str
    source: str
    mounts: tuple[str, ...] = ()
    unless: str | None = None
    modifier: str | None = None
    informs: bool = False

    @property
    def whole_car(self) -> bool:
        """Whether the parts sit on given axles rather than on one they share."""
        return any(role.axle for role in self.roles)

    def run(
        self, parts: Sequence[tuple[str, Part]], catalogue: Catalogue, baseline: Baseline,
        axle: Axle | None,
    ) -> tuple[Verdict, ...]:
        """The verdicts on parts given in the order of the roles, a modifier last if there is one.

        None at all when there is nothing to judge.
        """
        found = self.judge(self.sheet(parts, catalogue, baseline, axle))
        verdicts = () if found is None else (found,) if isinstance(found, Verdict) else tuple(found)
        if len(parts) == 1:
            return tuple(_as_stated(verdict, parts[0][1], baseline) for verdict in verdicts)
        return verdicts

    def sheet(
        self, parts: Sequence[tuple[str, Part]], catalogue: Catalogue, baseline: Baseline,
        axle: Axle | None, sort: type[Sheet] = Sheet,
    ) -> Sheet:
        """An empty sheet for parts given as to `run`: what a drawing of the check reads from."""
        names = [role.name for role in self.roles]
        if len(parts) > len(names) and self.modifier:
            names.append(self.modifier)
        return sort(self, dict(zip(names, parts, strict=True)), catalogue, baseline, axle)


def _as_stated(verdict: Verdict, part: Part, baseline: Baseline) -> Verdict:
    """Where a number is missing, a stated fit of the part on this car settles the question."""
    if verdict.verdict != "not_known":
        return verdict
    for fits in part.fits:
        if baseline.applies(fits):
            source = f" ({fits.source})" if fits.source else ""
            return replace(
                verdict, verdict="fits", basis=fits.basis, measure=(), overrules=verdict,
                says=f"stated to fit this car{source}; {verdict.says}",
            )
    return verdict


_CHECKS: dict[str, Check] = {}


def check(
    name: str, kinds: tuple[str, ...], *, formula: str, source: str,
    mounts: tuple[str, ...] = (), unless: str | None = None, modifier: str | None = None,
    informs: bool = False,
) -> Callable[[CheckFunction], CheckFunction]:
    """Declare a check on one part of each of `kinds`, on the same axle where they have one.

    `formula` and `source` are printed with every verdict; for the rest see `Check`.
    """

    def register(judge: CheckFunction) -> CheckFunction:
        roles = tuple(Role(kind) for kind in kinds)
        _CHECKS[name] = Check(
            name, roles, judge, formula, source, mounts, unless, modifier, informs
        )
        return judge

    return register


def car_check(
    name: str, roles: tuple[tuple[Axle | None, str], ...], *, formula: str, source: str,
    modifier: str | None = None,
) -> Callable[[CheckFunction], CheckFunction]:
    """Declare a check of the whole car, such as on ("front", "caliper") and ("rear", "caliper").

    A role or `modifier` without an axle is of a kind that has none of its own.
    """

    def register(judge: CheckFunction) -> CheckFunction:
        placed = tuple(Role(kind, axle) for axle, kind in roles)
        _CHECKS[name] = Check(name, placed, judge, formula, source, modifier=modifier)
        return judge

    return register


@cache
def checks() -> Mapping[str, Check]:
    """Every check, by name."""
    import rules.checks

    for module in pkgutil.iter_modules(rules.checks.__path__):
        importlib.import_module(f"rules.checks.{module.name}")
    return dict(sorted(_CHECKS.items()))


@cache
def checks_of(kind: str) -> tuple[Check, ...]:
    """The checks on one axle that a kind takes part in, as compared or as modifier."""
    return tuple(
        check for check in checks().values()
        if not check.whole_car
        and (kind == check.modifier or any(role.kind == kind for role in check.roles))
    )


@cache
def mounting_is_judged(kind: str) -> bool:
    """Whether some check decides if a part of that kind goes onto a car."""
    return any(kind in check.mounts for check in checks().values())


def outranked(computed: Verdict, says: str, **trial: Any) -> Verdict:
    """The verdict of a trial fit in place of a computed one, which it keeps for the audit."""
    return replace(
        computed, says=says, basis="trial_fitted", measure=(), overrules=computed, **trial
    )


def _words(name: str) -> str:
    return name.replace("_", " ").replace("-", " ")


def _show(value: Any) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{_words(str(name))} {item}" for name, item in value.items())
    return ", ".join(map(str, value)) if isinstance(value, tuple) else str(value)
