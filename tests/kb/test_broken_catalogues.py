"""Broken catalogues kept as files, each with the exact text its keeper is told."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from kb.catalogue import load
from kb.errors import CatalogueError
from tests.kb.helpers import BROKEN

CASES = sorted(path for path in BROKEN.iterdir() if path.suffix != ".txt")


def said_about(case: Path, room: Path) -> str:
    """What is said about one broken file, or one folder of files, as a catalogue of its own."""
    folder = room / "catalogue"
    if case.is_dir():
        shutil.copytree(case, folder)
    else:
        folder.mkdir()
        shutil.copy(case, folder)
    with pytest.raises(CatalogueError) as caught:
        load(folder)
    return str(caught.value).replace(str(folder), "catalogue") + "\n"


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.stem)
def test_the_keeper_is_told_exactly_this(case: Path, tmp_path: Path) -> None:
    expected = case.with_suffix(".txt").read_text(encoding="utf-8")
    assert said_about(case, tmp_path) == expected


def test_every_expected_text_belongs_to_a_case() -> None:
    texts = {path.stem for path in BROKEN.glob("*.txt")}
    assert texts == {case.stem for case in CASES}
    assert len(CASES) >= 100


def test_every_message_is_one_line_with_its_file() -> None:
    for path in BROKEN.glob("*.txt"):
        for line in path.read_text(encoding="utf-8").splitlines():
            assert line.startswith(("catalogue: ",)) or ".yaml" in line or ".yml" in line
            assert line.isprintable(), line
            assert "Input should" not in line, "the validator's words, not the keeper's"
