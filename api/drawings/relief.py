"""The gap beside an obstacle shown large, before and after the work that gives room."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from shapely.affinity import translate
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
    Spot,
)
from api.drawings.scene import gap_said
from api.drawings.view import Labels, View, dimension, middle, scale_bar
from rules.engineering.sections import shortest_way

_CLOSE = 18.0
"""At least half of what one picture shows across, mm."""
_HALF = INNER / 2 - 6


class Relief(NamedTuple):
    """Work in the package that gives room beside an obstacle, mm."""

    work: str
    effect: str
    by: float


class Envelopes(NamedTuple):
    """Tyre and rim as drawn and the most they may cover, mm; the room required around them."""

    drawn: BaseGeometry
    most: BaseGeometry
    required: float


def before_and_after(paper: Paper, wheel: Envelopes, near: Near, relief: Relief) -> None:
    """Two pictures side by side and what they mean: as it is, and after the work.

    After it the obstacle is drawn straight away from tyre and rim by what the check counts on.
    """
    paper.say(f"Work: {relief.work}, gives {relief.by:g} mm", bold=True)
    paper.say(f"Effect: {relief.effect}.", SMALL)
    away = _away(near, relief)
    moved, gained = translate(near.shape, *away), near.gap.nominal + relief.by
    paper.y += SMALL * LINE_HEIGHT
    view = _view(paper, near, away, gained)
    _close(paper, view(MARGIN), wheel, "before", near.shape, near.gap.nominal)
    _close(paper, view(WIDTH - MARGIN - _HALF), wheel, "after", moved, gained)
    paper.y += view(MARGIN).height + 2
    scale_bar(paper, view(MARGIN))
    _explain(paper, wheel, near, relief)


def _away(near: Near, relief: Relief) -> Spot:
    (x, y), (u, v) = near.way.coords
    share = relief.by / (near.way.length or 1.0)
    return (u - x) * share, (v - y) * share


def _view(paper: Paper, near: Near, away: Spot, gained: float) -> Callable[[float], View]:
    """The window of both pictures, put at a left edge."""
    (x, y), (u, v) = near.way.coords
    across, up = (x + u + away[0]) / 2, (y + v + away[1]) / 2
    reach = max(_CLOSE, gained * 0.75)
    top = paper.y
    return lambda left: View(
        across - reach, up - reach * 0.8, across + reach, up + reach * 0.8, left, top,
        _HALF / reach / 2,
    )


def _close(
    paper: Paper, view: View, wheel: Envelopes, word: str, shape: BaseGeometry, gap: float
) -> None:
    paper.text((view.x, view.y - 3), word, SMALL, bold=True)
    tyre, obstacle = view.on_paper(wheel.drawn), view.on_paper(shape)
    paper.hatch(tyre, step=9)
    paper.area(tyre, SOLID)
    paper.area(view.on_paper(wheel.most), DASHED)
    paper.area(view.on_paper(wheel.most.buffer(wheel.required)), CHAIN)
    draw_obstacle(paper, obstacle, tyre, "", view.scale)
    start, end = view.ends(shortest_way(wheel.drawn, shape))
    dimension(paper, start, end)
    paper.area(view.frame, THIN)
    labels = Labels(paper, view.frame, [tyre, obstacle])
    labels.put(middle(start, end), [gap_said(gap)], bold=True)


def _explain(paper: Paper, wheel: Envelopes, near: Near, relief: Relief) -> None:
    paper.key("how near the obstacle may come, its own tolerance apart", CHAIN)
    paper.say("After: moved straight away from tyre and rim, as the check counts it.", SMALL)
    gap = near.gap
    paper.say(
        f"Before: {gap.nominal:.1f} mm, worst case {gap.worst:.1f}. After: "
        f"{gap.nominal + relief.by:.1f} mm, worst case {gap.worst + relief.by:.1f}. "
        f"Required {wheel.required:.1f}. Measure after the work."
    )
