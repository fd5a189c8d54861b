"""Commands read a large catalogue once; a cache never stands in the way."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from api.cli import main
from api.loading import CACHE_VARIABLE, cache_folder
from tests.bench.packages import package_texts

LARGE = package_texts(2500)
SMALL = package_texts(20)


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(CACHE_VARIABLE, str(tmp_path / "cache"))
    return tmp_path / "cache"


def said(folder: Path, texts: dict[str, str]) -> str:
    folder.mkdir(exist_ok=True)
    for name, text in texts.items():
        (folder / name).write_text(text)
    done = CliRunner().invoke(main, ["vehicles", "--catalog", str(folder)])
    assert done.exit_code == 0, done.output
    return done.output


def test_a_large_catalogue_leaves_a_snapshot_and_is_read_from_it(
    tmp_path: Path, cache: Path,
) -> None:
    first = said(tmp_path / "large", LARGE)
    [snapshot] = cache.iterdir()
    made = snapshot.stat().st_ino
    assert said(tmp_path / "large", LARGE) == first
    assert [path.stat().st_ino for path in cache.iterdir()] == [made], "it was not made anew"


def test_a_small_catalogue_leaves_nothing(tmp_path: Path, cache: Path) -> None:
    said(tmp_path / "small", SMALL)
    assert not cache.exists()


def test_the_cache_can_be_switched_off(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "home"))
    monkeypatch.setenv(CACHE_VARIABLE, "")
    said(tmp_path / "large", LARGE)
    assert not (tmp_path / "home").exists()


def test_a_cache_that_cannot_be_made_is_no_trouble(tmp_path: Path, cache: Path) -> None:
    cache.write_text("a file where the folder should be")
    assert "Host" in said(tmp_path / "large", LARGE)


def test_where_snapshots_are_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(CACHE_VARIABLE, raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert cache_folder() == tmp_path / "kitwright"
    monkeypatch.setenv("XDG_CACHE_HOME", "relative/is/to/be/ignored")
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    assert cache_folder() == tmp_path / "home" / ".cache" / "kitwright"
