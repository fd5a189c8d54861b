"""Runs the API under granian: a process in charge, and workers that it forks.

The process in charge reads the catalogue once, before it forks, so that the workers share it. On
SIGHUP it has the catalogue examined aside (`api.reload`) and posts a notice that the workers follow
(`api.follow`): they swap the catalogue in place, and no connection is closed for it.
"""

from __future__ import annotations

import gc
import os
import signal
import socket
import sys
from functools import partial
from logging import LogRecord, getLogger
from math import ceil
from pathlib import Path
from tempfile import TemporaryDirectory

from flask import Flask
from granian.constants import HTTPModes, Interfaces
from granian.http import HTTP1Settings
from granian.server import MPServer

from api.app import create_app
from api.follow import Follower
from api.loading import LARGE, cache_folder
from api.logs import start_log
from api.reload import Reloader, Watch
from api.settings import Settings
from kb.catalogue import Catalogue
from kb.snapshot import load_cached

CONNECTIONS = 8192
"""Connections that a worker holds open at a time; most of them idle."""

HEAD_SECONDS = 10
"""How long a caller may take over the head of a request. Common practice, no source."""

LAST_SECONDS = 5
"""So much longer than the longest answer a worker may take to stop."""

TURN_SECONDS = 0.001
"""How long one thread of a worker computes while another waits to. Short requests then wait less
for questions that are being worked out; Python's own choice is five times as long.
"""

FIGURES = "figures"

_prepared: dict[Path, Flask] = {}


def serve(folder: Path, settings: Settings) -> None:
    """Serve the catalogue in `folder` until SIGINT or SIGTERM; then finish what is in hand.

    Raises CatalogueError before anything is started when the catalogue is not sound, OSError when
    the address cannot be had.
    """
    _ignore_hangup()
    _refuse_taken(settings.host, settings.port)
    start_log(settings.log_format)
    getLogger("_granian").addFilter(_is_news)
    where = Path(folder).absolute()  # links are followed anew at each reload
    settings = settings.model_copy(update={"cache_folder": settings.cache_folder or cache_folder()})
    known = load_cached(where, settings.cache_folder, least=LARGE)
    with TemporaryDirectory(prefix="kitwright-") as base:
        home = Path(base)
        _share_figures(home)
        _prepared[where] = create_app(known, settings)
        gc.freeze()  # keeps what forked workers share from being copied by their collectors
        _let_new_workers_be_stopped()
        _print(where, known, settings)
        server = _server(settings)
        reloader = Reloader(where, known.digest, home, settings.cache_folder, settings.audit)
        server.on_startup(partial(_listen, reloader, settings.watch))
        loader = partial(worker, where, settings, home, os.getpid())
        server.serve(target_loader=loader, wrap_loader=False)


def worker(folder: Path, settings: Settings, home: Path, in_charge: int) -> Flask:
    """The app of one worker: the one prepared before the fork, or made here where none is."""
    _ignore_hangup()  # the terminal tells all; the process in charge acts on it
    start_log(settings.log_format)
    app = _prepared.get(folder) or create_app(folder, settings)
    _forget_the_dead(home)
    sys.setswitchinterval(TURN_SECONDS)
    follower = Follower(app, home, in_charge)
    follower.look()
    follower.start()
    return app


def _server(settings: Settings) -> MPServer:
    longest = settings.most_seconds + settings.queue_seconds + LAST_SECONDS
    return MPServer(
        "kitwright", interface=Interfaces.WSGI, address=settings.host, port=settings.port,
        workers=settings.workers, blocking_threads=settings.threads, backpressure=CONNECTIONS,
        http=HTTPModes.http1, http1_settings=HTTP1Settings(header_read_timeout=HEAD_SECONDS * 1000),
        respawn_failed_workers=True, workers_kill_timeout=ceil(longest), websockets=False,
        log_dictconfig={"loggers": {"_granian": {"propagate": True}}},  # into our log, in its form
    )


def _listen(reloader: Reloader, watch: bool) -> None:
    """Reload on SIGHUP; on changed files too, if that is wanted."""
    reloader.start()
    if hasattr(signal, "SIGHUP"):
        signal.signal(signal.SIGHUP, reloader.ask)  # in place of granian's, which closes sockets
    if watch:
        Watch(reloader.folder, reloader.ask).start()


def _print(where: Path, known: Catalogue, settings: Settings) -> None:
    """Say what is served and how it is set."""
    print(
        f"kitwright: {known.header.name} ({known.digest}, {len(known.parts)} parts) from {where}\n"
        f"kitwright: http://{settings.host}:{settings.port} {' '.join(settings.lines())}",
        file=sys.stderr, flush=True,
    )


def _refuse_taken(host: str, port: int) -> None:
    """Raise OSError when someone listens there: workers share a port, so none would notice."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    socket.create_server((host, port), family=family).close()


def _is_news(record: LogRecord) -> bool:
    """Threads are many since most of them wait: the gate says how many questions are in hand."""
    return not str(record.msg).startswith("Configuration allows spawning")


def _share_figures(home: Path) -> None:
    """Have the workers count into files of one folder, so that any can tell the figures of all.

    It has to be said before `prometheus_client` is imported.
    """
    figures = home / FIGURES
    figures.mkdir()
    os.environ["PROMETHEUS_MULTIPROC_DIR"] = str(figures)


def _forget_the_dead(home: Path) -> None:
    """Count no longer what killed workers had in hand."""
    from prometheus_client.multiprocess import mark_process_dead  # after _share_figures

    for path in (home / FIGURES).glob("gauge_live*.db"):
        pid = int(path.stem.rpartition("_")[2])
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            mark_process_dead(pid, home / FIGURES)  # type: ignore[no-untyped-call]


def _ignore_hangup() -> None:
    if hasattr(signal, "SIGHUP"):
        signal.signal(signal.SIGHUP, signal.SIG_IGN)


def _let_new_workers_be_stopped() -> None:
    """Let a signal end a worker that is still starting, rather than get lost.

    It is born with the handlers of its parent, which do nothing in it; granian sets its own later.
    Until the default is back, signals wait.
    """
    if not hasattr(os, "register_at_fork"):
        return
    stops = {signal.SIGINT, signal.SIGTERM}

    def hold() -> None:
        signal.pthread_sigmask(signal.SIG_BLOCK, stops)

    def release() -> None:
        signal.pthread_sigmask(signal.SIG_UNBLOCK, stops)

    def born() -> None:
        for name in stops:
            signal.signal(name, signal.SIG_DFL)
        release()

    os.register_at_fork(before=hold, after_in_parent=release, after_in_child=born)
