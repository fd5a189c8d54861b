"""The command line, run inside the test process."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from click.testing import CliRunner, Result

from api.cli import main


@dataclass(frozen=True)
class CommandLine:
    """Runs commands on one catalogue at one width."""

    folder: Path

    def __call__(self, *words: str, columns: int = 80) -> Result:
        """What a command prints and how it exits."""
        runner = CliRunner(env={"COLUMNS": str(columns), "FORCE_COLOR": "", "TTY_COMPATIBLE": ""})
        words = words if words[0] in ("schema",) else (*words, "--catalog", str(self.folder))
        return runner.invoke(main, list(words))


def flat(text: str) -> str:
    """A page with its line breaks undone, so that a sentence can be looked for."""
    return " ".join(text.split())
