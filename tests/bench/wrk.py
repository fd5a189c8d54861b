"""Runs wrk over a list of requests, at full speed or at a given rate, and reads what it says."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

CONNECTIONS = 16

SCRIPT = """
local requests, waits = {}, 0
function init(args)
  for line in io.lines(args[1]) do
    local method, path, body = line:match("^(%S+) (%S+) ?(.*)$")
    if body == "" then body = nil end
    local headers = body and {["Content-Type"] = "application/json"} or nil
    table.insert(requests, wrk.format(method, path, headers, body))
  end
  waits = tonumber(args[2])
  math.randomseed(1)
end
function request() return requests[math.random(#requests)] end
function delay() return waits == 0 and 0 or -waits * math.log(1 - math.random()) end
function done(summary, latency)
  io.write("RESULT " .. string.format(
    '{"requests": %d, "us": %d, "bad": %d, "lost": %d, "p50": %d, "p99": %d}\\n',
    summary.requests, summary.duration, summary.errors.status,
    summary.errors.connect + summary.errors.read + summary.errors.write + summary.errors.timeout,
    latency:percentile(50), latency:percentile(99)))
end
"""


@dataclass(frozen=True)
class Asked:
    """One request: method, path with query, body."""

    method: str
    path: str
    body: str = ""


@dataclass(frozen=True)
class Load:
    """What came of a run: requests a second, milliseconds, answers that were no success."""

    rate: float
    p50: float
    p99: float
    bad: int


def there_is_wrk() -> bool:
    """Whether wrk is installed (Debian: `apt-get install wrk`)."""
    return shutil.which("wrk") is not None


def run(port: int, asked: Sequence[Asked], seconds: int, rate: float | None = None) -> Load:
    """Ask at random out of `asked` for so long: as fast as can be, or about `rate` a second."""
    waits = 0.0 if rate is None else 1000 * CONNECTIONS / rate
    with TemporaryDirectory() as base:
        script, listed = Path(base, "script.lua"), Path(base, "requests")
        script.write_text(SCRIPT)
        listed.write_text("".join(f"{a.method} {a.path} {a.body}\n" for a in asked))
        done = subprocess.run(
            ["wrk", "-t1", f"-c{CONNECTIONS}", f"-d{seconds}s", "--timeout", "30s",
             "-s", str(script), f"http://127.0.0.1:{port}", "--", str(listed), str(waits)],
            capture_output=True, text=True, check=True,
        )
    [line] = [x for x in done.stdout.splitlines() if x.startswith("RESULT ")]
    found = json.loads(line.removeprefix("RESULT "))
    return Load(
        rate=found["requests"] / found["us"] * 1e6, p50=found["p50"] / 1000,
        p99=found["p99"] / 1000, bad=found["bad"] + found["lost"],
    )
