"""A real `kitwright serve` in a process of its own."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.request import Request, urlopen

import psutil

import api

ROOT = Path(api.__file__).parent.parent


class Running:
    """A server with two workers on a port of its own, unless the flags say otherwise.

    What it prints goes to the file `log`, so that no full pipe can stop it.
    """

    def __init__(
        self, folder: Path, *flags: str, log: Path, environment: Mapping[str, str] | None = None,
        before: Callable[[], None] | None = None,
    ) -> None:
        self.port, self.log = free_port(), log
        command = [sys.executable, "-m", "api.cli", "serve", "--catalog", str(folder),
                   "--port", str(self.port), "--workers", "2", *flags]
        with log.open("w") as out:
            self.process = subprocess.Popen(
                command, cwd=ROOT, env={**os.environ, **(environment or {})},
                stdout=out, stderr=out, preexec_fn=before,
            )

    def __enter__(self) -> Running:
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.stop()

    @property
    def said(self) -> str:
        """All that was printed so far."""
        return self.log.read_text(errors="replace")

    @property
    def workers(self) -> list[int]:
        """The processes that answer: those that were forked, and so look like their parent."""
        mine = psutil.Process(self.process.pid)
        return sorted(c.pid for c in mine.children() if _command(c) == _command(mine))

    def ask(self, path: str, body: bytes | None = None, timeout: float = 10) -> tuple[int, Any]:
        """Status and JSON of one request on a connection of its own."""
        request = Request(f"http://127.0.0.1:{self.port}{path}", data=body)
        request.add_header("Content-Type", "application/json")
        try:
            with urlopen(request, timeout=timeout) as response:
                return response.status, json.load(response)
        except HTTPError as error:
            return error.code, json.load(error)

    def wait(self) -> Running:
        """Until the first answer."""
        self.until(self.answers, "it answers")
        return self

    def answers(self) -> bool:
        assert self.process.poll() is None, self.said
        try:
            return self.ask("/readyz")[0] == 200
        except (URLError, OSError):
            return False

    def until(self, true: Callable[[], bool], what: str, seconds: float = 90) -> None:
        """Wait until something is so; fail when it takes too long."""
        ends = time.monotonic() + seconds
        while not true():
            assert time.monotonic() < ends, f"not in {seconds} s: {what}\n{self.said}"
            time.sleep(0.05)

    def hang_up(self) -> None:
        """Ask it to read its catalogue again."""
        self.process.send_signal(signal.SIGHUP)

    def stop(self, seconds: float = 20) -> str:
        """Ask it to stop as a supervisor does; what it printed."""
        self.process.send_signal(signal.SIGTERM)
        try:
            self.process.wait(seconds)
        except subprocess.TimeoutExpired:
            self.process.kill()
            raise
        return self.said


def _command(process: psutil.Process) -> list[str]:
    try:
        return process.cmdline()
    except (psutil.NoSuchProcess, psutil.ZombieProcess):
        return []


def free_port() -> int:
    """A port nobody listens on at the moment."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
        return port
