"""The catalogues that the bench measures: always the same, whole, and of the size asked for."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from kb.catalogue import load_texts
from tests.bench.packages import package_texts
from tests.bench.shop import dead_parts, shop_texts

Make = Callable[[int, int], dict[str, str]]


@pytest.mark.parametrize("make", [shop_texts, package_texts])
@pytest.mark.parametrize("size", [300, 1100])
def test_a_seed_decides_the_text(make: Make, size: int) -> None:
    assert make(size, 4) == make(size, 4)
    assert make(size, 4) != make(size, 5)


@pytest.mark.parametrize("make", [shop_texts, package_texts])
@pytest.mark.parametrize("size", [300, 1100])
def test_what_is_made_can_be_loaded_and_has_its_size(make: Make, size: int) -> None:
    assert len(load_texts(make(size, 1)).parts) == size


def test_a_shop_has_all_that_a_shop_has() -> None:
    shop = load_texts(shop_texts(1000, 1))
    parts = shop.parts.values()
    assert len(shop.vehicles) == 4
    assert shop.rules
    assert shop.work
    assert {"wheel", "tyre", "caliper", "brake-disc", "kit", "bolt"} <= {p.kind for p in parts}
    assert any(part.pack.value > 1 for part in parts)
    assert any(part.conflicts for part in parts)
    assert max(len(need.parts) for part in parts for need in part.requires) > 10
    assert set(dead_parts(1000)) <= set(shop.parts)
    asked = [need.part for part in parts for need in part.requires if need.part]
    assert asked.count("h0000") > 20 * asked.count("h0040"), "some hardware is in nearly everything"


def test_packages_ask_once_and_sit_nowhere() -> None:
    host = load_texts(package_texts(1000, 1))
    assert {part.kind for part in host.parts.values()} == {"item"}
    assert not any(part.takes or part.fits for part in host.parts.values())
    assert not any(need.each for part in host.parts.values() for need in part.requires)
