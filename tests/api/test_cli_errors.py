"""What the command line says when the question or the catalogue is wrong: one line each, exit 2."""

from __future__ import annotations

from pathlib import Path
from typing import Any, NoReturn

import pytest

import api.cli
from kb.errors import FaultyAnswer, OutOfTime
from tests.support.cli_catalogue import CAR, write
from tests.support.command_line import CommandLine


@pytest.fixture
def run(tmp_path: Path) -> CommandLine:
    return CommandLine(write(tmp_path / "shop"))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("package", "wheel-15", "--vehicle", "turn"),
            "there is no vehicle 'turn'; did you mean 'tern'? (--vehicle)",
        ),
        (
            ("package", "wheel-51", *CAR),
            "there is no part 'wheel-51'; did you mean 'wheel-15'?",
        ),
        (
            ("package", "wheel-51=2.5", *CAR),
            "there is no part 'wheel-51'; did you mean 'wheel-15'?",
        ),
        (("package", "wheel-15", "--vehicle", "tern"), "which variant? t12, t16 (--variant)"),
        (
            ("package", "wheel-15", "--vehicle", "tern", "--variant", "t166"),
            "'tern' has no variant 't166'; it has t12, t16; did you mean 't16'? (--variant)",
        ),
        (
            ("needed", "wheel-15", *CAR[:2], "--variant", "t12", "--year", "2018"),
            "that car was not made in 2018; it was in 2012, 2013, 2014, 2015 (--year)",
        ),
        (
            ("package", "wheel-15=2.5", *CAR),
            "'wheel-15': '2.5' is not a whole number of pieces and has no unit",
        ),
        (("package", "wheel-15=2L", *CAR), "'wheel-15' is sold by the piece; got '2L'"),
        (("package", "grease=", *CAR), "'grease': '' is not an amount, such as '4' or '0.5 L'"),
        (
            ("needed", "wheel-15", *CAR, "--cart", "tyre-51"),
            "there is no part 'tyre-51'; did you mean 'tyre-15'?",
        ),
        (("parts", "--kind", "whel"), "there is no kind 'whel'; did you mean 'wheel'?"),
        (("package", *CAR), "Missing argument 'PICK...'."),
        (("package", "wheel-15"), "Missing option '--vehicle'."),
    ],
)
def test_a_wrong_question_is_said_in_one_line(
    run: CommandLine, words: tuple[str, ...], said: str
) -> None:
    found = run(*words)
    assert (found.exit_code, found.stdout) == (2, "")
    assert found.stderr == f"kitwright: {said}\n"


def test_an_unknown_preference_names_those_there_are(run: CommandLine) -> None:
    found = run("package", "wheel-15", *CAR, "--prefer", "cheap")
    assert found.exit_code == 2
    assert found.stderr.count("\n") == 1
    assert "least_cost" in found.stderr


@pytest.mark.parametrize("words", [("package", "x", *CAR), ("audit",), ("vehicles",), ("parts",)])
def test_every_problem_of_a_catalogue_is_said_with_its_line(
    tmp_path: Path, words: tuple[str, ...]
) -> None:
    text = "catalog: {name: Shop}\nparts:\n  a: {kind: boltt, name: A}\n  b: {kind: bolt}\n"
    found = CommandLine(write(tmp_path, text))(*words)
    assert found.exit_code == 2
    lines = found.stderr.splitlines()
    assert len(lines) == 2
    assert lines[0].startswith("kitwright: counter.yaml:3: ")
    assert "did you mean 'bolt'?" in lines[0]
    assert lines[1].startswith("kitwright: counter.yaml:4: ")


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    found = CommandLine(tmp_path / "nowhere")("vehicles")
    assert found.exit_code == 2
    assert found.stderr == f"kitwright: {tmp_path}/nowhere: no such folder\n"


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (OutOfTime("10 s have passed"), ["no answer in the time given: 10 s have passed"]),
        (
            FaultyAnswer(["no bolts", "two discs"]),
            [
                "answer withheld, re-check failed: no bolts",
                "answer withheld, re-check failed: two discs",
            ],
        ),
    ],
)
def test_no_answer_is_neither_yes_nor_no(
    run: CommandLine, monkeypatch: pytest.MonkeyPatch, error: Exception, said: list[str]
) -> None:
    _fail(monkeypatch, error)
    found = run("package", "wheel-15", *CAR)
    assert (found.exit_code, found.stdout) == (3, "")
    assert found.stderr.splitlines() == [f"kitwright: {line}" for line in said]


def test_a_fault_of_ours_is_one_line_that_says_where(
    run: CommandLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    _fail(monkeypatch, ZeroDivisionError("by nothing"))
    found = run("package", "wheel-15", *CAR)
    assert found.exit_code == 3
    assert found.stderr.count("\n") == 1
    assert "test_cli_errors.py:" in found.stderr
    assert "ZeroDivisionError by nothing" in found.stderr


def test_what_the_system_refuses_is_one_line(
    run: CommandLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    _fail(monkeypatch, PermissionError(13, "Permission denied", "counter.yaml"))
    found = run("package", "wheel-15", *CAR)
    assert found.exit_code == 2
    assert found.stderr == "kitwright: [Errno 13] Permission denied: 'counter.yaml'\n"


def _fail(monkeypatch: pytest.MonkeyPatch, error: Exception) -> None:
    def failing(*_: Any) -> NoReturn:
        raise error

    monkeypatch.setattr(api.cli, "package", failing)
