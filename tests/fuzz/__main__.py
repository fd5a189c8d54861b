"""Coverage-guided fuzzing of what reads text from outside, with atheris.

    python -m tests.fuzz TARGET [--seconds N]

Each target takes any text: it is read, or refused with the one error that is documented for it.
Anything else, an endless loop among it, ends the run with a text that shows it.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["kb"], enable_loader_override=False):
    from tests.support import readers

ROOT = Path(__file__).parents[2]
SLOWEST = 25
"""Seconds that one text may take. Instrumented code is many times slower than it is in use."""


def catalogue_seeds() -> Iterator[str]:
    """The demo, and every broken catalogue that is kept."""
    for folder in ("demo_catalog", "tests/kb/broken", "tests/kb/example"):
        for path in sorted((ROOT / folder).rglob("*.yaml")):
            yield path.read_bytes().decode("utf-8", "replace")


TARGETS: dict[str, tuple[Callable[[str], None], Callable[[], Iterator[str]]]] = {
    "sizes": (readers.read_sizes, lambda: (text for _, texts in readers.SIZES for text in texts)),
    "measures": (readers.read_measures, lambda: iter(
        ("296 mm", "1.5 ± 0.2 N/mm", "-3/4 in", "90 °C", "0.5 L", "129.50 EUR", "12, -3 mm"))),
    "yaml": (readers.read_yaml, catalogue_seeds),
    "catalogue": (readers.read_catalogue, catalogue_seeds),
}


def main() -> None:
    """Fuzz one target for a while; leaves with another code than 0 when it finds something."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("target", choices=TARGETS)
    parser.add_argument("--seconds", type=int, default=60)
    asked = parser.parse_args()
    target, seeds = TARGETS[asked.target]
    with tempfile.TemporaryDirectory() as room:
        for number, text in enumerate(seeds()):
            (Path(room) / str(number)).write_bytes(text.encode())
            target(text)  # what is made on first use is not the fault of the text
        atheris.Setup(
            [sys.argv[0], f"-max_total_time={asked.seconds}", f"-timeout={SLOWEST}",
             "-rss_limit_mb=4096", "-max_len=20000", f"-artifact_prefix={room}/found-", room],
            lambda data: target(data.decode("utf-8", "replace")),
        )
        atheris.Fuzz()


if __name__ == "__main__":
    main()
