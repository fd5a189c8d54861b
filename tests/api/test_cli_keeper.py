"""Stories of the keeper at the command line: the health of a catalogue, sheets into it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.support.command_line import CommandLine, flat
from tests.support.sound import SOUND

FAULTY = SOUND.replace("orderable: false, takes: [tray]", "orderable: false, takes: [tray], "
                       "conflicts: [{part: seat-stock}]")


@pytest.fixture
def run(tmp_path: Path) -> CommandLine:
    folder = tmp_path / "shop"
    folder.mkdir()
    (folder / "all.yaml").write_text(SOUND)
    return CommandLine(folder)


def test_ci_reads_one_line_and_the_exit_code(run: CommandLine) -> None:
    sound = run("audit", "--summary")
    assert (sound.exit_code, sound.stdout) == (0, "The catalogue is clean.\n")
    (run.folder / "all.yaml").write_text(FAULTY)
    faulty = run("audit", "--summary")
    assert (faulty.exit_code, faulty.stdout) == (1, "The catalogue has 1 error.\n")
    found = json.loads(run("audit", "--json").stdout)
    assert found["counts"] == {"error": 1, "warning": 0, "note": 0}
    assert found["findings"][0]["where"].startswith("all.yaml:")


def test_the_page_tells_what_to_measure_next(run: CommandLine) -> None:
    (run.folder / "all.yaml").write_text(SOUND.replace(", spigot: 56.0 mm", ""))
    page = flat(run("audit").stdout)
    assert "MEASURE NEXT" in page
    assert "Spigot of the car's front hub (tern): 6 open questions, with rim-new." in page


def test_a_sheet_goes_in_and_a_refused_row_holds_it_back(run: CommandLine) -> None:
    room = run.folder.parent
    (room / "map.yaml").write_text(
        'into: straps.yaml\nid: "strap-{No}"\nfields: {name: "{Name}", price: "{Price (EUR)}"}\n'
    )
    words = ("import", str(room / "s.csv"), "--kind", "item", "--map", str(room / "map.yaml"))
    (room / "s.csv").write_text("No,Name,Price (EUR)\n2,Long strap,11.50\n3,,4\n")
    held = run(*words)
    assert held.exit_code == 1
    assert "s.csv:3: 'strap-3': field 'name' is missing" in flat(held.stdout)
    assert "Nothing was written." in held.stdout
    assert not (run.folder / "straps.yaml").exists()
    assert run(*words, "--dry-run", "--skip-refused").exit_code == 1
    assert not (run.folder / "straps.yaml").exists()
    assert run(*words, "--skip-refused").exit_code == 1
    assert "strap-2" in (run.folder / "straps.yaml").read_text()
    (room / "s.csv").write_text("No,Name,Price (EUR)\n2,Long strap,11.50\n")
    again = run(*words)
    assert again.exit_code == 0
    assert "straps.yaml is as it should be; nothing was changed." in flat(again.stdout)


def test_a_finding_stands_at_the_line_of_its_field(run: CommandLine) -> None:
    (run.folder / "kits.yaml").write_text(
        "parts:\n  pair:\n    kind: kit\n    name: Pair\n    contents: {strap: 2}\n"
        "    price: 30.00 EUR\n"
    )
    (finding,) = json.loads(run("audit", "--json").stdout)["findings"]
    assert (finding["code"], finding["where"]) == ("dear-kit", "kits.yaml:6")


def test_a_field_that_is_lacking_leaves_the_line_of_the_entry(run: CommandLine) -> None:
    (run.folder / "more.yaml").write_text("parts:\n  hook:\n    kind: item\n    name: Hook\n")
    (finding,) = json.loads(run("audit", "--json").stdout)["findings"]
    assert (finding["code"], finding["where"]) == ("no-price", "more.yaml:2")
