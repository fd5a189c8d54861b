"""What the stories about the catalogue share."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

from kb.catalogue import Catalogue, load_texts
from kb.errors import CatalogueError

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
EXAMPLE = HERE / "example"
BROKEN = HERE / "broken"

PLOVER = """
vehicles:
  plover:
    name: Plover estate
    years: 2012-2019
    variants:
      p12: {name: "1.2 petrol", engine: kb12, years: 2012-2015, market: home}
      p16: {name: "1.6 petrol", engine: kb16, years: 2014-2019}
    places: {front-wheel: {count: 2, axle: front}, rear-wheel: {count: 2, axle: rear}}
"""


def catalogue(*texts: str) -> Catalogue:
    """The catalogue written in `texts`, one file each."""
    return load_texts({f"{number}.yaml": text for number, text in enumerate(texts)})


def problems(*texts: str) -> list[str]:
    """What is said about a catalogue that cannot be used; empty when it can."""
    try:
        catalogue(*texts)
    except CatalogueError as error:
        return [str(problem) for problem in error.problems]
    return []


class _Yaml12(yaml.SafeLoader):
    """YAML 1.2 core schema, as editors read it: no "yes", no "on", no dates."""


_Yaml12.yaml_implicit_resolvers = {
    first: kept
    for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
    if (kept := [
        (tag, pattern) for tag, pattern in resolvers
        if tag.rpartition(":")[2] in ("int", "float", "null")
        or (tag.endswith(":bool") and first in "tTfF")
    ])
}


def as_an_editor_sees(text: str) -> Any:
    """The values of a YAML text, with numbers and truth values, as a schema checker gets them."""
    return yaml.load(text, _Yaml12)
