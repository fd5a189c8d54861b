"""Why each thing is in a package: from what was asked for, down to each line, layer by layer.

What a thing is there for stands above it and further left. A long kit is gathered: small things
that one thing asks for share a box.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

import networkx as nx
import shapely

from api.drawings.drawing import Drawing, Value
from api.drawings.letters import wrapped
from api.drawings.paper import (
    CHAIN,
    DASHED,
    DOTTED,
    HEAVY,
    LINE_HEIGHT,
    MARGIN,
    SMALL,
    SOLID,
    THIN,
    WIDTH,
    Paper,
    Style,
)
from api.drawings.scene import Scene
from rules import answers as a

_LONG = 14
"""Things in a package from which on those with nothing below them are gathered."""
_INDENT, _BESIDE, _BETWEEN = 20.0, 6.0, 5.0
_BORDERS: Mapping[str, tuple[Style, str]] = {
    "picked": (HEAVY, "asked for"),
    "needed": (SOLID, "needed: there is no package without it"),
    "chosen": (DASHED, "chosen, where there was a choice"),
    "kept": (DOTTED, "stock part that stays"),
    "on_hand": (CHAIN, "already there"),
    "work": (THIN, "work on the car, or what the car itself asks for"),
    "ground": (THIN, "work on the car, or what the car itself asks for"),
}
"""How the box of each sort of thing is drawn, and what that means."""
_EDGED = ("work", "ground")
"""What has a hatched edge: no part."""


@dataclass(slots=True)
class _Thing:
    """A box: what it says in bold, why it is there, what else it is there for."""

    sort: str
    names: list[str]
    why: str = ""
    also: list[str] = field(default_factory=list)


def because(scene: Scene) -> Iterator[_Drawn]:
    """The one drawing of reasons, where there is a package."""
    if scene.package.lines:
        yield _Drawn(scene)


class _Drawn:
    """The reasons of a package as a forest: under each thing what is there because of it."""

    name = "because"
    title = "Why each thing is on the list"

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.things: dict[str, _Thing] = {}
        self.tree: nx.DiGraph[str] = nx.DiGraph()
        self.grounds: dict[str, a.Link] = {}
        for line in scene.package.lines:
            self._line(line)
        for work in scene.package.work:
            self._put(f"step:{work.step}", _Thing("work", [f"Work: {work.name}"]), work.because)
        for key in [node for node in self.tree if node not in self.things]:
            self.things[key] = _Thing("ground", [self._ground(key)])
        for line in scene.package.lines:
            if line.status != "picked":
                self._also(f"part:{line.part}", line.serves)
        if len(self.things) >= _LONG:
            self._gather()

    def _line(self, line: a.Line) -> None:
        amount = f"{line.qty:g} {line.unit or '×'}"
        thing = _Thing(line.status, [f"{amount} {line.name}"])
        self._put(f"part:{line.part}", thing, line.because)

    def _put(self, key: str, thing: _Thing, chain: tuple[a.Link, ...]) -> None:
        """A thing under the last but one link of its chain; a kept part's chain is who asks."""
        self.things[key] = thing
        self.tree.add_node(key)
        above = [link for link in chain if link.node != key]
        if not above:
            return
        parent = above[-1].node
        self.tree.add_edge(parent, key)
        thing.why = self._why(parent, key, chain[-1])
        self.grounds[parent] = above[-1]

    def _ground(self, key: str) -> str:
        """What a thing stands on that is no line of the list: a rule, or a stock part that stays.
        """
        sort, _, name = key.partition(":")
        if sort == "place" and name in self.scene.at.baseline.fitted:
            return f"On the car: {self.scene.name(self.scene.at.baseline.fitted[name])}"
        if sort == "rule":
            return _sentence(self.scene.known.rules[name].why or "a rule of this car")
        return _sentence(self.grounds[key].text)

    def _why(self, parent: str, key: str, link: a.Link) -> str:
        """Why a thing is there, in as few words as do."""
        if parent.startswith("rule:"):
            return ""  # the rule stands above it
        if self._is_kit(parent):
            return "In the kit"
        if self._is_kit(key):
            return "The kit that brings it"
        return _sentence(link.why or link.text)

    def _is_kit(self, key: str) -> bool:
        part = self.scene.known.parts.get(key.removeprefix("part:"))
        return part is not None and part.kind == "kit"

    def _also(self, key: str, serves: tuple[a.Serving, ...]) -> None:
        """Who else asks for a thing, beside the one it stands under."""
        known = {key, *self.tree.predecessors(key), *nx.descendants(self.tree, key)}
        askers = dict.fromkeys(s.asked_by for s in serves if s.asked_by not in known)
        self.things[key].also = [
            name for asker in askers if asker in self.things for name in self.things[asker].names
        ]

    def _gather(self) -> None:
        """Put things of one sort, under one thing and with nothing below them, into one box."""
        groups: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
        for key in list(self.things):
            above = list(self.tree.predecessors(key))
            thing = self.things[key]
            if above and not self.tree.out_degree(key):
                groups.setdefault((above[0], thing.sort, tuple(thing.also)), []).append(key)
        for keys in groups.values():
            first, *others = keys
            if len({self.things[key].why for key in keys}) > 1:
                self.things[first].why = ""
            for key in others:
                self.things[first].names += self.things.pop(key).names
                self.tree.remove_node(key)

    # -- drawing --------------------------------------------------------------------------------

    def drawing(self) -> Drawing:
        paper = Paper(self.name, self.title, self.scene.car)
        used = {_BORDERS[sort][1]: sort for sort in self._used()}
        for meaning, sort in used.items():
            hatched = False if sort in _EDGED else None
            paper.key(meaning, _BORDERS[sort][0], hatched=hatched, outlined=True)
        paper.y += 6
        self._boxes(paper)
        alt = f"{self.title}. {' '.join(self._sentences())}"
        caption = "From what was asked for down to each line, with the reason of each."
        values = tuple(self._values())
        return Drawing(self.name, self.title, caption, alt, values, paper.svg(alt))

    def _used(self) -> list[str]:
        found = {thing.sort for thing in self.things.values()}
        return [sort for sort in _BORDERS if sort in found]

    def _boxes(self, paper: Paper) -> None:
        layers = {
            key: depth for depth, layer in enumerate(nx.topological_generations(self.tree))
            for key in layer
        }
        feet: dict[str, float] = {}
        for key in self._order():
            thing = self.things[key]
            left = MARGIN + _INDENT * layers[key]
            top, foot = self._box(paper, thing, left)
            for parent in self.tree.predecessors(key):
                trunk = MARGIN + _INDENT * layers[parent] + _INDENT / 2
                elbow = [(trunk, feet[parent]), (trunk, top + 8), (left, top + 8)]
                paper.line(elbow)
                paper.arrow(elbow[2], elbow[1])
            feet[key] = foot

    def _order(self) -> Iterator[str]:
        """Each thing after the one it stands under; what was asked for first, as it was."""
        roots = [key for key in self.things if not self.tree.in_degree(key)]
        for root in sorted(roots, key=lambda key: self.things[key].sort == "ground"):
            yield from nx.dfs_preorder_nodes(self.tree, root)

    def _box(self, paper: Paper, thing: _Thing, left: float) -> tuple[float, float]:
        """Draw one box; where it begins and ends."""
        room = WIDTH - MARGIN - left - 2 * _BESIDE
        lines = [
            *((line, True) for name in thing.names
              for line in wrapped(name, SMALL, room, bold=True, most=3)),
            *((line, False) for line in _wrapped(thing.why, room)),
            *((line, False) for name in thing.also for line in _wrapped(f"also for {name}", room)),
        ]
        top = paper.y
        high = len(lines) * SMALL * LINE_HEIGHT + _BESIDE
        box = shapely.box(left, top, WIDTH - MARGIN, top + high)
        style, _ = _BORDERS[thing.sort]
        if thing.sort in _EDGED:
            paper.hatch(shapely.box(left, top, left + 4, top + high), step=3)
        paper.area(box, style)
        for number, (line, bold) in enumerate(lines):
            foot = top + _BESIDE / 2 + (number + 0.78) * SMALL * LINE_HEIGHT
            paper.text((left + _BESIDE, foot), line, SMALL, bold=bold)
        paper.y = top + high + _BETWEEN
        return top, top + high

    # -- words ----------------------------------------------------------------------------------

    def _sentences(self) -> Iterator[str]:
        for key in self._order():
            thing = self.things[key]
            above = [self.things[parent].names[0] for parent in self.tree.predecessors(key)]
            under = f", because of {above[0]}" if above else ""
            why = f": {thing.why}" if thing.why else ""
            yield f"{'; '.join(thing.names)}{under}{why}."

    def _values(self) -> Iterator[Value]:
        lines = self.scene.package.lines
        for status in dict.fromkeys(line.status for line in lines):
            count = sum(line.status == status for line in lines)
            yield Value(f"lines {status.replace('_', ' ')}", float(count), "")
        yield Value("steps of work", float(len(self.scene.package.work)), "")


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"


def _wrapped(text: str, room: float) -> Iterable[str]:
    return wrapped(text, SMALL, room, most=3) if text else ()
