"""The list of what a builder has, as people keep it: CSV, XLSX, YAML, with all that goes wrong."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import Workbook

from api.lists import read_have
from kb.errors import QuestionError
from kb.sheets import MAX_ROWS

KNOWN = {"bolt-m10", "fluid"}


def write(folder: Path, name: str, text: str | bytes) -> Path:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    return path


def read(folder: Path, name: str, text: str | bytes) -> list[tuple[str, str | None, int | None]]:
    found = read_have(write(folder, name, text), KNOWN)
    return [(have.text, have.amount, have.row) for have in found]


@pytest.mark.parametrize("text", [
    "part,qty\nbolt-m10,4\nfluid,0.5 L\n",
    "Part No;Quantity;Unit\nbolt-m10;4;pcs\nfluid;0.5;L\n",
    "\ufeffCODE\tHow Many\tColour\r\nbolt-m10\t4\tblack\r\nfluid\t0.5 L\t\r\n",
    'description,amount\n"bolt-m10","4"\n fluid , 0.5  L \n',
])
def test_columns_are_found_by_their_names(tmp_path: Path, text: str) -> None:
    assert read(tmp_path, "have.csv", text) == [("bolt-m10", "4", 2), ("fluid", "0.5 L", 3)]


def test_an_id_the_catalogue_has_beats_its_description(tmp_path: Path) -> None:
    text = "part,description,qty\nbolt-m10,some bolt,2\nX-17,crank sensor,1\n,copper washer,\n"
    assert read(tmp_path, "have.csv", text) == [
        ("bolt-m10", "2", 2), ("X-17 crank sensor", "1", 3), ("copper washer", None, 4)]


def test_empty_rows_are_passed_over_and_rows_keep_their_numbers(tmp_path: Path) -> None:
    assert read(tmp_path, "have.csv", "\n\npart,qty\n\nbolt-m10,4\n,,\n") == [("bolt-m10", "4", 5)]


def book(path: Path, rows: list[list[object]]) -> Path:
    made = Workbook()
    sheet = made.active
    assert sheet is not None
    for row in rows:
        sheet.append(row)
    made.save(path)
    return path


def test_a_spreadsheet_reads_like_its_table(tmp_path: Path) -> None:
    path = book(tmp_path / "have.xlsx", [["Part", "Qty"], ["bolt-m10", 4], ["fluid", "0.5 L"],
                                         [None, None], ["fluid", 2.0]])
    found = read_have(path, KNOWN)
    assert [(h.text, h.amount, h.row) for h in found] == [
        ("bolt-m10", "4", 2), ("fluid", "0.5 L", 3), ("fluid", "2", 5)]


def test_a_formula_that_was_never_worked_out_is_not_taken_for_nothing(tmp_path: Path) -> None:
    path = book(tmp_path / "have.xlsx", [["Part", "Qty"], ["bolt-m10", "=2+2"]])
    with pytest.raises(QuestionError, match=":2: the formula '=2\\+2' has no saved value"):
        read_have(path, KNOWN)


def test_yaml_is_a_mapping_of_parts_to_amounts(tmp_path: Path) -> None:
    text = "bolt-m10: 4\nBrake fluid DOT 4: 0.5 L\ncap:\n"
    assert read(tmp_path, "have.yaml", text) == [
        ("bolt-m10", "4", 1), ("Brake fluid DOT 4", "0.5 L", 2), ("cap", None, 3)]


@pytest.mark.parametrize(("name", "text", "says"), [
    ("a.csv", "", "is empty"),
    ("a.csv", "colour,size\nblack,4\n", "no column holds parts; expected one called part,"),
    ("a.csv", "part,qty,qty\nbolt-m10,4,5\n", "the header 'qty' stands twice"),
    ("a.csv", "part,qty\nbolt-m10,4,9\n", ":2: cell 3 of the row stands under no header"),
    ("a.csv", "part,qty\n,4\n", "row 2 names no part"),
    ("a.csv", "part,qty\nbolt-m10," + "9" * 50 + "\n", "row 2: amount"),
    ("a.csv", "part,qty\n" + "x" * 3000 + ",1\n", "is too long"),
    ("a.csv", "part\n" + "bolt-m10\n" * (MAX_ROWS + 1), "is too long"),
    ("a.csv", "part\n" + "bolt-m10\n" * 1001, "has 1001 lines; at most 1000"),
    ("a.csv", b"part\nbolt \xff\n", "not UTF-8"),
    ("a.csv", 'part,qty\n"bolt-m10,4\n', "not CSV"),
    ("a.csv", "Part,part\nbolt-m10,bolt-m10\n", "two columns are called 'part'"),
    ("a.xlsx", b"this is no workbook", "not a workbook"),
    ("a.txt", "part\nbolt-m10\n", "not a sheet"),
    ("a.yaml", "bolt-m10: [4]\n", "a.yaml:1: expected an amount"),
    ("a.yaml", "bolt-m10: 4\nbolt-m10: 5\n", "a.yaml:2"),
    ("a.yaml", "- bolt-m10\n", "a.yaml:1"),
    ("a.yaml", "bolt-m10: &a 4\n", "a.yaml:1"),
])
def test_what_is_no_such_list_is_refused_with_its_place(
    tmp_path: Path, name: str, text: str | bytes, says: str
) -> None:
    with pytest.raises(QuestionError) as caught:
        read(tmp_path, name, text)
    assert says in str(caught.value)


def test_a_file_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(QuestionError, match="cannot be read"):
        read_have(tmp_path / "none.csv", KNOWN)
