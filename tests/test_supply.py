"""What Kitwright is made of and what it is shipped as: dependencies, their licences, the wheel."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from importlib.metadata import metadata, requires
from pathlib import Path, PurePosixPath
from zipfile import ZipFile

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
DEPENDENCIES = [Requirement(text) for text in PROJECT["dependencies"]]

PERMISSIVE = {"MIT", "BSD", "Apache", "0BSD", "Zlib", "CC0", "PSF", "ISC", "HPND", "MPL", "CNRI"}
"""Families of licences that may be combined with ours without conditions on our own code."""


def table() -> dict[str, str]:
    """Library to licence, as DEVELOPERS.md has it."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text.split("## Dependencies")[1].split("\n## ")[0]
    rows = re.findall(r"^\| (\w[\w.-]+) \| ([^|]+) \| [^|]+ \|$", section, re.MULTILINE)
    return {name: licence for name, licence in rows if name != "library"}


def stated_licence(name: str) -> str:
    """The licence that an installed package states, in one of the three places there are for it."""
    found = metadata(name)
    named = [c.rpartition(":: ")[2] for c in found.get_all("Classifier") or [] if "License ::" in c]
    return found.get("License-Expression") or " ".join(named) or found.get("License") or ""


def test_every_dependency_is_listed_with_its_reason_and_its_licence():
    listed = table()
    assert set(listed) == {each.name for each in DEPENDENCIES}
    for name, licence in listed.items():
        family = licence.partition("-")[0]
        assert family in stated_licence(name), (name, licence, stated_licence(name))


def test_every_range_has_both_ends():
    for each in DEPENDENCIES:
        operators = {specifier.operator for specifier in each.specifier}
        assert operators == {">=", "<"}, each


def brought_along(name: str, seen: set[str]) -> Iterator[str]:
    """A package and all that an installation of it without extras brings along."""
    if name in seen:
        return
    seen.add(name)
    yield name
    for text in requires(name) or ():
        needed = Requirement(text)
        if needed.marker is None or needed.marker.evaluate({"extra": ""}):
            yield from brought_along(re.sub(r"[-_.]+", "-", needed.name).lower(), seen)


def test_all_that_is_brought_along_is_permissive():
    seen: set[str] = set()
    every = [name for each in DEPENDENCIES for name in brought_along(each.name, seen)]
    assert len(every) > len(DEPENDENCIES)
    for name in every:
        words = set(re.findall(r"[A-Za-z0-9]+", stated_licence(name)))
        assert words & PERMISSIVE, (name, stated_licence(name))
        assert not words & {"GPL", "AGPL", "GPLv2", "GPLv3"}, (name, stated_licence(name))


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> ZipFile:
    """The wheel as pip builds it."""
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=ROOT, check=True, capture_output=True, timeout=120,
    )
    [built] = folder.glob("*.whl")
    return ZipFile(built)


def test_the_wheel_holds_every_file_of_the_packages_and_nothing_else(wheel: ZipFile):
    packed = {name for name in wheel.namelist() if ".dist-info/" not in name}
    kept = {
        path.relative_to(ROOT).as_posix()
        for folder in ("kb", "rules", "api", "demo_catalog") for path in (ROOT / folder).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert packed == kept


def test_the_wheel_holds_what_an_installation_reads_beside_code(wheel: ZipFile):
    sorts = {(PurePosixPath(n).parts[0], PurePosixPath(n).suffix) for n in wheel.namelist()}
    assert {("demo_catalog", ".yaml"), ("api", ".html"), ("api", ".css"), ("api", ".js")} <= sorts
    assert not any("test" in PurePosixPath(name).parts[0] for name in wheel.namelist())


def test_the_wheel_installs_the_command(wheel: ZipFile):
    [name] = [n for n in wheel.namelist() if n.endswith("entry_points.txt")]
    assert "kitwright = api.cli:main" in wheel.read(name).decode()
