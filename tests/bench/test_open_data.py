"""Open data as a catalogue: what it means stays what it meant."""

from __future__ import annotations

from pathlib import Path

import pytest

from kb.baseline import find_baseline
from kb.catalogue import Catalogue, load_texts
from rules.possible import impossible_parts
from tests.bench.measure import plainly_possible
from tests.bench.open_data import Item, bare_clauses, items, open_texts

LIST = """\
Package: box
Version: 1.0-1
Architecture: all
Depends: lid (>= 2), paint | varnish, missing | hinge

Package: lid
Version: 1.9
Architecture: all

Package: lid
Version: 1:0.3~rc1+b2
Architecture: all
Pre-Depends: hinge
Breaks: paint (<< 3)

Package: paint
Version: 2
Architecture: all
Provides: colour (= 5), shine

Package: varnish
Version: 2
Architecture: all
Provides: shine
Conflicts: shine

Package: steel-hinge
Version: 1
Architecture: all
Provides: hinge

Package: poster
Version: 1
Architecture: all
Depends: colour (>= 5), shine (>= 1)

Package: easel
Version: 1
Architecture: all
Depends: easel-top, poster

Package: picture
Version: 1
Architecture: all
Depends: colour (<< 6), shine, varnish, picture
"""


@pytest.fixture
def found(tmp_path: Path) -> list[Item]:
    path = tmp_path / "list"
    path.write_text(LIST)
    return items([path, path])


@pytest.fixture
def host(found: list[Item]) -> Catalogue:
    return load_texts(open_texts(found))


def test_a_package_in_a_version_is_a_part_once(host: Catalogue) -> None:
    assert list(host.parts) == sorted([
        "box=1.0-1", "easel=1", "lid=1.9", "lid=1:0.3~rc1+b2", "paint=2", "picture=1", "poster=1",
        "steel-hinge=1", "varnish=2",
    ])


def test_needs_name_all_that_meet_them(host: Catalogue) -> None:
    needs = [need.listed for need in host.parts["box=1.0-1"].requires]
    assert needs == [("lid=1:0.3~rc1+b2",), ("paint=2", "varnish=2"), ("steel-hinge=1",)]


def test_a_package_may_meet_its_own_need(host: Catalogue) -> None:
    needs = [need.listed for need in host.parts["picture=1"].requires]
    assert needs == [("paint=2",), ("paint=2", "varnish=2"), ("varnish=2",)]


def test_conflicts_are_with_other_versions_and_with_all_who_provide_a_name(
    host: Catalogue,
) -> None:
    against = {key: [c.part for c in part.conflicts] for key, part in host.parts.items()}
    assert against["lid=1:0.3~rc1+b2"] == ["lid=1.9", "paint=2"]
    assert against["varnish=2"] == ["paint=2"], "not with itself, though it provides the name"


def test_what_nobody_provides_cannot_be_had(found: list[Item], host: Catalogue) -> None:
    # easel-top is nowhere; shine is provided without a version; paint and varnish do not mix
    dead = {"easel=1", "poster=1", "picture=1"}
    assert impossible_parts(host, find_baseline(host, "host")) == dead
    stated, numbers = bare_clauses(found)
    assert dead == numbers.keys() - {
        key for key in numbers if numbers[key] in plainly_possible(stated, numbers.values())
    }
    assert {rule.why for rule in host.rules.values()} == {
        "nothing provides easel-top", "nothing provides shine",
    }
