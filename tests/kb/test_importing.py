"""Stories about sheets of parts that become catalogue files."""

from __future__ import annotations

import inspect
from datetime import date
from pathlib import Path
from textwrap import dedent

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook  # type: ignore[import-untyped]

from kb import sheet_map
from kb.catalogue import load
from kb.errors import CatalogueError, QuestionError
from kb.importing import Import, read_import
from kb.round_trip import with_parts
from kb.sheets import read_sheet

SHOP = """
catalog: {name: shop, currency: EUR}
vehicles:
  tern:
    name: Tern
    years: "2015"
    variants: {t: {name: t, engine: e}}
    places: {front-wheel: {count: 2, axle: front}}
"""
BY_HAND = """\
# Oddmoor wheels, from their sheet
parts:
  wheel-f15:  # sells well
    kind: wheel
    name: Fen 15
    price: 110.00 EUR   # ask about the pack of four
    takes: [front-wheel]
    conflicts: [{part: wheel-f16, why: never mixed}]
    dimensions: {centre_bore: 63.4 mm}
  wheel-f16: {kind: wheel, name: Fen 16, takes: [front-wheel]}
"""
MAP = dedent(inspect.getdoc(sheet_map).split("\n\n")[1])  # type: ignore[union-attr]
"""The example in the description of the map format."""

HEADERS = ("Article", "Description", "Price [EUR]", "Width", "Diameter", "Remarks")
ROWS = (
    ("f15", "Fen 15", "118,00", "6,5", "15", "new colour"),
    ("f17", "Fen 17", "150,00", "7", "17", ""),
)


class Desk:
    """A folder with a catalogue, a map and a sheet."""

    def __init__(self, room: Path, by_hand: str = BY_HAND, how: str = MAP) -> None:
        self.folder, self.map, self.sheet = room / "cat", room / "map.yaml", room / "sheet.csv"
        self.file = self.folder / "wheels" / "oddmoor.yaml"
        self.file.parent.mkdir(parents=True)
        (self.folder / "shop.yaml").write_text(SHOP)
        self.file.write_text(by_hand)
        self.map.write_text(how)
        self.write(*ROWS)

    def write(self, *rows: tuple[str, ...], headers: tuple[str, ...] = HEADERS) -> None:
        lines = [";".join(row) for row in (headers, *rows)]
        self.sheet.write_text("\n".join(lines) + "\n", encoding="utf-8")

    def read(self, kind: str = "wheel") -> Import:
        return read_import(self.folder, self.sheet, kind, self.map)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(tmp_path)


def test_rows_become_parts_and_units_come_from_the_headers(desk: Desk) -> None:
    found = desk.read()
    assert (found.added, found.left, found.refused) == (["wheel-f17"], ["wheel-f16"], [])
    found.write()
    parts = load(desk.folder).parts
    assert str(parts["wheel-f17"].price) == "150.00 EUR"
    assert str(parts["wheel-f15"].dimensions.rim) == "6.5 J x 15"  # type: ignore[attr-defined]
    assert parts["wheel-f17"].takes == ("front-wheel",)


def test_what_was_written_by_hand_survives(desk: Desk) -> None:
    desk.read().write()
    text = desk.file.read_text()
    for kept in (
        "# Oddmoor wheels, from their sheet", "wheel-f15:  # sells well",
        "price: 118.00 EUR   # ask about the pack of four",
        "conflicts: [{part: wheel-f16, why: never mixed}]",
        "    takes: [front-wheel]\n",  # the sheet says the same: left as it was written
        "  wheel-f16: {kind: wheel, name: Fen 16, takes: [front-wheel]}\n",
    ):
        assert kept in text
    assert "110.00" not in text


def test_the_second_time_nothing_changes(desk: Desk) -> None:
    desk.read().write()
    text = desk.file.read_text()
    again = desk.read()
    assert not again.changes
    assert (again.text, again.added) == (text, [])


