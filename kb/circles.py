"""Statements between parts that must not run in a circle."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

import networkx as nx

from kb.entries import Part


class Circle(NamedTuple):
    """Parts whose statements under one field lead back to themselves."""

    field: str
    parts: tuple[str, ...]
    message: str


def circles(parts: Mapping[str, Part]) -> Iterator[Circle]:
    """Contents, supersessions and needs counted per unit that run in a circle."""
    contents = ((key, inner) for key, part in parts.items() for inner in part.contents)
    yield from _circles("contents", parts, contents, "a kit cannot hold itself")
    older = ((key, old) for key, part in parts.items() for old in part.supersedes)
    yield from _circles("supersedes", parts, older, "a part cannot replace itself")
    yield from _circles(
        "requires", parts, _each_edges(parts),
        "needs counted with 'each' run in a circle; say 'once' for one of them",
    )


def _circles(
    field: str, parts: Mapping[str, Part], edges: Iterable[tuple[str, str]], message: str
) -> Iterator[Circle]:
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_edges_from(edges)
    for group in nx.strongly_connected_components(graph):
        members = tuple(sorted(group & parts.keys()))
        if members and (len(group) > 1 or graph.has_edge(members[0], members[0])):
            yield Circle(field, members, f"{message} ({_round(members)})")


def _round(members: tuple[str, ...], most: int = 8) -> str:
    shown = members if len(members) <= most else (*members[:most], f"{len(members) - most} more")
    return ", ".join(shown)


def _each_edges(parts: Mapping[str, Part]) -> Iterator[tuple[str, str]]:
    """Part to part over `each` needs; a kind stands between as "kind name".

    A part that names itself is left out: that is reported where the need stands.
    """
    for key, part in parts.items():
        for need in part.requires:
            if need.each is None:
                continue
            if need.kind is not None:
                yield key, f"kind {need.kind}"
            yield from ((key, listed) for listed in need.listed if listed != key)
    asked = {need.kind for part in parts.values() for need in part.requires if need.each}
    yield from ((f"kind {part.kind}", key) for key, part in parts.items() if part.kind in asked)
