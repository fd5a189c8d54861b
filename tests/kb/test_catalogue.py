"""The catalogue as a whole: one digest, nothing to change, nothing half loaded."""

from __future__ import annotations

import gc
import pickle
import random
import shutil
import subprocess
import sys
from dataclasses import FrozenInstanceError
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from kb.catalogue import Catalogue, load, load_texts
from kb.errors import CatalogueError, nearest_name
from tests.kb.helpers import EXAMPLE, ROOT, catalogue, problems


@pytest.fixture(scope="module")
def example() -> Catalogue:
    return load(EXAMPLE)


# -- digest ------------------------------------------------------------------------------------


def entries() -> list[tuple[str, str, dict[str, object]]]:
    """Every entry of the example, with every scalar as text, as the reader has it."""
    found = []
    for path in sorted(EXAMPLE.rglob("*.yaml")):
        for section, body in yaml.load(path.read_text(), yaml.BaseLoader).items():
            single = section in ("catalog", "limits")
            found += [(section, "", body)] if single else [(section, k, v) for k, v in body.items()]
    return found


def shuffled(value: object, dice: random.Random) -> object:
    """The same tree with the keys of every mapping in another order."""
    if isinstance(value, dict):
        keys = list(value)
        dice.shuffle(keys)
        return {key: shuffled(value[key], dice) for key in keys}
    return [shuffled(item, dice) for item in value] if isinstance(value, list) else value


ENTRIES = entries()


@given(st.randoms(use_true_random=False))
@settings(max_examples=25, deadline=None)
def test_the_digest_does_not_depend_on_layout_or_order(dice: random.Random) -> None:
    files: dict[str, dict[str, dict[str, object]]] = {}
    for section, key, entry in ENTRIES:
        body = files.setdefault(f"{dice.randrange(4)}.yaml", {})
        changed = shuffled(entry, dice)
        if key:
            body.setdefault(section, {})[key] = changed
        else:
            body[section] = changed  # type: ignore[assignment]
    texts = {name: yaml.dump(body, sort_keys=False) for name, body in files.items()}
    assert load_texts(texts).digest == load(EXAMPLE).digest


def test_the_digest_changes_with_any_content(tmp_path: Path, example: Catalogue) -> None:
    seen = {example.digest}
    for old, new in [
        ("148.00 EUR", "149.00 EUR"), ("each: 4", "each: 5"), ("4 x 100", "4 x 108"),
        ("ask the maker", "ask the importer"), ("kb16", "kb17"), ("y: 0.2 mm", "y: 0.3 mm"),
    ]:
        copy = tmp_path / str(len(seen))
        shutil.copytree(EXAMPLE, copy)
        for path in copy.rglob("*.yaml"):
            path.write_text(path.read_text().replace(old, new))
        digest = load(copy).digest
        assert digest not in seen, f"{old} -> {new} was not noticed"
        seen.add(digest)


def test_comments_and_quotes_are_no_content(tmp_path: Path, example: Catalogue) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(EXAMPLE, copy)
    shop = copy / "shop.yaml"
    shop.write_text("# another remark\n" + shop.read_text().replace("66.00 EUR", '"66.00 EUR"'))
    assert load(copy).digest == example.digest


# -- nothing to change -------------------------------------------------------------------------


def test_nothing_in_a_catalogue_can_be_changed(example: Catalogue) -> None:
    part = example.parts["wheel-corrie-15"]
    with pytest.raises(FrozenInstanceError):
        example.digest = "0"  # type: ignore[misc]
    with pytest.raises(TypeError):
        example.parts["x"] = part  # type: ignore[index]
    with pytest.raises(ValidationError, match="frozen"):
        part.name = "Other"  # type: ignore[misc]
    with pytest.raises(TypeError, match="cannot be changed"):
        example.parts["911"].contents["x"] = 1  # type: ignore[assignment]
    with pytest.raises(TypeError, match="cannot be changed"):
        example.vehicles["plover"].places.clear()
    with pytest.raises(TypeError, match="cannot be changed"):
        part.requires[1].match |= {}
    with pytest.raises(FrozenInstanceError):
        part.dimensions.offset.value = 1  # type: ignore[attr-defined]