def test_only_the_cell_that_changed_is_written(desk: Desk) -> None:
    desk.read().write()
    before = desk.file.read_text().splitlines()
    desk.write(ROWS[0], ("f17", "Fen 17", "151,00", "7", "17", ""))
    desk.read().write()
    after = desk.file.read_text().splitlines()
    assert [(a, b) for a, b in zip(before, after, strict=True) if a != b] == [
        ("    price: 150.00 EUR", "    price: 151.00 EUR")
    ]


def test_a_workbook_says_the_same_as_the_csv(desk: Desk) -> None:
    from_csv = desk.read().text
    book = Workbook()
    sheet = book.active
    sheet.append(HEADERS)
    sheet.append(("f15", "Fen 15", "118.00", 6.5, 15, "new colour"))
    sheet.append(("f17", "Fen 17", "150.00", 7, 17.0, None))
    desk.sheet = desk.sheet.with_suffix(".xlsx")
    book.save(desk.sheet)
    assert desk.read().text == from_csv


def test_every_row_that_cannot_be_taken_is_listed_with_its_reason(desk: Desk) -> None:
    (desk.folder / "more.yaml").write_text("parts: {wheel-f20: {kind: wheel, name: Fen 20}}")
    desk.write(
        ROWS[0],
        ("f15", "Fen 15 again", "1,00", "6", "15", ""),
        ("f18", "Fen 18", "much", "6", "15", ""),
        ("f19", "", "9,00", "6", "15", ""),
        ("f 21", "Fen 21", "9,00", "6", "15", ""),
        ("f20", "Fen 20", "9,00", "6", "15", ""),
        ("f22", "Fen 22", "9,00", "wide", "15", ""),
    )
    found = desk.read()
    said = [str(problem) for problem in found.refused]
    for line, words in (
        (3, "stands twice in the sheet (first on row 2)"), (4, "'much'"),
        (5, "field 'name' is missing"), (6, "not an id"), (7, "stated in more.yaml already"),
        (8, "rim"),
    ):
        assert any(text.startswith(f"sheet.csv:{line}: ") and words in text for text in said), said
    assert list(found.taken) == ["wheel-f15"]
    assert desk.file.read_text() == BY_HAND


def test_a_catalogue_that_would_not_hold_together_is_never_written(desk: Desk) -> None:
    desk.map.write_text(MAP.replace("takes: [front-wheel]", "takes: [roof]"))
    with pytest.raises(CatalogueError, match="there is no place 'roof'"):
        desk.read()
    assert desk.file.read_text() == BY_HAND


def test_no_column_is_dropped_or_missed_in_silence(desk: Desk) -> None:
    desk.write(headers=("Artikle", "Description", "Price [EUR]", "Width", "Diameter", "Weight"))
    with pytest.raises(CatalogueError) as caught:
        desk.read()
    said = str(caught.value)
    assert "there is no column 'Article'; did you mean 'Artikle'?" in said
    assert "the column 'Weight' is not in the map" in said


@pytest.mark.parametrize(("how", "words"), [
    ("into: ../away.yaml\nid: a\nfields: {name: b}", "not a file of the catalogue"),
    ("into: a.yaml\nid: a\nfeilds: {name: b}", "did you mean 'fields'?"),
    ("into: a.yaml\nfields: {name: b}", "id is missing"),
    ("into: a.yaml\nid: a\nfields: {name: b}\ndecimal: x", "decimal"),
])
def test_a_wrong_map_is_refused_in_words(desk: Desk, how: str, words: str) -> None:
    desk.map.write_text(how + "\nignore: [a]")
    desk.write(headers=("a",))
    with pytest.raises(CatalogueError) as caught:
        desk.read()
    assert words in str(caught.value)


@pytest.mark.parametrize(("name", "content", "words"), [
    ("s.ods", b"x", "not a sheet"), ("s.xlsx", b"x", "not a workbook"), ("s.csv", b"", "empty"),
    ("s.csv", b"a;a\n1;2", "stands twice"), ("s.csv", b"a;\n1;2", "2: cell 2 of the row"),
    ("s.csv", b"a;b\n1;2;3", "2: cell 3 of the row stands under no header"),
    ("s.csv", b"a;;c\n1;;3\n1;2;3", "3: cell 2 of the row"), ("s.csv", b"\xff", "not UTF-8"),
    ("s.csv", b'a;b\n"1', "not CSV"),
])
def test_what_is_no_sheet_is_refused(
    tmp_path: Path, name: str, content: bytes, words: str
) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(CatalogueError, match=words):
        read_sheet(tmp_path / name)


