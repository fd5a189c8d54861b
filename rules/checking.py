"""Checks: what a combination of parts on a car is judged by, and how a judgement is written down.

A check is a function in a module of `rules.checks`, declared with `@check`; it reads what it needs
from a `Sheet`, which notes every value used and everything missing. Nothing else lists the checks.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any, Literal

from kb.baseline import Baseline
from kb.entries import Limits, Part
from kb.statements import Axle, Basis, Need
from kb.units import Quantity

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

    `margin`, `required` and `worst_case` are in `unit`. `work` lists steps of which any one
    relieves a shortage. `needs` are parts the combination asks for. `measure` says what is missing.
    """

    check: str
    verdict: FitVerdict
    says: str
    margin: float | None = None
    required: float | None = None
    worst_case: float | None = None
    unit: str = ""
    values: tuple[Used, ...] = ()
    formula: str = ""
    source: str = ""
    basis: Basis = "computed"
    work: tuple[str, ...] = ()
    needs: tuple[Need, ...] = ()
    measure: tuple[str, ...] = ()
    overrules: Verdict | None = None
    """The computed verdict that a trial fit outranks."""


@dataclass(slots=True)
class Sheet:
    """The values a check reads, noted as they are read."""

    check: Check
    parts: Mapping[str, tuple[str, Part]]
    """Kind to id and part."""
    baseline: Baseline
    axle: Axle | None
    limits: Limits
    values: list[Used] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)

    def name(self, kind: str) -> str:
        """The name of the part of that kind."""
        return self.parts[kind][1].name

    def dimension(self, kind: str, name: str, *, optional: bool = False) -> Any:
        """A dimension of the part of that kind; None, and noted as missing, when not known."""
        part = self.parts[kind][1]
        value = getattr(part.dimensions, name)
        label = f"{_words(name)} of {part.name}"
        if value is not None:
            self.values.append(Used(label, _show(value), "catalogue"))
        elif not optional:
            self.missing.append(label)
        return value

    def fact(self, name: str, *, optional: bool = False) -> Any:
        """A fact of the car on this axle; None, and noted as missing, when not known."""
        group, _, item = name.partition(".")
        where = f"{self.axle} {_words(group)}" if self.axle else _words(group)
        label = f"{_words(item)} of the car's {where}"
        found = self.baseline.fact(name, self.axle)
        if found is not None:
            basis = f"{found.basis}: {found.source}" if found.source else found.basis
            self.values.append(Used(label, _show(found.value), basis))
            return found.value
        if not optional:
            self.missing.append(label)
        return None

    def limit(self, name: str) -> Quantity:
        """One of the shop's limits."""
        value: Quantity = getattr(self.limits, name)
        self.values.append(Used(f"shop limit: {_words(name)}", str(value), "shop"))
        return value

    def not_known(self) -> Verdict:
        """The verdict when something is missing."""
        what = " and ".join(self.missing)
        return self._verdict(
            "not_known", f"not known: the {what} is not in the catalogue",
            measure=tuple(self.missing),
        )

    def judge(self, fits: bool, says: str, **details: Any) -> Verdict:
        """A verdict from a comparison: it fits or it does not."""
        return self._verdict("fits" if fits else "does_not_fit", says, **details)

    def _verdict(self, verdict: FitVerdict, says: str, **details: Any) -> Verdict:
        full: dict[str, Any] = {
            "formula": self.check.formula, "source": self.check.source, **details
        }
        return Verdict(self.check.name, verdict, says, values=tuple(self.values), **full)


CheckFunction = Callable[[Sheet], Verdict]


@dataclass(frozen=True, slots=True)
class Check:
    """A registered check: the kinds it compares, and the kinds whose mounting it judges."""

    name: str
    kinds: tuple[str, ...]
    judge: CheckFunction
    formula: str
    source: str
    mounts: tuple[str, ...]
    unless: str | None

    def run(
        self, parts: Mapping[str, tuple[str, Part]], baseline: Baseline, axle: Axle | None,
        limits: Limits,
    ) -> Verdict:
        """The verdict on these parts (by kind) on that axle of that car."""
        sheet = Sheet(self, parts, baseline, axle, limits)
        return self.judge(sheet)


_CHECKS: dict[str, Check] = {}


def check(
    name: str, kinds: tuple[str, ...], *, formula: str, source: str,
    mounts: tuple[str, ...] = (), unless: str | None = None,
) -> Callable[[CheckFunction], CheckFunction]:
    """Declare a check on one part of each of `kinds`, on the same axle where they have one.

    `formula` and `source` are printed with every verdict. `mounts` names the kinds whose going
    onto the car this check decides, so that they need no stated fit. `unless` names a kind: where
    the axle has a stock part of it, the check does not apply, since one on that part does.
    """

    def register(judge: CheckFunction) -> CheckFunction:
        _CHECKS[name] = Check(name, kinds, judge, formula, source, mounts, unless)
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
    """The checks a kind takes part in."""
    return tuple(check for check in checks().values() if kind in check.kinds)


@cache
def mounting_is_judged(kind: str) -> bool:
    """Whether some check decides if a part of that kind goes onto a car."""
    return any(kind in check.mounts for check in checks().values())


def outranked(computed: Verdict, says: str, **trial: Any) -> Verdict:
    """The verdict of a trial fit in place of a computed one, which it keeps for the audit."""
    return replace(
        computed, says=says, basis="trial_fitted", measure=(), needs=computed.needs,
        overrules=computed, **trial,
    )


def _words(name: str) -> str:
    return name.replace("_", " ").replace("-", " ")


def _show(value: Any) -> str:
    return ", ".join(map(str, value)) if isinstance(value, tuple) else str(value)
