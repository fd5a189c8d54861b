"""How the brakes share the force between the axles, against the share that uses all grip."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from api.drawings.drawing import Drawing, Sketch, Value
from api.drawings.paper import (
    CHAIN,
    DASHED,
    HEAVY,
    MARGIN,
    SMALL,
    SOLID,
    THIN,
    WIDTH,
    Paper,
    Style,
)
from api.drawings.scene import Judged, Scene, say_verdicts, verdict
from api.drawings.view import Labels, View
from rules.checks.brake_balance import Balance, Loading, balance_of
from rules.engineering.brake_balance import (
    ORDER_RANGE,
    MassLayout,
    critical_rate,
    ideal_forces,
)

CHECKS = ("brake-balance", "brake-balance-drums", "brake-balance-stated", "brake-balance-tyres")
_RIGHT, _TOP, _MOST = 0.96, 0.46, 1.3
"""The window: force on the road over weight, front and rear; the highest braking rate drawn."""
_LEFT = MARGIN + 26.0
_TOLD_APART = 0.002
"""Shares nearer than this lie on one line."""


def brake_balances(scene: Scene) -> Iterator[Sketch]:
    """One drawing for the brakes that are to be on the car, where all of it is known.

    Of an impossible question none: which other brake parts would come with the picks is open.
    """
    found = [
        (judged, new) for judged in scene.judged(*CHECKS)
        if (new := _balance(scene, judged, judged.parts))
    ] if scene.possible else []
    # The check with the new tyres comes last, and knows most.
    for judged, new in found[-1:]:
        stock = scene.stock(judged)
        yield _Drawn(scene, judged, new, _balance(scene, judged, stock) if stock else None)


def _balance(scene: Scene, judged: Judged, parts: tuple[str, ...]) -> Balance | None:
    try:
        return balance_of(scene.sheet(judged, parts))
    except ValueError:
        return None  # outside what the formulas are good for: the check says so


class _Drawn:
    """Front and rear brake force in one plane, a picture for each state of load."""

    title = "Brake balance, front and rear"

    def __init__(
        self, scene: Scene, judged: Judged, new: Balance, stock: Balance | None
    ) -> None:
        self.scene, self.judged, self.new, self.stock = scene, judged, new, stock
        self.name = "brake-balance"

    def drawing(self) -> Drawing:
        about = f"{self.scene.names(self.judged)}. {self.scene.car}"
        paper = Paper(self.name, self.title, about)
        paper.say("Brake force on the road, as a share of the car's weight.", SMALL)
        for loading in self.new.loadings:
            self._picture(paper, loading)
        self._key(paper)
        says = [verdict(line) for line in self.judged.lines]
        say_verdicts(paper, says)
        alt = f"{self.title}: {about}. {' '.join(says)}"
        return Drawing(
            self.name, self.title, self._caption(), alt, tuple(self._values()), paper.svg(alt)
        )

    def _picture(self, paper: Paper, loading: Loading) -> None:
        paper.y += 4
        paper.say(loading.name.capitalize(), bold=True)
        scale = (WIDTH - MARGIN - _LEFT) / _RIGHT
        view = View(0.0, 0.0, _RIGHT, _TOP, _LEFT, paper.y + 4, scale)
        rear_first = view.on_paper(_rear_first(loading.nominal))
        paper.hatch(rear_first, falling=True, step=7)
        _axes(paper, view)
        labels = Labels(paper, view.frame, self._lines(paper, view, loading))
        self._together(paper, view, labels, loading)
        self._name_lines(view, labels, loading)
        if rear_first.area:
            inside = rear_first.representative_point()
            labels.within((inside.x, inside.y), "rear locks first")
        paper.y = view.y + view.height + 28

    def _lines(self, paper: Paper, view: View, loading: Loading) -> list[BaseGeometry]:
        """Draw the ideal share and those of new and stock brakes; all of them."""
        state = loading.name.replace(" ", "-")
        share = self.new.front_share
        lines: list[tuple[BaseGeometry, Style, str]] = [
            (_ideal(loading.nominal), HEAVY, f"ideal-{state}"),
            (_rate_line(ORDER_RANGE[1]), CHAIN, ""),
            *((_installed(end), THIN, "") for end in self._spread()),
            (_installed(share.nominal), SOLID, f"installed-{state}"),
        ]
        if self.stock is not None:
            lines.append((_installed(self.stock.front_share.nominal), DASHED, ""))
        shapes = [view.on_paper(line) for line, _, _ in lines]
        for shape, (_, style, name) in zip(shapes, lines, strict=True):
            paper.area(shape, style, name=name, scale=view.scale)
        return shapes

    def _spread(self) -> tuple[float, ...]:
        """The ends of the share within tolerances, where they differ."""
        share = self.new.front_share
        return (share.low, share.high) if share.high - share.low > _TOLD_APART / 2 else ()

    def _together(self, paper: Paper, view: View, labels: Labels, loading: Loading) -> None:
        """The point at which both axles lock, where the picture reaches as far."""
        share = self.new.front_share.nominal
        rate = critical_rate(loading.nominal, share)
        front, rear = share * rate, (1.0 - share) * rate
        if 0.0 < rate <= _MOST and front < _RIGHT and rear < _TOP:
            spot = view.spot((front, rear))
            paper.area(shapely.Point(spot).buffer(3.5), THIN, fill="#111")
            labels.put(spot, ["both axles lock", f"together at {rate:.2f} g"], bold=True)

    def _name_lines(self, view: View, labels: Labels, loading: Loading) -> None:
        """Each line by name, where it can be told from the others."""
        ideal = view.on_paper(_ideal(loading.nominal)).interpolate(0.2, normalized=True)
        labels.put((ideal.x, ideal.y), ["ideal"])
        share = self.new.front_share.nominal
        labels.put(view.spot((share * 0.5, (1 - share) * 0.5)), [f"new {share:.3f} front"])
        old = self.stock.front_share.nominal if self.stock else share
        if abs(old - share) > _TOLD_APART:
            labels.put(view.spot((old * 0.7, (1 - old) * 0.7)), [f"stock {old:.3f} front"])
        limit = ORDER_RANGE[1]
        labels.put(view.spot((limit * 0.93, limit * 0.07)), [f"{limit:.1f} g"])

    def _key(self, paper: Paper) -> None:
        paper.key("ideal: both axles use the same grip", HEAVY)
        share = self.new.front_share
        paper.key(f"brakes of this package: {share.nominal:.1%} at the front", SOLID)
        if self._spread():
            paper.key(f"the same within tolerances: {share.low:.1%} to {share.high:.1%}", THIN)
        if self.stock is not None:
            paper.key(f"stock brakes: {self.stock.front_share.nominal:.1%} at the front", DASHED)
        paper.key(f"braking at {ORDER_RANGE[1]:.1f} g: up to here the front is to lock first",
                  CHAIN)
        paper.key("above the ideal line the rear locks first", THIN, hatched=True)
        paper.y += 4
        rows = [["Both axles lock together at", "new", "stock", "required"]]
        for loading in self.new.loadings:
            rates = [critical_rate(loading.nominal, b.front_share.nominal) if b else None
                     for b in (self.new, self.stock)]
            rows.append([loading.name, *(f"{r:.2f} g" if r is not None else "" for r in rates),
                         f"{ORDER_RANGE[1]:.2f} g"])
        paper.columns(rows, [MARGIN, 165.0, 225.0, 285.0])
        paper.y += 4

    def _caption(self) -> str:
        was = f", stock {self.stock.front_share.nominal:.1%}" if self.stock else ""
        return f"{self.new.front_share.nominal:.1%} of the brake force at the front{was}."

    def _values(self) -> Iterator[Value]:
        for name, balance in (("new", self.new), ("stock", self.stock)):
            if balance is None:
                continue
            yield Value(f"front share, {name}", balance.front_share.nominal, "")
            for loading in balance.loadings:
                rate = critical_rate(loading.nominal, balance.front_share.nominal)
                yield Value(f"both axles lock together, {loading.name}, {name}", rate, "g")


def _axes(paper: Paper, view: View) -> None:
    """The two axes with their marks, and lines of equal braking."""
    corner, right = view.spot((0.0, 0.0)), view.spot((_RIGHT, 0.0))
    top = view.spot((0.0, _TOP))
    paper.line([top, corner, right], SOLID)
    for mark in np.arange(0.2, _RIGHT, 0.2):
        x, y = view.spot((mark, 0.0))
        paper.line([(x, y), (x, y + 4)])
        paper.text((x, y + 14), f"{mark:.1f}", SMALL, anchor="middle")
        paper.area(view.on_paper(_rate_line(float(mark))), {"stroke-width": "0.4"})
    for mark in np.arange(0.2, _TOP, 0.2):
        x, y = view.spot((0.0, mark))
        paper.line([(x - 4, y), (x, y)])
        paper.text((x - 6, y + 3), f"{mark:.1f}", SMALL, anchor="end")
    paper.text((right[0], right[1] + 25), "front brake force / weight →", SMALL, anchor="end")
    paper.text((top[0] + 5, top[1] + 11), "↑ rear", SMALL)


def _ideal(layout: MassLayout) -> BaseGeometry:
    """The forces that use the grip of both axles alike, over the car's weight."""
    highest = min(_MOST, 0.98 * layout.rear_rest_share / layout.transfer)
    pairs = [ideal_forces(layout, rate) for rate in np.linspace(0.0, highest, 49)]
    return shapely.LineString([(p.front / layout.weight, p.rear / layout.weight) for p in pairs])


def _rear_first(layout: MassLayout) -> BaseGeometry:
    """Where the rear brakes do more than the ideal, as far as the curve goes."""
    curve = list(_ideal(layout).coords)
    return shapely.Polygon([*curve, (curve[-1][0], 2.0), (0.0, 2.0)]).buffer(0)


def _installed(share: float) -> BaseGeometry:
    """Brakes that send a fixed share of the force to the front."""
    return shapely.LineString([(0.0, 0.0), (share * _MOST, (1.0 - share) * _MOST)])


def _rate_line(rate: float) -> BaseGeometry:
    """All pairs of forces that brake at a rate."""
    return shapely.LineString([(rate, 0.0), (0.0, rate)])
