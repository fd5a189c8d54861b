"""kitwright draw: the drawings of a package as files."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree as Xml

import pytest

from api.asking import demo_folder
from tests.support.command_line import CommandLine, flat

CAR = ("--vehicle", "quernby", "--year", "2017", "--variant", "q16")


@pytest.fixture
def run() -> CommandLine:
    return CommandLine(demo_folder())


def test_each_drawing_is_a_file_and_is_listed(run: CommandLine, tmp_path: Path) -> None:
    out = tmp_path / "made" / "here"
    result = run("draw", "wheel-corrie-16", *CAR, "--deadline", "60", "--out", str(out))
    assert result.exit_code == 0, result.output
    files = sorted(path.name for path in out.iterdir())
    assert "because.svg" in files
    assert "room-front-full-lock.svg" in files
    for name in files:
        assert name in result.output
        Xml.fromstring((out / name).read_text(encoding="utf-8"))
    assert f"{len(files)} drawings in" in flat(result.output)


def test_what_cannot_be_is_drawn_and_answered_no(run: CommandLine, tmp_path: Path) -> None:
    picks = ("caliper-tor", "wheel-corrie-15")
    result = run("draw", *picks, *CAR, "--deadline", "60", "--out", str(tmp_path), "--why")
    assert result.exit_code == 1
    assert "Does not fit. Caliper to the barrel: -9.8 mm" in flat(result.output)


def test_a_wrong_question_writes_nothing(run: CommandLine, tmp_path: Path) -> None:
    result = run("draw", "no-such-part", *CAR, "--out", str(tmp_path / "none"))
    assert result.exit_code == 2
    assert not (tmp_path / "none").exists()
