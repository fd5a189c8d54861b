"""The catalogue of a command, from a snapshot where a large one was read before."""

from __future__ import annotations

import os
from pathlib import Path

from kb.catalogue import Catalogue
from kb.snapshot import load_cached

CACHE_VARIABLE = "KITWRIGHT_CACHE_FOLDER"
"""Where snapshots are kept; set to nothing, none are."""

LARGE = 2**18
"""Characters of YAML from which on a snapshot saves more than it costs."""


def load(folder: str | Path) -> Catalogue:
    """The catalogue in `folder`. Raises CatalogueError with every problem found."""
    return load_cached(folder, cache_folder(), least=LARGE)


def cache_folder() -> Path | None:
    """The folder for snapshots, None for none: what CACHE_VARIABLE says, or else the user's cache
    folder as the XDG Base Directory Specification has it.
    """
    chosen = os.environ.get(CACHE_VARIABLE)
    if chosen is not None:
        return Path(chosen) if chosen else None
    stated = Path(os.environ.get("XDG_CACHE_HOME", ""))
    try:
        base = stated if stated.is_absolute() else Path.home() / ".cache"
    except RuntimeError:  # nobody's home is known
        return None
    return base / "kitwright"
