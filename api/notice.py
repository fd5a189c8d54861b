"""What the process in charge tells its workers: which catalogue to serve, and what it refused.

A notice is a small file in a folder of their own, put in place in one step. Workers that are there
see that it changed; those that start later find it. So none has to be told, and none is missed.
"""

from __future__ import annotations

import os
from datetime import datetime
from pathlib import Path

from rules.answers import Model

NAME = "notice.json"


class Refusal(Model):
    """A newer catalogue that was not taken, and why."""

    at: datetime
    problems: tuple[str, ...]


class Notice(Model):
    """The digest to serve, its snapshot (none: as read at the start), and the last refusal."""

    digest: str
    snapshot: Path | None = None
    refused: Refusal | None = None

    def post(self, folder: Path) -> None:
        """Put it up in `folder`. Raises OSError."""
        draft = folder / f"{NAME}.new"
        draft.write_text(self.model_dump_json(), encoding="utf-8")
        os.replace(draft, folder / NAME)


def posted(folder: Path) -> Notice:
    """The notice in `folder`. Raises OSError, and ValueError when it is damaged."""
    return Notice.model_validate_json((folder / NAME).read_bytes())
