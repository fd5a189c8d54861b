"""What a module of `kb.kinds` is made of: the dimensions of a kind of part, and groups of facts
about a car. Declaring a subclass is all it takes; nothing else lists the kinds.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Any, ClassVar, TypeVar

from pydantic import Field

from kb.stages import Stage
from kb.statements import Applies, Axle, Sourced, Statement


class Dimensions(Statement):
    """The dimensions of one kind of part. Every one may be missing: it is then not known.

    A subclass names its kind: `class Wheel(Dimensions, kind="wheel")`. A kind whose failure can
    hurt someone states a `caution`, which is said with every package that holds one. A kind that
    is always fitted in one `stage` of a build says so; `fitted_after` names the kinds that are on
    the same axle before it (common practice: a part may state another order).
    """

    kind: ClassVar[str] = ""
    label: ClassVar[str] = ""
    caution: ClassVar[str] = ""
    stage: ClassVar[Stage | None] = None
    fitted_after: ClassVar[tuple[str, ...]] = ()

    def __init_subclass__(cls, *, kind: str = "", **kwargs: Any) -> None:
        super().__init_subclass__(**kwargs)
        if kind:
            cls.kind, cls.label = kind, kind.replace("-", " ")
            _register(_KINDS, kind, cls)


class Facts(Applies, Sourced):
    """A group of facts about a car, per axle where that matters. Every one may be missing.

    A subclass names what it is about: `class Hub(Facts, group="hub")`.
    """

    group: ClassVar[str] = ""

    axle: Axle | None = Field(None, description="front or rear, where the two differ")

    def __init_subclass__(cls, *, group: str = "", **kwargs: Any) -> None:
        super().__init_subclass__(**kwargs)
        if group:
            cls.group = group
            _register(_FACTS, group, cls)

    @classmethod
    def fact_names(cls) -> tuple[str, ...]:
        """The facts of this group, without the fields that say where and how they are known."""
        known = {*Facts.model_fields, "about"}
        return tuple(name for name in cls.model_fields if name not in known)


_KINDS: dict[str, type[Dimensions]] = {}
_FACTS: dict[str, type[Facts]] = {}
_C = TypeVar("_C")


def _register(known: dict[str, type[_C]], name: str, cls: type[_C]) -> None:
    """Two modules must not describe one name in two ways: which one wins would be chance."""
    if name in known and known[name].__module__ != cls.__module__:
        raise TypeError(
            f"'{name}' is declared in {known[name].__module__} and in {cls.__module__}"
        )
    known[name] = cls


def _discover() -> None:
    import kb.kinds

    for module in pkgutil.iter_modules(kb.kinds.__path__):
        importlib.import_module(f"kb.kinds.{module.name}")


@cache
def kinds() -> Mapping[str, type[Dimensions]]:
    """Every kind of part, by name."""
    _discover()
    return MappingProxyType(dict(sorted(_KINDS.items())))


@cache
def fact_groups() -> Mapping[str, type[Facts]]:
    """Every group of facts, by name."""
    _discover()
    return MappingProxyType(dict(sorted(_FACTS.items())))
