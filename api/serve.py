"""Runs the API under granian: several worker processes that share one catalogue."""

from __future__ import annotations

import gc
import logging
import os
import signal
import sys
from functools import partial
from pathlib import Path

from flask import Flask
from granian import Granian
from granian.constants import Interfaces

from api.app import create_app
from api.current import current_of

THREADS = min(8, 2 * (os.cpu_count() or 1) + 1)
"""Requests that one worker has in hand at a time: answers are work for the processor."""

LAST_SECONDS = 30
"""How long a worker may take over its last answers when told to stop."""

_prepared: dict[Path, Flask] = {}


def serve(folder: Path, host: str, port: int, workers: int) -> None:
    """Serve the catalogue in `folder` until SIGINT or SIGTERM; then finish what is in hand.

    Raises CatalogueError before anything is started when the catalogue is not sound.
    """
    where = Path(folder).resolve()
    _prepared[where] = create_app(where)
    gc.freeze()  # keeps what forked workers share from being copied by their collectors
    if hasattr(os, "register_at_fork"):
        os.register_at_fork(after_in_child=_stop_at_once)
    known = current_of(_prepared[where]).served.catalogue
    print(
        f"kitwright: {known.header.name} ({known.digest}, {len(known.parts)} parts) from {where}\n"
        f"kitwright: http://{host}:{port} workers={workers} threads={THREADS}",
        file=sys.stderr, flush=True,
    )
    server = Granian(
        "kitwright", interface=Interfaces.WSGI, address=host, port=port, workers=workers,
        blocking_threads=THREADS, respawn_failed_workers=True, workers_kill_timeout=LAST_SECONDS,
        websockets=False,
    )
    server.serve(target_loader=partial(worker, where), wrap_loader=False)


def worker(folder: Path) -> Flask:
    """The app of one worker: the one prepared before the fork, or made here where none is."""
    logging.basicConfig(level=logging.INFO, format="%(levelname)s %(name)s %(message)s")
    return _prepared.get(folder) or create_app(folder)


def _stop_at_once() -> None:
    """Let a signal end a worker that is still starting, rather than get lost.

    It is born with the handlers of its parent, which do nothing here; granian sets its own later.
    """
    for name in (signal.SIGINT, signal.SIGTERM):
        signal.signal(name, signal.SIG_DFL)
