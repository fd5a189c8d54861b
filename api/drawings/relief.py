"""The gap beside an obstacle shown large, before and after the work that gives room."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from shapely import GeometryCollection
from shapely.geometry.base import BaseGeometry

from api.drawings.obstacles import Near, draw_obstacle
from api.drawings.paper import (
    CHAIN,
    DASHED,
    INNER,
    LINE_HEIGHT,
    MARGIN,
    SMALL,
    SOLID,
    THIN,
    WIDTH,
    Paper,
)
from api.drawings.scene import gap_said
from api.drawings.view import Labels, View, dimension, middle, scale_bar

_CLOSE = 18.0
"""At least half of what one picture shows across, mm."""
_HALF = INNER / 2 - 6


class Relief(NamedTuple):
    """Work that gives room beside an obstacle: how it moves it, and where it then stands."""

    work: str
    effect: str
    moves: str
    after: Near


class Envelopes(NamedTuple):
    """Tyre and rim as drawn and the most they may cover, mm; the room required around them."""

    drawn: BaseGeometry
    most: BaseGeometry
    required: float


def before_and_after(paper: Paper, wheel: Envelopes, near: Near, relief: Relief) -> None:
    """Two pictures side by side and what they mean: as it is, and after the work.

    After it the obstacle is drawn where the check counts on it to stand.
    """
    paper.say(f"Work: {relief.work}, moves it {relief.moves}", bold=True)
    paper.say(f"Effect: {relief.effect}.", SMALL)
    paper.y += SMALL * LINE_HEIGHT
    view = _view(paper, near, relief.after)
    _close(paper, view(MARGIN), wheel, "before", near)
    _close(paper, view(WIDTH - MARGIN - _HALF), wheel, "after", relief.after)
    paper.y += view(MARGIN).height + 2
    scale_bar(paper, view(MARGIN))
    _explain(paper, wheel, near, relief)


def _view(paper: Paper, before: Near, after: Near) -> Callable[[float], View]:
    """The window of both pictures, put at a left edge: it shows both gaps."""
    left, bottom, right, high = GeometryCollection([before.way, after.way]).bounds
    across, up = (left + right) / 2, (bottom + high) / 2
    reach = max(_CLOSE, (right - left) * 0.75, (high - bottom) * 0.95)
    top = paper.y
    return lambda left: View(
        across - reach, up - reach * 0.8, across + reach, up + reach * 0.8, left, top,
        _HALF / reach / 2,
    )


def _close(paper: Paper, view: View, wheel: Envelopes, word: str, near: Near) -> None:
    paper.text((view.x, view.y - 3), word, SMALL, bold=True)
    tyre, obstacle = view.on_paper(wheel.drawn), view.on_paper(near.shape)
    paper.hatch(tyre, step=9)
    paper.area(tyre, SOLID, name=f"tyre-{word}", scale=view.scale)
    paper.area(view.on_paper(wheel.most), DASHED)
    paper.area(view.on_paper(wheel.most.buffer(wheel.required)), CHAIN)
    draw_obstacle(paper, obstacle, tyre, f"{near.key}-{word}", view.scale)
    start, end = view.ends(near.way)
    dimension(paper, start, end)
    paper.area(view.frame, THIN)
    labels = Labels(paper, view.frame, [tyre, obstacle])
    labels.put(middle(start, end), [gap_said(near.gap.nominal)], bold=True)


def _explain(paper: Paper, wheel: Envelopes, near: Near, relief: Relief) -> None:
    paper.key("how near the obstacle may come, its own tolerance apart", CHAIN)
    paper.say("After: where the work puts it, as the check counts it.", SMALL)
    gap, then = near.gap, relief.after.gap
    paper.say(
        f"Before: {gap.nominal:.1f} mm, worst case {gap.worst:.1f}. After: "
        f"{then.nominal:.1f} mm, worst case {then.worst:.1f}. "
        f"Required {wheel.required:.1f}. Measure after the work."
    )