def test_a_catalogue_travels_to_another_process(example: Catalogue) -> None:
    program = (
        "import pickle, sys; c = pickle.load(sys.stdin.buffer);"
        "print(c.digest, c.caches, hash(c.parts['911']) == hash(c.parts['911']),"
        "c.vehicles['plover'].facts[0].spigot)"
    )
    example.caches["derived"] = lambda: "cannot travel"
    sent = pickle.dumps(example)
    del example.caches["derived"]
    done = subprocess.run(
        [sys.executable, "-c", program], input=sent, capture_output=True, check=True, cwd=ROOT
    )
    assert done.stdout.decode().strip() == f"{example.digest} {{}} True 56.1 ± 0.05 mm"
    again = pickle.loads(sent)
    assert again.parts == example.parts
    assert again.vehicles == example.vehicles


def test_entries_stand_in_order_of_their_ids(example: Catalogue) -> None:
    assert list(example.parts) == sorted(example.parts)
    assert list(example.origins) == sorted(example.origins)


# -- where things stand ------------------------------------------------------------------------


def test_every_entry_knows_where_it_is_written(example: Catalogue) -> None:
    text = (EXAMPLE / "parts/wheels.yaml").read_text().splitlines()
    origin = example.origins["parts", "wheel-corrie-15"]
    assert origin.file == "parts/wheels.yaml"
    assert text[origin.line - 1] == "  wheel-corrie-15:"
    assert str(origin) == f"parts/wheels.yaml:{origin.line}"


def test_an_id_may_look_like_a_number(example: Catalogue) -> None:
    assert example.parts["911"].name == "911"
    assert example.vehicles["2048"].years.first == 2016


def test_defaults_are_stated_in_one_place() -> None:
    bare = catalogue("parts: {a: {kind: item, name: A}}")
    assert bare.header.name == "unnamed"
    assert str(bare.limits.bore_play) == "0.2 mm"
    assert str(bare.parts["a"].pack) == "1"
    assert bare.parts["a"].orderable


# -- all or nothing ----------------------------------------------------------------------------


def test_one_mistake_among_many_entries_means_no_catalogue() -> None:
    sound = "parts:\n" + "".join(f"  p{i}: {{kind: item, name: P{i}}}\n" for i in range(50))
    assert problems(sound) == []
    assert problems(sound, "parts: {last: {kind: item, name: L, pack: 0}}") == [
        "1.yaml:1: parts 'last': pack: '0' is nothing; expected an amount, such as '4' or '0.5 L'"
    ]


def test_hints_cannot_make_a_big_broken_catalogue_slow(monkeypatch: pytest.MonkeyPatch) -> None:
    count = 500
    monkeypatch.setattr("kb.names.HINT_WORK", 10 * count)
    parts = "".join(
        f"  part-{i}: {{kind: item, name: P, requires: [{{part: prat-{i}}}]}}\n"
        for i in range(count)
    )
    said = problems("parts:\n" + parts)
    assert len(said) == count, "every dangling name is reported"
    assert ["did you mean" in line for line in said[:11]] == [True] * 10 + [False]


def test_reading_leaves_the_garbage_collector_as_it_was() -> None:
    assert gc.isenabled()
    catalogue("parts: {a: {kind: item, name: A}}")
    assert gc.isenabled()
    with pytest.raises(CatalogueError):
        catalogue("parts: {a: 1}")
    assert gc.isenabled()


def test_the_nearest_name_is_always_the_same_one() -> None:
    assert nearest_name("wheel-corie-16", ["tyre", "wheel-corrie-16", "wheel-corrie-15"]) \
        == "wheel-corrie-16"
    assert nearest_name("part-x", {f"part-{i}" for i in range(9)}) == "part-8", "the last of ties"
    assert nearest_name("gearbox", ["wheel", "tyre"]) == ""
    assert nearest_name("", ["wheel"]) == ""
