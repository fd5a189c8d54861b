"""YAML becomes maps, lists and texts that remember their line; whatever is not that is refused."""

from __future__ import annotations

import os
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.catalogue import load, load_texts
from kb.errors import CatalogueError, Problem
from kb.reading import (
    MAX_DEPTH,
    MAX_FILE_BYTES,
    MAX_SCALAR,
    Map,
    catalogue_files,
    line_of,
    read_ordinary,
    read_yaml,
)


def read(text: str) -> tuple[Map | None, list[str]]:
    problems: list[Problem] = []
    top = read_yaml("x.yaml", text, problems)
    return top, [str(problem) for problem in problems]


def test_every_scalar_stays_text() -> None:
    top, problems = read("a: 1e3\nb: no\nc: 4:30\nd: 2016-01-01\ne: 0x1F\nf: .nan\ng: 1_000\n")
    assert problems == []
    assert top == {"a": "1e3", "b": "no", "c": "4:30", "d": "2016-01-01", "e": "0x1F",
                   "f": ".nan", "g": "1_000"}


def test_nothing_is_nothing_unless_it_is_quoted() -> None:
    top, _ = read("a:\nb: ~\nc: null\nd: ''\ne: '~'\nf: 'null'\n")
    assert top == {"a": None, "b": None, "c": None, "d": "", "e": "~", "f": "null"}


def test_every_step_knows_its_line() -> None:
    top, _ = read("parts:\n  a:\n    takes:\n      - x\n      - y\n  b: {\n    kind: c}\n")
    assert line_of(top, ("parts",)) == 1
    assert line_of(top, ("parts", "a", "takes", 1)) == 5
    assert line_of(top, ("parts", "b", "kind")) == 7
    assert line_of(top, ("parts", "a", "takes", 1, "deeper")) == 5, "the deepest step that exists"
    assert line_of(top, ("parts", "a", "nothing")) == 2


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_lines_count_alike_whatever_ends_them(end: str) -> None:
    top, problems = read(f"a: 1{end}b: 2{end}b: 3{end}")
    assert problems == ["x.yaml:3: 'b' stands twice in one mapping (first on line 2)"]
    assert line_of(top, ("a",)) == 1


def test_all_duplicates_are_reported_at_once() -> None:
    _, problems = read("a: 1\na: 2\nb: {c: 1, c: 2}\na: 3\n")
    assert [problem.partition(" ")[0] for problem in problems] == [
        "x.yaml:2:", "x.yaml:3:", "x.yaml:4:"
    ]


def test_an_alias_bomb_is_refused_without_being_unfolded() -> None:
    names = [f"k{i}" for i in range(20)]
    text = "k0: &k0 [x, x]\n" + "".join(
        f"{b}: &{b} [*{a}, *{a}, *{a}, *{a}, *{a}, *{a}, *{a}, *{a}]\n"
        for a, b in pairwise(names)
    )
    top, problems = read(text)
    assert top is None
    assert problems[0] == "x.yaml:1: anchors are not part of the catalogue language"


def test_depth_is_bounded_before_anything_is_built() -> None:
    deepest = "a: " + "[" * (MAX_DEPTH - 1) + "]" * (MAX_DEPTH - 1)
    assert read(deepest)[1] == []
    assert read("a: " + "[" * MAX_DEPTH)[1] == [
        f"x.yaml:1: nested too deep; expected at most {MAX_DEPTH} levels"
    ]
    [said] = read("a: " + "[" * 1_000_000)[1]
    assert "nest" in said, "libyaml has a limit of its own, which it may reach first"


def test_the_length_of_a_text_is_bounded() -> None:
    assert read(f"a: {'x' * MAX_SCALAR}")[1] == []
    top, problems = read(f"a: 1\nb: {'x' * (MAX_SCALAR + 1)}")
    assert top is None
    assert problems == [f"x.yaml:2: a text of {MAX_SCALAR + 1} characters; "
                        f"expected at most {MAX_SCALAR}"]


@pytest.mark.slow
def test_a_text_of_a_hundred_megabytes_is_refused_and_so_is_a_larger_file(tmp_path: Path) -> None:
    huge = tmp_path / "huge.yaml"
    huge.write_text(f"a: 1\nb: {'x' * (100 * 2**20)}\n")
    with pytest.raises(CatalogueError) as caught:
        load(tmp_path)
    assert str(caught.value) == (
        f"huge.yaml:2: a text of {100 * 2**20} characters; expected at most {MAX_SCALAR}")
    with huge.open("ab") as larger:
        larger.truncate(MAX_FILE_BYTES + 1)  # a hole: it takes no room on the disk
    with pytest.raises(CatalogueError, match=r"huge\.yaml: the file is too large"):
        load(tmp_path)


