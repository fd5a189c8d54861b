"""A newer catalogue is examined aside, then served by every worker; a bad one is refused."""

from __future__ import annotations

import json
import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from api import examine as examining
from api.app import create_app
from api.current import current_of
from api.examine import NotServable, examine
from api.follow import Follower
from api.notice import Notice, posted
from api.reload import MOST_SAID, Reloader, looks_of
from kb.catalogue import load
from tests.support.running import Running

LAMP = """
catalog: {{name: Shop}}
vehicles:
  tern: {{name: Tern, years: 2015, variants: {{p: {{name: P, engine: a}}}}, places: {{lamp: {{}}}}}}
parts:
  lamp: {{kind: item, name: Lamp, price: {price}, takes: [lamp], fits: [{{vehicles: [tern]}}]}}
"""
IMPOSSIBLE = "kits:\n  lit: {vehicle: tern, picks: [lamp], outcome: impossible}\n"
"""A remembered kit that is not so: an error of the audit."""


def write(folder: Path, price: str = "5.00 EUR", more: str = "") -> Path:
    """Put a catalogue in place in one step, as a careful deployment does."""
    folder.mkdir(exist_ok=True)
    draft = folder / ".draft"
    draft.write_text(LAMP.format(price=price) + more)
    os.replace(draft, folder / "all.yaml")
    return folder


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return write(tmp_path / "shop")


@pytest.fixture
def home(tmp_path: Path) -> Path:
    (tmp_path / "home").mkdir()
    return tmp_path / "home"


# -- examined aside ------------------------------------------------------------------------------


def test_a_sound_catalogue_is_a_candidate(shop: Path, home: Path) -> None:
    found = examine(shop, home)
    assert (found.digest, found.parts, found.audited) == (load(shop).digest, 1, True)
    assert found.snapshot.exists()


@pytest.mark.parametrize(("more", "said"), [
    ("nonsense: 1\n", "all.yaml:7: unknown section 'nonsense'"),
    (IMPOSSIBLE, "all.yaml:8"),
])
def test_a_bad_one_is_refused_with_the_reasons(
    tmp_path: Path, home: Path, more: str, said: str
) -> None:
    with pytest.raises(NotServable) as refused:
        examine(write(tmp_path / "bad", more=more), home)
    assert any(problem.startswith(said) for problem in refused.value.problems)


def test_a_folder_that_is_gone_is_refused(tmp_path: Path, home: Path) -> None:
    with pytest.raises(NotServable, match="no such folder"):
        examine(tmp_path / "gone", home)


def test_without_room_for_the_snapshot_it_is_refused(shop: Path, tmp_path: Path) -> None:
    (tmp_path / "full").write_text("a file where a folder should be")
    with pytest.raises(NotServable, match="is there room"):
        examine(shop, tmp_path / "full")


def test_reading_without_end_is_given_up(shop: Path, home: Path) -> None:
    with pytest.raises(NotServable, match=r"not read in 0\.001 s"):
        examine(shop, home, read_seconds=0.001)


def test_an_audit_without_end_does_not_keep_a_catalogue_out(shop: Path, home: Path) -> None:
    assert not examine(shop, home, audit_seconds=0).audited


# -- in charge -----------------------------------------------------------------------------------


@pytest.fixture
def reloader(shop: Path, home: Path) -> Reloader:
    return Reloader(shop, load(shop).digest, home, None)


def test_a_newer_catalogue_is_put_up_with_its_snapshot(
    reloader: Reloader, shop: Path, home: Path
) -> None:
    write(shop, price="6.00 EUR")
    reloader.reload()
    notice = posted(home)
    assert notice.digest == load(shop).digest
    assert notice.snapshot is not None
    assert notice.snapshot.parent == home


def test_only_the_last_two_snapshots_are_kept(reloader: Reloader, shop: Path, home: Path) -> None:
    for price in range(1, 4):
        write(shop, price=f"{price}.50 EUR")
        reloader.reload()
    assert len(list(home.glob("*.snapshot"))) == 2
    assert posted(home).snapshot in home.glob("*.snapshot")


def test_a_refusal_is_put_up_beside_what_is_still_served(
    reloader: Reloader, shop: Path, home: Path
) -> None:
    before = posted(home)
    write(shop, more="".join(f"x{i}: 1\n" for i in range(MOST_SAID + 5)))
    reloader.reload()
    after = posted(home)
    assert (after.digest, after.snapshot) == (before.digest, before.snapshot)
    assert after.refused is not None
    assert len(after.refused.problems) == MOST_SAID + 1
    assert after.refused.problems[-1] == "and 5 more"
    write(shop)
    reloader.reload()
    assert posted(home) == before


