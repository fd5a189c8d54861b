"""In the process in charge: takes a newer catalogue when asked to, if it is a good one."""

from __future__ import annotations

import logging
import os
import shutil
import time
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from queue import Empty, SimpleQueue
from textwrap import shorten
from threading import Thread

from api.examine import AUDIT_SECONDS, Candidate, NotServable, examine
from api.notice import Notice, Refusal
from kb.reading import catalogue_files

MOST_SAID, LONGEST_SAID = 10, 300
"""So many problems of a refused catalogue are said, the others counted; so long is each."""

FRESH_SECONDS = 6 * 3600.0
"""So often the files of a server are touched: many systems remove old ones from /tmp."""

WATCH_SECONDS = 1.0
"""Files have changed when they look other than before, and the same twice so far apart."""

log = logging.getLogger("kitwright.serve")


class Reloader(Thread):
    """Examines the catalogue each time it is asked to; asking during that counts once more."""

    def __init__(
        self, folder: Path, digest: str, home: Path, cache_folder: Path | None, audit: bool = True
    ) -> None:
        super().__init__(name="reloader", daemon=True)
        self.folder, self.home, self.audit = folder, home, audit
        self.cache_folder = cache_folder or home / "cache"
        self.notice = Notice(digest=digest)
        self.notice.post(home)
        self._asked: SimpleQueue[None] = SimpleQueue()

    def ask(self, *_: object) -> None:
        """Ask for a reload; may be a signal handler, at any moment."""
        self._asked.put(None)

    def run(self) -> None:
        """Reload whenever asked."""
        while True:
            if self._next():
                self.reload()

    def reload(self) -> None:
        """Examine the catalogue and have it served, or say why not."""
        begun = time.monotonic()
        try:
            found = examine(self.folder, self.cache_folder, AUDIT_SECONDS if self.audit else 0)
            if found.digest == self.notice.digest:
                self._post(self.notice.model_copy(update={"refused": None}))
                log.info("reload: nothing has changed, serving %s", found.digest)
                return
            self._take(found)
            log.info("reload: %s, %d parts, in %.1f s%s", found.digest, found.parts,
                     time.monotonic() - begun, "" if found.audited else ", not audited")
        except NotServable as error:
            self._refuse(error.problems)
        except OSError as error:
            self._refuse([str(error)])
        except Exception as error:  # ours to mend; the next reload may go well
            log.error("a reload failed", exc_info=error)
            self._refuse([f"{type(error).__name__}: {error}"])

    def _next(self) -> bool:
        """Wait until asked; False when only the files were due to be touched."""
        try:
            self._asked.get(timeout=FRESH_SECONDS)
        except Empty:
            with suppress(OSError):
                for path in self.home.rglob("*"):
                    os.utime(path)
            return False
        while not self._asked.empty():
            self._asked.get()
        return True

    def _take(self, found: Candidate) -> None:
        """Keep the snapshot where no tidying of the cache removes it, and tell the workers."""
        kept = self.home / found.snapshot.name
        if not kept.exists():
            draft = kept.with_suffix(".new")
            shutil.copyfile(found.snapshot, draft)
            os.replace(draft, kept)
        before = self.notice.snapshot
        self._post(Notice(digest=found.digest, snapshot=kept))
        for path in self.home.glob(f"*{kept.suffix}"):
            if path not in (kept, before):  # a worker may be at the one before
                path.unlink()

    def _refuse(self, problems: list[str] | tuple[str, ...]) -> None:
        said = [shorten(problem, LONGEST_SAID) for problem in problems[:MOST_SAID]]
        if len(problems) > MOST_SAID:
            said.append(f"and {len(problems) - MOST_SAID} more")
        log.error("reload refused, still serving %s: %s", self.notice.digest, "; ".join(said))
        refused = Refusal(at=datetime.now(UTC), problems=tuple(said))
        self._post(self.notice.model_copy(update={"refused": refused}))

    def _post(self, notice: Notice) -> None:
        self.notice = notice
        try:
            notice.post(self.home)
        except OSError as error:
            log.error("the workers cannot be told: %s", error)


class Watch(Thread):
    """Calls `changed` when the catalogue files are others than before and stay so for a moment.

    It looks at names, times and sizes: that works for folders that are swapped as a whole and for
    those on other machines, of which the system gives no notice.
    """

    def __init__(self, folder: Path, changed: Callable[[], None]) -> None:
        super().__init__(name="watch", daemon=True)
        self.folder, self.changed = folder, changed

    def run(self) -> None:
        """Look again and again."""
        known = last = looks_of(self.folder)
        while True:
            time.sleep(WATCH_SECONDS)
            try:
                now = looks_of(self.folder)
            except OSError:  # it changes under our eyes
                continue
            if now == last and now != known:
                known = now
                self.changed()
            last = now


def looks_of(folder: Path) -> tuple[tuple[str, int, int, int], ...]:
    """Name, time of change, size and number of each catalogue file; empty without a folder."""
    return tuple(
        (name, found.st_mtime_ns, found.st_size, found.st_ino)
        for name, path in catalogue_files(folder) if isinstance(path, Path)
        if (found := _stat(path))
    )


def _stat(path: Path) -> os.stat_result | None:
    try:
        return path.stat()
    except OSError:
        return None
