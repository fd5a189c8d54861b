"""A mapping whose values come late is in all its uses the mapping of those values."""

from __future__ import annotations

import pickle
from operator import eq

import pytest

from kb.frozen import FrozenDict
from kb.late import LateDict

WORDS = {"b": 1, "a": 2, "c": 3}


@pytest.fixture
def made() -> list[int]:
    return []


@pytest.fixture
def late(made: list[int]) -> LateDict[str]:
    def make(place: int) -> str:
        made.append(place)
        return "x" * place

    return LateDict(WORDS, make)


WHOLE = {"b": "x", "a": "xx", "c": "xxx"}


def test_a_value_is_made_when_it_is_asked_for_and_once(
    late: LateDict[str], made: list[int]
) -> None:
    assert (len(late), list(late), "a" in late, "d" in late) == (3, ["b", "a", "c"], True, False)
    assert late.get("d") is None
    assert made == []
    first = late["c"]
    assert late.get("c") is first
    assert made == [3]
    with pytest.raises(KeyError):
        late["d"]


@pytest.mark.parametrize("see", [
    dict, list, len, repr, hash, sorted, lambda d: list(d.items()), lambda d: list(d.values()),
    lambda d: list(d.keys()), lambda d: {**d}, lambda d: d.copy(), lambda d: d | {"d": "y"},
    lambda d: {"a": "y"} | d, lambda d: d == WHOLE, lambda d: eq(WHOLE, d), lambda d: d != WHOLE,
    lambda d: d == FrozenDict(WHOLE), lambda d: list(reversed(d)),
    lambda d: pickle.loads(pickle.dumps(d)),
])
def test_it_looks_like_the_whole_even_when_one_value_is_there(see, late: LateDict[str]):
    assert late["a"]
    assert see(late) == see(FrozenDict(WHOLE))


def test_it_cannot_be_changed(late: LateDict[str]) -> None:
    with pytest.raises(TypeError, match="cannot be changed"):
        late["a"] = "y"
