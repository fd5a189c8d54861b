"""A catalogue from open data: lists of software packages in Debian control format, which say of
each package what it needs, with alternatives, and what it cannot stand beside.

What the fields mean is stated in the Debian Policy Manual, chapter 7 ("Declaring relationships
between packages"). A package in a version is a part; `Pre-Depends` and `Depends` are needs,
`Conflicts` and `Breaks` conflicts; a name that others provide means all who provide it; two
versions of one package conflict. What nobody provides cannot be had, so whoever needs it is
forbidden by a general rule. The fields that only suggest or recommend are left out.
"""

from __future__ import annotations

import lzma
import subprocess
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from gzip import open as open_gzip
from json import dumps
from pathlib import Path
from typing import IO, Any

from debian.deb822 import Packages
from debian.debian_support import Version

PER_FILE = 5000
HEADER = (
    "catalog: {name: Software packages}\n"
    "vehicles:\n"
    "  host: {name: Host, years: 2020-2020, variants: {plain: {name: plain, engine: none}}}\n"
)
_OPENERS = {".gz": open_gzip, ".xz": lzma.open, ".lzma": lzma.open}

Relation = Mapping[str, Any]
"""One alternative, as `debian.deb822` reads it: `name`, and `version` as (relation, number)."""


@dataclass(slots=True)
class Item:
    """One package in one version, with what it refers to looked up."""

    id: str
    needs: list[tuple[str, ...]] = field(default_factory=list)
    """For each need, the ids of all that meet it."""
    unmet: list[str] = field(default_factory=list)
    """Needs that nothing in the data meets, as written."""
    conflicts: list[str] = field(default_factory=list)


def items(paths: Iterable[Path]) -> list[Item]:
    """The packages in some lists. What stands in several of them is taken once."""
    stanzas = {_id(stanza): stanza for path in paths for stanza in _stanzas(path)}
    providers = _Providers(stanzas)
    return [_item(key, stanza, providers) for key, stanza in stanzas.items()]


def open_texts(found: Iterable[Item]) -> dict[str, str]:
    """The catalogue of some packages as file names and YAML texts."""
    every = list(found)
    texts = {"host.yaml": HEADER}
    for start in range(0, len(every), PER_FILE):
        some = every[start:start + PER_FILE]
        rules = "".join(map(_rules, some))
        body = "parts:\n" + "".join(map(_part, some)) + (f"rules:\n{rules}" if rules else "")
        texts[f"parts-{start // PER_FILE:03}.yaml"] = body
    return texts


def bare_clauses(found: Iterable[Item]) -> tuple[list[list[int]], dict[str, int]]:
    """The clauses of some packages, straight from the data, and the variable of each."""
    numbers: dict[str, int] = {}
    stated: list[list[int]] = []
    for item in found:
        me = numbers.setdefault(item.id, len(numbers) + 1)
        for need in item.needs:
            met = [numbers.setdefault(other, len(numbers) + 1) for other in need]
            stated.append([-me, *met])
        stated += [[-me] for _ in item.unmet]
        stated += [
            [-me, -numbers.setdefault(other, len(numbers) + 1)] for other in item.conflicts
        ]
    return stated, numbers


# -- reading ------------------------------------------------------------------------------------


def _stanzas(path: Path) -> Iterator[Packages]:
    with _opened(path) as file:
        yield from Packages.iter_paragraphs(file, use_apt_pkg=False)


def _opened(path: Path) -> IO[str]:
    """A list as text; what apt has packed in its own way is unpacked by apt."""
    if path.suffix == ".lz4":
        command = ["/usr/lib/apt/apt-helper", "cat-file", str(path)]
        process = subprocess.Popen(command, stdout=subprocess.PIPE, encoding="utf-8")
        assert process.stdout is not None
        return process.stdout
    opener: Any = _OPENERS.get(path.suffix, open)
    file: IO[str] = opener(path, "rt", encoding="utf-8")
    return file


def _id(stanza: Packages) -> str:
    return f"{stanza['Package']}={stanza['Version']}"


class _Providers:
    """Who goes by a name, and in which version; None where no version is stated."""

    def __init__(self, stanzas: Mapping[str, Packages]) -> None:
        self.named: dict[str, list[tuple[str, str | None]]] = defaultdict(list)
        for key, stanza in stanzas.items():
            self.named[stanza["Package"]].append((key, stanza["Version"]))
            for relations in stanza.relations["provides"]:
                for one in relations:
                    version = one["version"][1] if one["version"] else None
                    self.named[one["name"]].append((key, version))

    def meant(self, alternatives: Iterable[Relation]) -> dict[str, None]:
        """The ids of all that are meant by one of some alternatives, in order."""
        return dict.fromkeys(
            key for one in alternatives for key, version in self.named.get(one["name"], ())
            if _in_range(version, one["version"])
        )


@lru_cache(maxsize=1 << 20)
def _in_range(version: str | None, wanted: tuple[str, str] | None) -> bool:
    """Whether a version is one that is wanted; a provided name without one meets no limit."""
    if wanted is None:
        return True
    if version is None:
        return False
    relation, limit = wanted
    mine, other = Version(version), Version(limit)
    return {
        "<<": mine < other, "<=": mine <= other, "=": mine == other,
        ">=": mine >= other, ">>": mine > other,
    }[relation]


def _item(key: str, stanza: Packages, providers: _Providers) -> Item:
    item = Item(key)
    relations = stanza.relations
    for alternatives in (*relations["pre-depends"], *relations["depends"]):
        meant = tuple(providers.meant(alternatives))
        if not meant:
            item.unmet.append(" | ".join(one["name"] for one in alternatives))
        elif key not in meant:
            item.needs.append(meant)
    against = dict.fromkeys(other for other, version in providers.named[stanza["Package"]]
                            if other.partition("=")[0] == stanza["Package"])
    for alternatives in (*relations["conflicts"], *relations["breaks"]):
        against |= providers.meant(alternatives)
    against.pop(key, None)
    item.conflicts = list(against)
    item.needs = list(dict.fromkeys(item.needs))
    return item


# -- writing ------------------------------------------------------------------------------------


def _part(item: Item) -> str:
    text = f"  {dumps(item.id)}:\n    kind: item\n    name: {dumps(item.id)}\n"
    if item.needs:
        text += "    requires:\n" + "".join(f"      - {_selector(need)}\n" for need in item.needs)
    if item.conflicts:
        others = "".join(f"      - {_selector((other,))}\n" for other in item.conflicts)
        text += f"    conflicts:\n{others}"
    return text


def _selector(ids: tuple[str, ...]) -> str:
    """One part, or any one of several."""
    return f"{{part: {dumps(ids[0])}}}" if len(ids) == 1 else f"{{parts: {dumps(ids)}}}"


def _rules(item: Item) -> str:
    """What forbids a package that needs what nobody has."""
    if not item.unmet:
        return ""
    why = dumps(f"nothing provides {', '.join(item.unmet)}"[:1000])
    return f"  {dumps(item.id)}: {{when: [{{part: {dumps(item.id)}}}], why: {why}}}\n"
