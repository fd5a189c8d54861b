"""Statements between parts that must not run in a circle."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import chain
from typing import NamedTuple

import networkx as nx

from kb.entries import Part, Rule
from kb.statements import Selector


class Circle(NamedTuple):
    """Parts whose statements under one field lead back to themselves."""

    field: str
    parts: tuple[str, ...]
    message: str


def circles(parts: Mapping[str, Part], rules: Mapping[str, Rule]) -> Iterator[Circle]:
    """Contents, supersessions and needs counted per unit that run in a circle."""
    contents = ((key, inner) for key, part in parts.items() for inner in part.contents)
    yield from _circles("contents", parts, contents, "a kit cannot hold itself")
    older = [(key, old) for key, part in parts.items() for old in part.supersedes]
    replacing = list(_circles("supersedes", parts, older, "a part cannot replace itself"))
    yield from replacing
    # What is asked of an old part may fall on the one that replaces it.
    newer = [] if replacing else [(old, key) for key, old in older]
    yield from _circles(
        "requires", parts, [*_each_edges(parts, rules), *newer],
        "needs counted with 'each' run in a circle; say 'once' for one of them",
    )


def _circles(
    field: str, parts: Mapping[str, Part], edges: Iterable[tuple[str, str]], message: str
) -> Iterator[Circle]:
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_edges_from(_leading_on(list(edges)))
    for group in nx.strongly_connected_components(graph):
        members = tuple(sorted(group & parts.keys()))
        if members and (len(group) > 1 or graph.has_edge(members[0], members[0])):
            yield Circle(field, members, f"{message} ({_round(members)})")


def _leading_on(edges: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """The edges that can be in a circle: from where an edge leads no further, none leads back.

    Mostly that is none, which is seen far sooner than a graph is made.
    """
    while True:
        starts = {start for start, _ in edges}
        left = [edge for edge in edges if edge[1] in starts]
        if len(left) == len(edges):
            return edges
        edges = left


def _round(members: tuple[str, ...], most: int = 8) -> str:
    shown = members if len(members) <= most else (*members[:most], f"{len(members) - most} more")
    return ", ".join(shown)


def _each_edges(
    parts: Mapping[str, Part], rules: Mapping[str, Rule]
) -> Iterator[tuple[str, str]]:
    """Part to part over what is counted with `each`; a kind stands between as "kind name".

    A part that names itself is left out: that is reported where the need stands.
    """
    asking = [(key, need) for key, part in parts.items() for need in part.requires if need.each]
    yield from [(key, to) for key, need in asking for to in _targets(need) if to != key]
    rules_asking = [rule for rule in rules.values() if rule.each and rule.when]
    meant = _Meant(parts if rules_asking else {})
    for rule in rules_asking:
        for asker in meant.by(rule.when[0]):
            yield from [(asker, to) for then in rule.then_any for to in _targets(then)]
    thens = [then for rule in rules_asking for then in rule.then_any]
    if asked := {need.kind for need in (*(need for _, need in asking), *thens)} - {None}:
        yield from [(f"kind {part.kind}", key) for key, part in parts.items() if part.kind in asked]


def _targets(selector: Selector) -> tuple[str, ...]:
    return (f"kind {selector.kind}",) if selector.kind is not None else selector.listed


class _Meant:
    """Which parts a selector may mean: those listed, and one step on what replaces them."""

    def __init__(self, parts: Mapping[str, Part]) -> None:
        self._of_kind: dict[str, list[str]] = {}
        self._newer: dict[str, list[str]] = {}
        for key, part in parts.items():
            self._of_kind.setdefault(part.kind, []).append(key)
            for old in part.supersedes:
                self._newer.setdefault(old, []).append(key)

    def by(self, selector: Selector) -> Iterable[str]:
        if selector.kind is not None:
            return self._of_kind.get(selector.kind, ())
        newer = (self._newer.get(old, ()) for old in selector.listed)
        return dict.fromkeys([*selector.listed, *chain.from_iterable(newer)])
