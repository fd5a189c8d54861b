"""Stories about what changes for people from one catalogue to the next."""

# ruff: noqa: E501 - one part a line reads best here

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner

from api.asking import demo_folder
from api.cli import main
from api.text_compare import compare_report
from kb.catalogue import load, load_texts
from rules.compare import Change, Comparison, compare
from tests.support.command_line import CommandLine
from tests.support.sound import SOUND, sound


def only(found: Comparison, pick: str) -> Change:
    """The one change for a part by itself."""
    (change,) = [c for c in found.changes if c.picks == (pick,) and c.kit is None]
    return change


def test_a_catalogue_compared_with_itself_is_empty() -> None:
    found = compare(sound(), sound())
    assert (found.changes, found.altered, found.asked_again) == ((), (), 0)
    demo = load(demo_folder())
    assert compare(demo, load(demo_folder())).changes == ()


def test_a_dearer_part_makes_packages_dearer_and_says_by_which_entry() -> None:
    found = compare(sound(), sound(replaced=("name: Strap, price: 9.00", "name: Strap, price: 10.50")))
    assert found.altered == ("parts/strap: price",)
    change = only(found, "strap")
    assert (change.what, change.before, change.after) == (("dearer",), "9.00", "10.50")
    assert change.cars == "tern/t12 2014-2016, tern/t16 2014-2016"
    assert change.because == ("parts/strap: price",)
    assert found.asked_again == 1, "one question for each group of cars that are alike"
    assert len(found.changes) == 1


def test_another_need_brings_lines_and_names_them() -> None:
    more = ("requires: [{part: bolt, each: 4}]", "requires: [{part: bolt, each: 4}, {part: strap, once: 1}]")
    change = only(compare(sound(), sound(replaced=more)), "seat-new")
    assert change.what == ("dearer", "other_lines")
    assert change.gained == ("1 strap",)
    back = only(compare(sound(replaced=more), sound()), "seat-new")
    assert (back.what, back.lost) == (("cheaper", "other_lines"), ("1 strap",))


def test_what_is_no_longer_possible_comes_first_with_its_reason() -> None:
    never = "rules: {never: {when: [{part: seat-new}], on: {variants: [t16]}, why: it slides}}"
    found = compare(sound(), sound(never))
    first = found.changes[0]
    assert found.worse
    assert first.what == ("impossible",)
    assert first.cars == "tern/t16 2014-2016"
    assert any("it slides" in reason for reason in first.because)
    assert not compare(sound(never), sound()).worse


def test_a_part_that_came_is_possible_now_and_one_that_went_is_not() -> None:
    more = "parts: {cap: {kind: item, name: Cap, price: 1.00 EUR}}"
    assert only(compare(sound(), sound(more)), "cap").what == ("possible",)
    assert only(compare(sound(more), sound()), "cap").what == ("impossible",)


def test_a_remembered_kit_is_asked_again() -> None:
    found = compare(sound(), sound(replaced=("name: Seat set, price: 203.00", "name: Seat set, price: 201.00")))
    (kit,) = [change for change in found.changes if change.kit == "weekly"]
    assert (kit.what, kit.before, kit.after) == (("cheaper",), "223.00", "221.00")


def test_a_missing_measurement_has_to_be_taken_first() -> None:
    found = compare(sound(), sound(replaced=(", spigot: 56.0 mm", "")))
    change = only(found, "rim-new")
    assert change.what == ("to_measure",)
    assert change.because[0] == "vehicles/tern: facts"
    assert change.because[1].startswith("to measure: ")
    assert "spigot of the car's front hub" in change.because[1]


def test_what_the_change_cannot_touch_is_asked_once() -> None:
    old, new = sound(), sound(replaced=("name: Bolt, price: 1.00", "name: Bolt, price: 2.00"))
    found = compare(old, new)
    assert {pick for change in found.changes for pick in change.picks} == {"bolt"}
    assert 2 < found.asked_again < found.questions, "what needs bolts, which the set has cheaper"


def test_cars_with_one_change_are_said_in_one_breath() -> None:
    told = "rules: {odd: {on: {years: 2015}, when: [{part: rim-new}], then_any: [{part: strap}]}}"
    dearer = ("name: Bolt, price: 1.00", "name: Bolt, price: 2.00")
    change = only(compare(sound(told), sound(told, dearer)), "bolt")
    assert change.cars == "tern/t12 2014-2016, tern/t16 2014-2016"


def test_shared_out_or_not_the_report_is_the_same() -> None:
    old, new = sound(), sound(replaced=("name: Bolt, price: 1.00", "name: Bolt, price: 2.00"))
    assert compare(old, new, processes=2) == compare(old, new, processes=1)


def test_the_report_is_markdown_that_takes_every_text_literally() -> None:
    odd = load_texts({"all.yaml": SOUND.replace("name: Strap,", "name: 'Strap | *wide*',").replace(
        "price: 9.00 EUR}", "price: 8.00 EUR}")})
    report = compare_report(compare(sound(), odd))
    assert "## Cheaper (1)" in report
    assert r"| Strap \| \*wide\* (strap) |" in report
    for row in report.splitlines():
        if row.startswith("|") and "---" not in row:
            assert row.replace(r"\|", "").count("|") == 7


@pytest.fixture
def repository(tmp_path: Path) -> CommandLine:
    folder = tmp_path / "shop"
    folder.mkdir()
    (folder / "all.yaml").write_text(SOUND)
    who = ("-c", "user.name=keeper", "-c", "user.email=keeper@example.org")
    for words in (("init", "-q"), ("add", "."), (*who, "commit", "-q", "-m", "as it was")):
        subprocess.run(["git", "-C", str(tmp_path), *words], check=True)
    return CommandLine(folder)


def test_a_revision_is_compared_with_the_folder_as_it_is(repository: CommandLine) -> None:
    same = repository("compare", "HEAD")
    assert same.exit_code == 0
    assert "**0 other answers**" in same.stdout
    file = repository.folder / "all.yaml"
    file.write_text(SOUND.replace("price: 9.00 EUR}", "price: 8.00 EUR}"))
    found = json.loads(repository("compare", "HEAD", "--json").stdout)
    assert [change["what"] for change in found["changes"]] == [["cheaper"]]
    assert repository("compare", "HEAD", "HEAD").stdout.count("**0 other answers**") == 1
    file.write_text(SOUND.replace("rules:\n", "rules:\n  never: {when: [{part: strap}]}\n"))
    assert repository("compare", "HEAD").exit_code == 1


@pytest.mark.parametrize("old", ["no-such-revision", "--output=x", "HEAD:../.."])
def test_neither_folder_nor_revision_is_said(repository: CommandLine, old: str) -> None:
    words = ["compare", "--catalog", str(repository.folder), "--", old]
    found = CliRunner().invoke(main, words)
    assert found.exit_code == 2
    assert "revision" in found.stderr
