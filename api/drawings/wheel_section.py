"""A section through wheel and caliper: the least gaps, and what is required of them."""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from shapely.affinity import translate
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from api.drawings.drawing import Drawing, Sketch, Value
from api.drawings.paper import CHAIN, DASHED, HEAVY, SOLID, Paper
from api.drawings.scene import Judged, Scene, gap_said, say_verdicts, verdict
from api.drawings.view import Labels, View, dimension, middle, scale_bar, sides, view_of
from rules import answers as a
from rules.checks.caliper_in_wheel import Section, section
from rules.engineering.caliper_in_wheel import CaliperGaps, Gap, caliper_gaps
from rules.engineering.sections import outline, profile

_METAL = 5.0
"""How much of the wheel's metal is shown behind its measured inside, mm."""
_FAR = 500.0


def wheel_sections(scene: Scene) -> Iterator[Sketch]:
    """One drawing for each caliper in its wheel whose shapes are known."""
    for judged in scene.judged("caliper-in-wheel"):
        shapes = section(scene.sheet(judged))
        if shapes is None:
            continue
        try:
            gaps = caliper_gaps(*shapes[:4])
        except ValueError:
            continue  # a profile is too short: the check says how far to measure it
        yield _Drawn(scene, judged, shapes, gaps)


class _Drawn:
    """One section, in the frame of the hub: a spacer moves the wheel outboard."""

    def __init__(self, scene: Scene, judged: Judged, shapes: Section, gaps: CaliperGaps) -> None:
        self.scene, self.judged = scene, judged
        self.spacer = shapes.spacer.nominal if shapes.spacer else 0.0
        self.caliper = outline(shapes.caliper)
        self.barrel = translate(profile(shapes.barrel), self.spacer)
        self.spokes = translate(profile(shapes.spokes), self.spacer)
        self.radial, self.axial = (self._moved(gap) for gap in gaps)
        self.lines = judged.aspect("radial"), judged.aspect("axial")
        where = f"{judged.axle} " if judged.axle else ""
        self.title = f"{where}caliper in its wheel".capitalize()
        self.name = f"caliper-{judged.axle}" if judged.axle else "caliper"

    def _moved(self, gap: Gap) -> Gap:
        (x, y), (u, v) = gap.caliper, gap.wheel
        return Gap(gap.length, (x + self.spacer, y), (u + self.spacer, v))

    def drawing(self) -> Drawing:
        paper = Paper(self.name, self.title, f"{self.scene.names(self.judged)}. {self.scene.car}")
        view = view_of(paper, [self.caliper, self.barrel, self.spokes, self._metal()])
        self._draw(paper, view)
        paper.y += view.height + 4
        sides(paper, view)
        scale_bar(paper, view)
        self._key(paper)
        alt = f"{self.title}: {self.scene.names(self.judged)}. {' '.join(self._says())}"
        return Drawing(
            self.name, self.title, " ".join(self._says()), alt, tuple(self._values()),
            paper.svg(alt),
        )

    def _draw(self, paper: Paper, view: View) -> None:
        shown = [view.on_paper(s) for s in (self.caliper, self.barrel, self.spokes)]
        metal = view.on_paper(self._metal())
        paper.hatch(metal, falling=True)
        paper.hatch(shown[0])
        paper.area(view.on_paper(self._struck()), HEAVY, fill="#aaa")
        paper.area(shown[0], SOLID, name="caliper", scale=view.scale)
        for surface, name in zip(shown[1:], ("barrel", "spokes"), strict=True):
            paper.area(surface, HEAVY, name=name, scale=view.scale)
        limits = [view.on_paper(limit) for limit in self._limits()]
        for limit in limits:
            paper.area(limit, DASHED)
        faces = [view.upright(x) for x in dict.fromkeys((0.0, self.spacer))]
        for face in faces:
            paper.area(face, CHAIN)
        ends = [(view.spot(gap.caliper), view.spot(gap.wheel)) for gap in (self.radial, self.axial)]
        for start, end in ends:
            dimension(paper, start, end)
        drawn = [*shown, metal, *limits, *faces, *(LineString(pair) for pair in ends)]
        labels = Labels(paper, view.frame, drawn)
        for way, gap, (start, end) in zip(
            ("radial", "axial"), (self.radial, self.axial), ends, strict=True
        ):
            labels.put(middle(start, end), [f"{way}: {gap_said(gap.length)}"], bold=True)
        self._name(labels, view)

    def _name(self, labels: Labels, view: View) -> None:
        inside = self.caliper.representative_point()
        labels.within(view.spot((inside.x, inside.y)), "caliper")
        for surface, name in ((self.barrel, "barrel"), (self.spokes, "back of the spokes")):
            half = surface.interpolate(0.3, normalized=True)
            labels.put(view.spot((half.x, half.y)), [name])
        face = "face of the spacer" if self.spacer else "hub face"
        labels.put(view.spot((self.spacer, view.bottom + 8)), [face])

    def _metal(self) -> BaseGeometry:
        """A strip of the wheel behind its measured inside: how thick it is, nobody measured."""
        high = translate(self.barrel, 0.0, _METAL)
        wide = translate(self.spokes, _METAL)
        return shapely.union_all([_between(self.barrel, high), _between(self.spokes, wide)])

    def _struck(self) -> BaseGeometry:
        """What of the caliper lies beyond the wheel's inside."""
        beyond = [_between(self.barrel, translate(self.barrel, 0.0, _FAR)),
                  _between(self.spokes, translate(self.spokes, _FAR))]
        return shapely.union_all(beyond).intersection(self.caliper)

    def _limits(self) -> Iterator[BaseGeometry]:
        """How near the caliper may come."""
        radial, axial = self.lines
        if radial and radial.required:
            yield translate(self.barrel, 0.0, -radial.required)
        if axial and axial.required:
            yield translate(self.spokes, -axial.required)

    def _key(self, paper: Paper) -> None:
        paper.key("caliper, in section", SOLID, hatched=False)
        paper.key("wheel: its measured inside, metal behind", HEAVY, hatched=True)
        radial, axial = self.lines
        if radial and axial and radial.required and axial.required:
            paper.key(f"required room: {radial.required:.1f} mm radial, {axial.required:.1f} axial",
                      DASHED)
        spacer = f", spacer {self.spacer:g} mm" if self.spacer else ""
        paper.key(f"faces of the hub{spacer}; the wheel turns about an axis below", CHAIN)
        paper.y += 4
        paper.say(
            f"Tightest radially: caliper {self.radial.caliper[1]:.1f} mm and barrel "
            f"{self.radial.wheel[1]:.1f} mm from the wheel axis."
        )
        paper.y += 4
        say_verdicts(paper, self._says())

    def _says(self) -> list[str]:
        return [verdict(line) for line in self.judged.lines]

    def _values(self) -> Iterator[Value]:
        yield Value("radial gap", self.radial.length, "mm")
        yield Value("axial gap", self.axial.length, "mm")
        for way, line in zip(("radial", "axial"), self.lines, strict=True):
            yield from _of_line(way, line)
        yield Value("caliper from the wheel axis", self.radial.caliper[1], "mm")
        yield Value("barrel from the wheel axis", self.radial.wheel[1], "mm")


def _of_line(way: str, line: a.CheckLine | None) -> Iterator[Value]:
    if line and line.worst_case is not None and line.required is not None:
        yield Value(f"{way} gap, worst case", line.worst_case, "mm")
        yield Value(f"{way} gap, required", line.required, "mm")


def _between(line: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """The surface between a line and the same line moved."""
    strips = [
        shapely.Polygon([a1, a2, b2, b1])
        for (a1, a2), (b1, b2) in zip(
            zip(line.coords, line.coords[1:], strict=False),
            zip(other.coords, other.coords[1:], strict=False), strict=True,
        )
    ]
    return shapely.union_all([strip.buffer(0) for strip in strips])