def test_a_forbidden_character_is_found_on_its_line_after_letters_of_several_bytes() -> None:
    assert read("a: ééééééé\nb: ééééé\nc: \x01\n")[1] == [
        "x.yaml:3: a character that YAML does not allow"
    ]
    assert read("a: 1\nb: \ud800\n")[1] == ["x.yaml:2: a character that YAML does not allow"]


SCRAPS = (
    "a", "b:", "c: d", "- ", "-", "{", "}", "[", "]", ",", ": ", "? ", "x: {y: [z, ~]}", "null",
    "'~'", "&n ", "*n", "!t ", "! ", "<<: ", "---", "...", "# said", "|", ">", '"e: f"', "\n",
    "\n  ", "\n    ", "\t", "x" * (MAX_SCALAR + 1), "[" * MAX_DEPTH,
)


@given(st.lists(st.sampled_from(SCRAPS), max_size=12).map("".join))
@settings(max_examples=1500, deadline=None)
def test_the_short_way_reads_as_the_long_way_or_not_at_all(text: str) -> None:
    quick = read_ordinary(text)
    if quick is not None:
        assert (quick, []) == read(text)
        assert {key: line_of(quick, (key,)) for key in quick} == quick.lines


def test_the_short_way_is_the_way_of_a_catalogue() -> None:
    text = "# ours\nparts:\n  a: {kind: item, takes: [x, ~]}\n\n  b:\n    kind: |\n      x\n"
    quick, slow = read_ordinary(text), read(text)[0]
    assert quick is not None
    assert slow is not None
    assert quick == slow
    assert quick.lines == slow.lines == {"parts": 2}
    assert quick["parts"].lines == slow["parts"].lines == {"a": 3, "b": 5}


# -- folders -----------------------------------------------------------------------------------

PART = "parts:\n  washer: {kind: washer, name: Washer}\n"


def names_in(folder: Path) -> list[str]:
    return [
        str(found) if isinstance(found, Problem) else name
        for name, found in catalogue_files(folder)
    ]


def test_any_layout_in_path_order_and_only_yaml(tmp_path: Path) -> None:
    for name in ("b.yaml", "a/z.yml", "a/b/c.YAML", "notes.txt", ".hidden/x.yaml", "a/.y.yaml"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(PART)
    assert names_in(tmp_path) == ["a/b/c.YAML", "a/z.yml", "b.yaml"]


def test_links_may_not_leave_the_folder(tmp_path: Path) -> None:
    folder, outside = tmp_path / "catalogue", tmp_path / "elsewhere"
    folder.mkdir()
    outside.mkdir()
    (outside / "parts.yaml").write_text(PART)
    (folder / "inside.yaml").write_text(PART)
    (folder / "again.yaml").symlink_to("inside.yaml")
    (folder / "file.yaml").symlink_to(outside / "parts.yaml")
    (folder / "folder").symlink_to(outside, target_is_directory=True)
    (folder / "gone.yaml").symlink_to("nowhere.yaml")
    (folder / "loop.yaml").symlink_to("loop.yaml")
    assert names_in(folder) == [
        "again.yaml",
        "file.yaml: the link leaves the catalogue folder",
        "folder: the link leaves the catalogue folder",
        "gone.yaml: not a readable file",
        "inside.yaml",
        "loop.yaml: the link leads to itself",
    ]


def test_the_catalogue_folder_may_itself_be_a_link(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "real" / "parts.yaml").write_text(PART)
    (tmp_path / "link").symlink_to("real", target_is_directory=True)
    assert set(load(tmp_path / "link").parts) == {"washer"}


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.yaml")
    (tmp_path / "folder.yaml").mkdir()
    (tmp_path / "folder.yaml" / "parts.yaml").write_text(PART)
    assert names_in(tmp_path) == ["folder.yaml/parts.yaml", "pipe.yaml: not a readable file"]


def test_a_folder_that_cannot_be_read_is_no_empty_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "parts.yaml").write_text(PART)
    (tmp_path / "secret").mkdir()
    real = os.scandir

    def scandir(path: str) -> object:
        if str(path).endswith("secret"):
            raise PermissionError(13, "Permission denied", str(path))
        return real(path)

    monkeypatch.setattr(os, "scandir", scandir)  # the tests may run as root, whom nothing stops
    with pytest.raises(CatalogueError, match=r"secret: the folder cannot be read \(Permission"):
        load(tmp_path)


