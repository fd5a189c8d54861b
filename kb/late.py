"""Entries that are made when they are first asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any, TypeVar

from kb.frozen import FrozenDict

V = TypeVar("V")


class LateDict(FrozenDict[str, V]):
    """A mapping of which only the keys are there at first, in their order.

    To all who use it, it is a mapping whose content is fixed: each value is made once and stays.
    """

    def __init__(self, places: Mapping[str, Any], make: Callable[[Any], V]) -> None:
        """`make` turns what `places` has for a key into the value."""
        super().__init__()
        self._places, self._make = places, make

    def __missing__(self, key: str) -> V:
        made = self._make(self._places[key])
        return dict.setdefault(self, key, made)  # of two threads that make it, one is heard

    def get(self, key: Any, default: Any = None) -> Any:
        """The value of a key, or `default`."""
        return self[key] if key in self._places else default

    def __contains__(self, key: object) -> bool:
        return key in self._places

    def __iter__(self) -> Iterator[str]:
        return iter(self._places)

    def __len__(self) -> int:
        return len(self._places)

    def __reversed__(self) -> Iterator[str]:
        return reversed(list(self._places))

    # Of a dict's own, these would see no more than what was made so far.
    keys = Mapping.keys  # type: ignore[assignment]
    values = Mapping.values  # type: ignore[assignment]
    items = Mapping.items  # type: ignore[assignment]

    def copy(self) -> dict[str, V]:
        """A plain dict of all values."""
        return dict(self)

    def __eq__(self, other: object) -> bool:
        return dict(self) == other

    def __ne__(self, other: object) -> bool:
        return not self == other

    def __or__(self, other: Any) -> Any:
        return dict(self) | other

    def __ror__(self, other: Any) -> Any:
        return other | dict(self)

    def __repr__(self) -> str:
        return repr(dict(self))

    __hash__ = FrozenDict.__hash__

    def __reduce__(self) -> tuple[type[FrozenDict[str, V]], tuple[dict[str, V]]]:
        return FrozenDict, (dict(self),)
