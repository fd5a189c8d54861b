"""A short run of each fuzz target; `python -m tests.fuzz` runs one for as long as wanted."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.slow
@pytest.mark.parametrize("target", ["sizes", "measures", "yaml", "catalogue"])
def test_nothing_is_found_in_a_short_run(target: str) -> None:
    pytest.importorskip("atheris", reason="it comes with the extra 'fuzz'")
    run = subprocess.run(
        [sys.executable, "-m", "tests.fuzz", target, "--seconds", "10"],
        cwd=ROOT, capture_output=True, text=True, timeout=300, check=False,
    )
    assert run.returncode == 0, run.stderr[-2000:]
    assert "Done " in run.stderr