def test_a_name_that_is_not_utf_8_can_still_be_printed(tmp_path: Path) -> None:
    Path(os.fsdecode(os.fsencode(tmp_path) + b"/r\xf6hre.yaml")).write_text("parts: [")
    with pytest.raises(CatalogueError) as caught:
        load(tmp_path)
    str(caught.value).encode()


def test_no_folder_and_no_file_are_said(tmp_path: Path) -> None:
    with pytest.raises(CatalogueError, match="no such folder"):
        load(tmp_path / "nowhere")
    with pytest.raises(CatalogueError, match="no catalogue here; expected files ending in"):
        load(tmp_path)


def test_an_empty_file_beside_good_ones_is_not_passed_over(tmp_path: Path) -> None:
    (tmp_path / "parts.yaml").write_text(PART)
    (tmp_path / "comments.yaml").write_text("# nothing yet\n")
    assert set(load(tmp_path).parts) == {"washer"}
    (tmp_path / "torn.yaml").write_text("")
    with pytest.raises(CatalogueError, match=r"torn\.yaml: the file is empty"):
        load(tmp_path)


# -- anything at all ---------------------------------------------------------------------------

WORDS = st.sampled_from([
    "parts", "vehicles", "work", "rules", "trials", "catalog", "limits", "kind", "name", "wheel",
    "requires", "facts", "about", "hub", "match", "equals", "own", "each", "when", "dimensions",
    "variants", "places", "fitted", "years", "2016", "4", "35 mm", "&a", "*a", "!!int", "\t", "",
])
NEARLY_YAML = st.lists(
    WORDS | st.sampled_from([": ", "\n", "\n  ", "\n    ", "- ", "{", "}", "[", "]", ", ", "'"]),
    max_size=40,
).map("".join)


@given(st.text(max_size=200) | NEARLY_YAML)
@settings(max_examples=200, deadline=None)
def test_any_text_is_read_or_refused_with_its_line(text: str) -> None:
    top, problems = read(text)
    assert top is not None or problems
    assert all(problem.isprintable() for problem in problems)


SCALARS = st.text(max_size=12) | WORDS
TREES = st.recursive(
    SCALARS | st.none(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(SCALARS, inner, max_size=4),
    max_leaves=25,
)


def as_yaml(value: object) -> str:
    """A tree as flow YAML, every text quoted."""
    if value is None:
        return "~"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{as_yaml(k)}: {as_yaml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_yaml, value)) + "]"
    return '"' + "".join(c if c.isalnum() and c < "\x80" else f"\\U{ord(c):08x}" for c in
                         str(value)) + '"'


SECTION = st.sampled_from([
    "catalog", "limits", "vehicles", "parts", "work", "rules", "trials", "kits",
])
FIELDS = {
    "parts": {"kind": "wheel", "name": "x"},
    "vehicles": {"name": "x", "years": "2016", "variants": {"v": {"name": "x", "engine": "e"}}},
    "work": {"name": "x", "effect": "x", "minutes": "5 min", "reversible": "true"},
    "rules": {"then_any": [{"kind": "wheel"}]},
    "trials": {"parts": ["a"], "verdict": "fits"},
    "kits": {"vehicle": "x", "picks": ["a"], "outcome": "complete"},
}
NAMES = {
    "parts": ["dimensions", "takes", "pack", "contents", "fits", "requires", "conflicts", "work"],
    "vehicles": ["variants", "places", "equipment", "fitted", "facts"],
    "work": ["on", "relieves", "requires", "conflicts"],
    "rules": ["on", "when", "then_any", "each"],
    "trials": ["on", "work", "check", "verdict"],
    "kits": ["variant", "year", "picks", "on_hand", "parts", "price"],
}


@given(st.data())
@settings(max_examples=200, deadline=None)
def test_any_tree_is_a_catalogue_or_refused_in_words(data: st.DataObject) -> None:
    section = data.draw(SECTION)
    entry = dict(FIELDS.get(section, {"name": "x"}))
    for name in data.draw(st.lists(st.sampled_from(NAMES.get(section, ["name"])), max_size=2)):
        entry[name] = data.draw(TREES)
    body = entry if section in ("catalog", "limits") else {"a": entry}
    try:
        load_texts({"x.yaml": as_yaml({section: body})})
    except CatalogueError as error:
        for problem in error.problems:
            assert str(problem).isprintable()
            assert not problem.message.startswith(("input ", "value ")), "pydantic's own words"