def test_a_fault_of_ours_is_a_refusal_and_the_next_reload_goes_well(
    reloader: Reloader, shop: Path, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(shop, price="6.00 EUR")
    with monkeypatch.context() as broken:
        broken.setattr("api.reload.examine", _break)
        reloader.reload()
    refused = posted(home).refused
    assert refused is not None
    assert refused.problems == ("ZeroDivisionError: of ours",)
    reloader.reload()
    assert posted(home).digest == load(shop).digest


def _break(*_: object) -> None:
    raise ZeroDivisionError("of ours")


def test_the_audit_can_be_left_out(shop: Path, home: Path) -> None:
    reloader = Reloader(shop, load(shop).digest, home, None, audit=False)
    write(shop, more=IMPOSSIBLE)
    reloader.reload()
    assert posted(home).digest == load(shop).digest


def test_a_process_that_dies_while_it_reads_is_a_refusal(
    reloader: Reloader, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(examining, "_examine", _die)
    reloader.reload()
    refused = posted(home).refused
    assert refused is not None
    assert "without a word" in refused.problems[0]


def _die(*_: object) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def test_changed_files_are_seen_whatever_way_they_change(shop: Path, tmp_path: Path) -> None:
    seen = [looks_of(shop)]
    write(shop)
    seen.append(looks_of(shop))
    (shop / "more.yaml").write_text("parts: {}\n")
    seen.append(looks_of(shop))
    shop.rename(tmp_path / "elsewhere")
    seen.append(looks_of(shop))
    assert len(set(seen)) == 4
    assert seen[-1] == ()


# -- in a worker ---------------------------------------------------------------------------------


@pytest.fixture
def follower(shop: Path, reloader: Reloader, home: Path) -> Follower:
    return Follower(create_app(shop), home, os.getppid())


def digest_of(follower: Follower) -> str:
    return current_of(follower.app).served.catalogue.digest


def test_a_worker_follows(follower: Follower, reloader: Reloader, shop: Path) -> None:
    write(shop, price="6.00 EUR")
    reloader.reload()
    follower.look()
    assert digest_of(follower) == load(shop).digest
    write(shop, more="nonsense: 1\n")
    reloader.reload()
    follower.look()
    ready = follower.app.test_client().get("/readyz")
    assert ready.status_code == 200
    assert ready.json["catalog"]["digest"] == reloader.notice.digest
    assert "unknown section 'nonsense'" in ready.json["refused"]["problems"][0]


@pytest.mark.parametrize("content", [None, b"", b"{"])
def test_a_worker_goes_on_without_a_notice(
    follower: Follower, home: Path, caplog: pytest.LogCaptureFixture, content: bytes | None
) -> None:
    before = digest_of(follower)
    (home / "notice.json").unlink()
    if content is not None:
        (home / "notice.json").write_bytes(content)
    follower.look()
    follower.look()
    assert digest_of(follower) == before
    assert len(caplog.records) == 1


def test_a_damaged_snapshot_is_not_served_and_a_whole_one_is_once_it_is_there(
    follower: Follower, reloader: Reloader, shop: Path
) -> None:
    before = digest_of(follower)
    write(shop, price="6.00 EUR")
    reloader.reload()
    path = reloader.notice.snapshot
    assert path is not None
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b"6.00", b"0.06"))
    follower.look()
    assert digest_of(follower) == before
    path.write_bytes(whole)
    follower.look()
    assert digest_of(follower) == load(shop).digest


def test_a_notice_survives_its_file(home: Path) -> None:
    notice = Notice(digest="abc", snapshot=home / "abc.snapshot")
    notice.post(home)
    assert posted(home) == notice
    assert json.loads((home / "notice.json").read_text())["digest"] == "abc"


# -- the whole server ----------------------------------------------------------------------------


@pytest.fixture
def running(shop: Path, tmp_path: Path) -> Iterator[Running]:
    with Running(shop, "--watch", log=tmp_path / "log") as server:
        yield server.wait()


def served(running: Running) -> set[str]:
    """The digests that a number of connections get, spread over the workers."""
    return {running.ask("/readyz")[1]["catalog"]["digest"] for _ in range(12)}


def test_every_worker_takes_what_hang_up_and_changed_files_bring(
    running: Running, shop: Path
) -> None:
    write(shop, price="6.00 EUR")
    running.hang_up()
    running.until(lambda: served(running) == {load(shop).digest}, "every worker has the new one")
    write(shop, price="7.00 EUR")  # nobody says so: the files are watched
    running.until(lambda: served(running) == {load(shop).digest}, "the change is seen")
    good = load(shop).digest
    write(shop, more=IMPOSSIBLE)
    running.hang_up()
    running.until(lambda: "reload refused" in running.said, "the log tells of the refusal")
    running.until(lambda: bool(running.ask("/readyz")[1]["refused"]), "so does /readyz")
    assert served(running) == {good}
    assert running.stop().count("Traceback") == 0
    assert running.process.returncode == 0
