"""A counter's small catalogue, and the car that most stories are about."""

from __future__ import annotations

from pathlib import Path

CAR = ("--vehicle", "tern", "--year", "2015", "--variant", "t12")
TEXT = (Path(__file__).parent / "counter.yaml").read_text(encoding="utf-8")
LONG_ID = (
    "wheel-cover-for-the-fourteen-inch-stock-steel-wheel"
    "-with-four-holes-and-clips-left-and-right"
)


def write(folder: Path, text: str = TEXT) -> Path:
    """The catalogue in a folder of its own."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "counter.yaml").write_text(text, encoding="utf-8")
    return folder
