"""A snapshot gives the very catalogue that the YAML gives, or is passed over."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from hashlib import blake2b
from pathlib import Path

import pytest

from api.asking import demo_folder
from kb import snapshot
from kb.catalogue import Catalogue, load
from kb.errors import CatalogueError
from kb.snapshot import load_cached
from rules.answers import Item, Question
from rules.resolve import package
from tests.bench.shop import shop_texts

SHOP = {"shop.yaml": "catalog: {name: Small}\nparts:\n  a: {kind: item, name: Größe A}\n"}


def written(folder: Path, texts: dict[str, str]) -> Path:
    for name, text in texts.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return written(tmp_path / "shop", SHOP)


@pytest.fixture
def cache(tmp_path: Path) -> Path:
    return tmp_path / "cache"


@pytest.fixture
def reads(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Notes each time a catalogue is read from YAML."""
    noted: list[str] = []
    whole = snapshot.read_whole

    def watched(where: str, *rest: object) -> object:
        noted.append(where)
        return whole(where, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(snapshot, "read_whole", watched)
    return noted


def only(cache: Path) -> Path:
    [path] = cache.iterdir()
    return path


def same(one: Catalogue, other: Catalogue) -> bool:
    sections = ("header", "limits", "vehicles", "parts", "work", "rules", "trials", "kits",
                "origins", "digest")
    return all(getattr(one, name) == getattr(other, name) for name in sections)


def test_the_demo_comes_back_whole_without_its_yaml_being_read(
    cache: Path, reads: list[str]
) -> None:
    plain = load(demo_folder())
    assert same(load_cached(demo_folder(), cache), plain)
    assert same(load_cached(demo_folder(), cache), plain)
    assert len(reads) == 1
    assert list(plain.parts) == list(load_cached(demo_folder(), cache).parts)


def test_answers_are_the_same_from_a_snapshot(tmp_path: Path, cache: Path) -> None:
    folder = written(tmp_path / "bench", shop_texts(300, 2))
    load_cached(folder, cache)
    part = next(key for key, part in load(folder).parts.items() if part.kind == "caliper"
                and part.orderable)
    question = Question(vehicle="car0000", variant="a", picks=(Item(part=part),))
    assert package(load_cached(folder, cache), question) == package(load(folder), question)


def cut_short(content: bytes) -> bytes:
    return content[:-7]


def one_bit_turned(content: bytes) -> bytes:
    middle = content.index(b"Gr")
    return content[:middle] + bytes([content[middle] ^ 1]) + content[middle + 1:]


def no_longer_json(content: bytes) -> bytes:
    return b"\x80\x04" + content


def emptied(content: bytes) -> bytes:
    return b""


def of_another_key(content: bytes) -> bytes:
    header, _, body = content.partition(b"\n")
    return json.dumps({**json.loads(header), "key": "0" * 40}).encode() + b"\n" + body


def forged(index: object, body: object = None) -> Callable[[bytes], bytes]:
    """What follows the header of someone's own making, with the right checksum."""
    def forge(content: bytes) -> bytes:
        stated = json.loads(content.partition(b"\n")[0])
        raw = json.dumps(index).encode() + b"\n" + json.dumps(body).encode()
        stated["checksum"] = blake2b(raw, digest_size=32).hexdigest()
        return json.dumps(stated).encode() + b"\n" + raw
    return forge


@pytest.mark.parametrize("harm", [
    cut_short, one_bit_turned, no_longer_json, emptied, of_another_key,
    forged([]), forged({"parts": [["a"]]}), forged({"secrets": [["a", "f", 1, 0, 2]]}, {}),
    forged({"catalog": [["catalog", "f", 1, 0, 2]]}, {}),
    forged({"parts": {"a": None}}), forged(7),
])
def test_a_snapshot_that_was_harmed_is_made_anew(
    shop: Path, cache: Path, reads: list[str], harm: Callable[[bytes], bytes]
) -> None:
    load_cached(shop, cache)
    good = only(cache).read_bytes()
    only(cache).write_bytes(harm(good))
    assert same(load_cached(shop, cache), load(shop))
    assert len(reads) == 2, "it was read from YAML again"
    assert only(cache).read_bytes() == good


def test_an_entry_that_is_not_sound_is_refused_when_it_is_asked_for(
    shop: Path, cache: Path
) -> None:
    """Only someone who may write the owner's files can have made such a snapshot."""
    load_cached(shop, cache)
    entry = {"kind": "item", "name": "A", "owner": "x"}
    forge = forged({"parts": [["a", "f", 1, 0, len(json.dumps(entry))]]}, entry)
    only(cache).write_bytes(forge(only(cache).read_bytes()))
    with pytest.raises(CatalogueError, match=r"a snapshot whose parts are not sound.*removed"):
        load_cached(shop, cache).parts["a"]


@pytest.mark.parametrize("mode", [0o620, 0o602])
def test_a_snapshot_that_others_may_write_is_passed_over(
    shop: Path, cache: Path, reads: list[str], mode: int
) -> None:
    load_cached(shop, cache)
    only(cache).chmod(mode)
    load_cached(shop, cache)
    assert len(reads) == 2
    assert only(cache).stat().st_mode & 0o777 == 0o600


def test_a_snapshot_of_another_user_is_passed_over(
    shop: Path, cache: Path, reads: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    load_cached(shop, cache)
    monkeypatch.setattr(os, "geteuid", lambda: 77)
    load_cached(shop, cache)
    assert len(reads) == 2


def test_a_changed_text_is_read_and_an_older_one_is_still_known(
    shop: Path, cache: Path, reads: list[str]
) -> None:
    before = load_cached(shop, cache)
    written(shop, {"shop.yaml": SHOP["shop.yaml"].replace("Größe A", "Other")})
    assert load_cached(shop, cache).parts["a"].name == "Other"
    written(shop, SHOP)
    assert load_cached(shop, cache).digest == before.digest
    assert len(reads) == 2


def test_a_text_that_moves_to_another_file_is_read_anew(shop: Path, cache: Path) -> None:
    load_cached(shop, cache)
    os.rename(shop / "shop.yaml", shop / "renamed.yaml")
    assert load_cached(shop, cache).origins["parts", "a"].file == "renamed.yaml"


def test_other_versions_read_their_own_snapshots_only(
    shop: Path, cache: Path, reads: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    load_cached(shop, cache)
    monkeypatch.setattr(snapshot, "_made_with", lambda: "format 3")
    load_cached(shop, cache)
    assert len(reads) == 2
    assert len(list(cache.iterdir())) == 2


def test_the_version_is_that_of_code_and_libraries() -> None:
    made = snapshot._made_with()
    assert all(name in made for name in ("format 2", "pydantic", "pint", "pyyaml"))
    assert "unknown" not in made


def test_a_faulty_catalogue_is_refused_as_ever_and_leaves_no_snapshot(
    shop: Path, cache: Path
) -> None:
    load_cached(shop, cache)
    written(shop, {"more.yaml": "parts: {b: {kind: item, name: B, requires: [{part: none}]}}"})
    with pytest.raises(CatalogueError, match=r"more\.yaml:1.*there is no part 'none'"):
        load_cached(shop, cache)
    assert len(list(cache.iterdir())) == 1


def test_a_file_that_cannot_be_read_is_a_problem_with_a_snapshot_too(
    shop: Path, cache: Path
) -> None:
    load_cached(shop, cache)
    (shop / "bytes.yaml").write_bytes(b"parts: {\xff}")
    with pytest.raises(CatalogueError, match="not UTF-8"):
        load_cached(shop, cache)


def test_a_cache_that_cannot_be_written_changes_nothing(shop: Path, tmp_path: Path) -> None:
    blocked = tmp_path / "a-file"
    blocked.write_text("in the way")
    assert same(load_cached(shop, blocked), load(shop))
    assert blocked.read_text() == "in the way"


def test_only_the_last_few_snapshots_stay(shop: Path, cache: Path) -> None:
    for i in range(snapshot.OLDER_KEPT + 4):
        written(shop, {"shop.yaml": f"parts: {{a: {{kind: item, name: A{i}}}}}"})
        load_cached(shop, cache)
        newest = max(cache.iterdir(), key=lambda p: p.stat().st_mtime_ns)
        os.utime(newest, (i, i))
    assert len(list(cache.iterdir())) == snapshot.OLDER_KEPT + 1
    assert not [path for path in cache.iterdir() if path.suffix != ".snapshot"]
