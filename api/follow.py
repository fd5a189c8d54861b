"""In a worker: follows the notices of the process in charge, and ends when that is gone."""

from __future__ import annotations

import logging
import os
import signal
import time
from pathlib import Path
from threading import Thread

from flask import Flask

from api.app import prepared
from api.current import current_of
from api.notice import Notice, posted
from kb.catalogue import Catalogue
from kb.collection import look_again, set_aside
from kb.snapshot import read_snapshot

TICK, LONG_TICK = 0.2, 5.0
"""Seconds between two looks at the notice; after a fault."""

log = logging.getLogger("kitwright.serve")


class Follower(Thread):
    """Keeps an app at the catalogue that is to be served, as the process `in_charge` says."""

    def __init__(self, app: Flask, folder: Path, in_charge: int) -> None:
        super().__init__(name="follower", daemon=True)
        self.app, self.folder, self.in_charge = app, folder, in_charge
        self.current = current_of(app)
        self.seen: Notice | None = None
        self.well = True

    def run(self) -> None:
        """Look again and again, for as long as there is a process in charge."""
        while os.getppid() == self.in_charge:
            time.sleep(TICK if self.well else LONG_TICK)
            self.look()
        log.error("the process in charge is gone: this worker finishes what it has and ends")
        os.kill(os.getpid(), signal.SIGTERM)

    def look(self) -> None:
        """Act on the notice if it is a new one; on a fault go on as before, and say so once."""
        try:
            notice = posted(self.folder)
            if notice != self.seen:
                self._act(notice)
            self.seen, self.well = notice, True
        except Exception as error:  # whatever it is, the next look may go well
            if self.well:
                log.error("cannot follow (%s %s), serving %s", type(error).__name__, error,
                          self._digest)
            self.seen, self.well = None, False

    @property
    def _digest(self) -> str:
        return self.current.served.catalogue.digest

    def _act(self, notice: Notice) -> None:
        if notice.snapshot is not None and notice.digest != self._digest:
            self._take(read_snapshot(notice.snapshot))
        self.current.refused = notice.refused

    def _take(self, catalogue: Catalogue) -> None:
        self.current.swap(prepared(self.app, catalogue))
        log.info("serving %s", catalogue.digest)
        look_again()  # the one that was replaced, but for requests that still have it in hand
        set_aside(len(catalogue.parts))