@pytest.mark.parametrize(("cell", "words"), [
    ("=1+1", "2: the formula '=1\\+1' has no saved value"), (date(2024, 2, 1), "2: a date"),
    ("#N/A", "2: a cell shows the error #N/A"),
])
def test_a_cell_without_a_plain_value_is_refused(
    tmp_path: Path, cell: object, words: str
) -> None:
    book = Workbook()
    for row in (("Article", "Width"), ("f15", cell)):
        book.active.append(row)
    book.save(tmp_path / "s.xlsx")
    with pytest.raises(CatalogueError, match=words):
        read_sheet(tmp_path / "s.xlsx")


def test_merged_cells_are_refused_for_the_rows_they_leave_empty(tmp_path: Path) -> None:
    book = Workbook()
    for row in (("Article", "Maker"), ("f15", "Oddmoor"), ("f17", None)):
        book.active.append(row)
    book.active.merge_cells("B2:B3")
    book.save(tmp_path / "s.xlsx")
    with pytest.raises(CatalogueError, match="2: the cells B2:B3 are merged"):
        read_sheet(tmp_path / "s.xlsx")


@pytest.mark.parametrize(("number", "text"), [
    (6.5, "6.5"), (15.0, "15"), (11.65312, "11.65312"), (0.00001, "0.00001"), (120, "120"),
    (-0.25, "-0.25"), (True, "true"),
])
def test_numbers_keep_their_digits(tmp_path: Path, number: float, text: str) -> None:
    book = Workbook()
    for row in (("a",), (number,)):
        book.active.append(row)
    book.save(tmp_path / "s.xlsx")
    assert [row.cells for row in read_sheet(tmp_path / "s.xlsx").rows] == [{"a": text}]


def test_lines_are_those_of_the_sheet_whatever_stands_in_quotes(tmp_path: Path) -> None:
    (tmp_path / "s.csv").write_bytes(b"\xef\xbb\xbf\r\nid;note\r\na;\"one\r\ntwo\"\r\n\r\nb;\r\n")
    rows = read_sheet(tmp_path / "s.csv").rows
    assert [(row.line, row.cells) for row in rows] == [
        (4, {"id": "a", "note": "one two"}), (6, {"id": "b", "note": ""})]


def test_an_unknown_kind_has_a_nearest_one(desk: Desk) -> None:
    with pytest.raises(QuestionError, match="did you mean 'wheel'"):
        desk.read("wheeel")


def test_a_file_that_is_not_there_yet_is_made(desk: Desk) -> None:
    desk.map.write_text(MAP.replace("wheels/oddmoor.yaml", "new/deep/file.yaml"))
    desk.file.unlink()
    desk.read().write()
    assert set(load(desk.folder).parts) == {"wheel-f15", "wheel-f17"}


def test_comments_alone_are_kept_too() -> None:
    text = with_parts("a.yaml", "# only words\n", {"x": {"kind": "item", "name": "X"}})
    assert text == "# only words\nparts:\n  x:\n    kind: item\n    name: X\n"


WORDS = st.text("abc 019.:#-'\"{}[]&*!|>%@`,\\é", min_size=1, max_size=12).map(str.strip)


@example({"a": ": *", "b": ": 0"})
@example({"a": "- x: #1", "b": "\\"})
@given(st.dictionaries(st.sampled_from("abcd"), WORDS.filter(bool), min_size=1))
@settings(max_examples=150, deadline=None)
def test_any_text_survives_and_the_second_time_changes_nothing(names: dict[str, str]) -> None:
    parts = {key: {"kind": "item", "name": name} for key, name in names.items()}
    once = with_parts("a.yaml", "parts:\n  a: {kind: item, name: Old}  # mine\n", parts)
    assert with_parts("a.yaml", once, parts) == once
    assert "# mine" in once or "a" in names
