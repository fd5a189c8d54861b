"""A mapping that cannot be changed, for what a catalogue hands out."""

from __future__ import annotations

from typing import Any, NoReturn, TypeVar, get_args

from pydantic import GetCoreSchemaHandler
from pydantic_core import CoreSchema, core_schema

K = TypeVar("K")
V = TypeVar("V")


class FrozenDict(dict[K, V]):
    """A dict whose content is fixed when it is made. Hashable when its values are.

    As the type of a model's field it is read as a dict.
    """

    def _refuse(self, *_: Any, **__: Any) -> NoReturn:
        raise TypeError("a catalogue cannot be changed")

    __setitem__ = __delitem__ = __ior__ = _refuse
    clear = pop = popitem = setdefault = update = _refuse

    def __hash__(self) -> int:  # type: ignore[override]  # a dict has none: it can be changed
        return hash(frozenset(self.items()))

    def __reduce__(self) -> tuple[type[FrozenDict[K, V]], tuple[dict[K, V]]]:
        return type(self), (dict(self),)

    @classmethod
    def __get_pydantic_core_schema__(
        cls, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        key, value = get_args(source) or (Any, Any)
        plain = handler.generate_schema(dict[key, value])  # type: ignore[valid-type]
        return core_schema.no_info_after_validator_function(cls, plain)
