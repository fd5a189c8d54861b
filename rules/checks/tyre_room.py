"""Does the wheel with its tyre have room on the car, and how does it stand beside stock?

One verdict for each obstacle: the state of the suspension that leaves the least room decides.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from itertools import combinations
from typing import NamedTuple

import shapely
from shapely.geometry.base import BaseGeometry

from kb.kinds.wheel import Obstacle, State
from kb.shapes import plain
from kb.units import Quantity
from rules.checking import After, Judgement, Sheet, Used, Verdict, check
from rules.checks.moves import STILL, Move, moves_of, without_direction
from rules.checks.tyre_sizes import (
    behind,
    go_together,
    new_parts,
    on_its_rim,
    stock_parts,
)
from rules.engineering.sections import Points, camber_change, outline, seen_from_hub
from rules.engineering.tyres import MM_PER_INCH
from rules.engineering.wheel_room import (
    Clearance,
    WheelAndTyre,
    farthest,
    largest_envelope,
    room_clearance,
)
from rules.engineering.wheels import BOTH_FLANGES, Edges, edge_change, tyre_edges, wheel_edges

_ROUNDING = 1e-6
_clearance = lru_cache(maxsize=16384)(room_clearance)
_SOURCE = (
    "geometry, interval extremes; growth of a new tyre by UN Regulation No. 30, 6.1.4 and 6.1.5, "
    "from memory; rim allowances common practice"
)


class Seen(NamedTuple):
    """An obstacle in one state: its corners as the hub sees them, or what is missing.

    `extremes` are its corners at the ends of the tolerances of rise and camber.
    """

    state: str
    corners: Points = ()
    extremes: tuple[Points, ...] = ()
    missing: str = ""


@check(
    "tyre-room", ("tyre", "wheel"), modifier="spacer",
    formula="shortest distance between the section of tyre and rim and the outline of the obstacle",
    source=_SOURCE,
)
def tyre_room(sheet: Sheet) -> Judgement:
    """Tyre and rim must clear each obstacle around the wheel, in every state stated for it."""
    if not go_together(sheet):
        return None
    mounted = mounted_on(sheet)
    if mounted is None:
        return sheet.not_known()
    room = sheet.baseline.fact("room.obstacles", sheet.axle)
    inside = _within_stock(sheet, mounted)
    if room is None:
        where = f"{sheet.axle} wheel" if sheet.axle else "wheel"
        return _as_stock(sheet, "") if inside else sheet.not_known(f"room around the {where}")
    common, basis = list(sheet.values), f"{room.basis}: {room.source}".removesuffix(": ")
    found: list[Verdict] = []
    for key, obstacle in room.value.items():
        sheet.values = [*common, Used(f"outline of the {obstacle.name}", _text(obstacle), basis)]
        sheet.missing = []
        found.append(_judge(sheet, mounted, key, obstacle, inside=inside))
    return found


def mounted_on(sheet: Sheet) -> WheelAndTyre | None:
    """The tyre on its wheel beside the hub; None, and noted, when something is not known."""
    try:
        mounted = on_its_rim(new_parts(sheet), behind(sheet))
    except ValueError as error:
        sheet.missing.append(f"size of {sheet.name('tyre')} on its rim ({error})")
        return None
    return None if sheet.missing else mounted


def stock_on(sheet: Sheet) -> WheelAndTyre | None:
    """The stock tyre on the stock wheel of the axle, without a word on the sheet; None: unknown."""
    values = list(sheet.values)
    try:
        return on_its_rim(stock_parts(sheet))
    except ValueError:
        return None
    finally:
        sheet.values = values


def _within_stock(sheet: Sheet, mounted: WheelAndTyre) -> bool:
    """Whether tyre and rim reach nowhere that the stock ones may not reach as well."""
    stock = stock_on(sheet)
    return stock is not None and _covers(stock, mounted)


@lru_cache(maxsize=4096)
def _covers(stock: WheelAndTyre, mounted: WheelAndTyre) -> bool:
    if not mounted.shoulder_radius and not stock.shoulder_radius:
        both = zip(farthest(mounted), farthest(stock), strict=True)
        if any(new > old + _ROUNDING for new, old in both):
            return False  # seen without drawing anything
    return bool(_room_of(stock).covers(largest_envelope(mounted)))


@lru_cache(maxsize=256)
def _room_of(stock: WheelAndTyre) -> BaseGeometry:
    """All that the stock tyre and rim may cover, and what rounding may add."""
    return largest_envelope(stock).buffer(_ROUNDING, join_style="mitre")


def _as_stock(sheet: Sheet, aspect: str) -> Verdict:
    says = "tyre and rim reach no further anywhere than the stock ones may"
    return sheet.verdict("fits", says, aspect=aspect)


def _judge(
    sheet: Sheet, mounted: WheelAndTyre, key: str, obstacle: Obstacle, *, inside: bool
) -> Verdict:
    """The verdict on one obstacle."""
    seen = list(states_of(sheet, obstacle))
    unknown = [state.missing for state in seen if state.missing]
    if inside and unknown:
        return _as_stock(sheet, key)
    if unknown:
        return sheet.not_known(*unknown, aspect=key)
    gaps = {state.state: gap_of(mounted, state, obstacle) for state in seen}
    for state, gap in gaps.items():
        sheet.note(f"gap at {_words(state)}", f"{gap.nominal:.1f} mm, worst {gap.worst:.1f} mm")
    required = sheet.limit("tyre_room").value
    after = _after_work(sheet, mounted, key, obstacle, _least(gaps).worst, required)
    return _verdict(sheet, key, obstacle, gaps, required, after, inside=inside)


def _least(gaps: dict[str, Clearance]) -> Clearance:
    """The least nominal and the least worst gap over the states."""
    return Clearance(*map(min, zip(*gaps.values(), strict=True)))


def _after_work(
    sheet: Sheet, mounted: WheelAndTyre, key: str, obstacle: Obstacle, worst: float, required: float
) -> list[After]:
    """The gap after work that can change the verdict, in the state that leaves least.

    A gap changes by no more than the obstacle moves, so work that moves it less than there is to
    spare takes nothing. Two steps count where it fits as it is, or with one of them: what both do
    may spoil that.
    """
    def after(move: Move) -> After:
        return After(move.steps, *_least({
            seen.state: gap_of(mounted, seen, obstacle, move)
            for seen in states_of(sheet, obstacle, move)
        }))

    spare, moves = worst - required, list(moves_of(sheet, key))
    alone = [after(move) for move in moves if spare < move.reach]
    relied_on = {gap.steps for gap in alone if gap.worst >= required}
    both = [
        one.then(other) for one, other in combinations(moves, 2)
        if spare >= 0 or relied_on.intersection((one.steps, other.steps))
    ]
    return [*alone, *(after(move) for move in both if spare < move.reach)]


def gap_of(
    mounted: WheelAndTyre, seen: Seen, obstacle: Obstacle, move: Move = STILL
) -> Clearance:
    """The gap to an obstacle in one state, the worst over all ends of the tolerances.

    `move` says how well it is known where it stands; `seen` shows it moved already.
    """
    slack = (obstacle.tolerance.value if obstacle.tolerance else 0.0) + move.tolerance
    nominal = _clearance(mounted, seen.corners, slack)
    ends = [_clearance(mounted, corners, slack).worst for corners in seen.extremes]
    return Clearance(nominal.nominal, min([nominal.worst, *ends]))


def _verdict(
    sheet: Sheet, key: str, obstacle: Obstacle, gaps: dict[str, Clearance], required: float,
    after: list[After], *, inside: bool,
) -> Verdict:
    tightest = min(gaps, key=lambda state: gaps[state])
    verdict = sheet.clearance(
        f"tyre and rim to the {obstacle.name} at {_words(tightest)}", *_least(gaps), required,
        after=after, aspect=key,
    )
    if verdict.verdict in ("does_not_fit", "not_known"):
        verdict = replace(verdict, says=verdict.says + _uncounted(sheet, key, obstacle))
    if verdict.verdict == "fits" or not inside:
        return verdict
    # The factory's own tyre may reach as far: what it left is enough.
    says = f"{verdict.says}; but they reach no further anywhere than the stock ones may"
    return replace(verdict, verdict="fits", says=says, work=(), measure=())


def _uncounted(sheet: Sheet, key: str, obstacle: Obstacle) -> str:
    """The work that states a relief without a direction, in words."""
    return "".join(
        f"; '{sheet.catalogue.work[step].name}' does not count: it is not stated in which "
        f"direction it moves the {obstacle.name}" for step in without_direction(sheet, key)
    )


def states_of(sheet: Sheet, obstacle: Obstacle, move: Move = STILL) -> Iterator[Seen]:
    """The obstacle in each state it is to be judged in, its stated outlines moved."""
    for state in obstacle.states:
        drawn = state.outline or obstacle.outline
        if drawn is None:
            at = f"outline of the {obstacle.name} at {_words(state.state)}"
            yield Seen(state.state, missing=f"{at} ({sheet.axle or 'each'} axle)")
        elif state.outline is not None or state.rise is None:
            yield Seen(state.state, move.of(plain(drawn)))
        else:
            yield _risen(sheet, state, move.of(plain(drawn)), obstacle.name)


def _risen(sheet: Sheet, state: State, drawn: Points, name: str) -> Seen:
    """An obstacle of the body after the wheel has risen."""
    if state.rise is None or (state.camber is None and _swing_arm(sheet) is None):
        what = f"change of camber at {_words(state.state)}, for the {name}"
        return Seen(state.state, missing=what)
    ways = list(_ways(sheet, state, state.rise))
    rise, camber = ways[0]
    sheet.note(f"wheel at {_words(state.state)}", f"{rise:g} mm up, camber {camber:+.2f} deg")
    nominal, *ends = (_shifted(drawn, *way) for way in ways)
    return Seen(state.state, nominal, tuple(ends))


def _swing_arm(sheet: Sheet) -> Quantity | None:
    found: Quantity | None = sheet.fact("room.swing_arm", optional=True)
    return found


def _ways(sheet: Sheet, state: State, rise: Quantity) -> Iterator[tuple[float, float]]:
    """Rise and camber, nominal first, then the ends of their tolerances.

    A rising wheel leans in, as far as its swing arm says where no camber is stated.
    """
    for up in dict.fromkeys((rise.value, rise.low, rise.high)):
        if state.camber is not None:
            lean = state.camber
            yield from ((up, by) for by in dict.fromkeys((lean.value, lean.low, lean.high)))
        elif arm := _swing_arm(sheet):
            long = dict.fromkeys((arm.value, arm.low, arm.high))
            yield from ((up, -camber_change(up, by)) for by in long)


def _shifted(drawn: Points, rise: float, camber: float) -> Points:
    shape = seen_from_hub(outline(drawn), rise, camber)
    return tuple((float(x), float(y)) for x, y in shapely.get_coordinates(shape)[:-1])


def _text(obstacle: Obstacle) -> str:
    if obstacle.outline is None:
        return "one for each state, or not measured"
    corners = "; ".join(f"{p.x:g}, {p.y:g}" for p in obstacle.outline)
    slack = f" ± {obstacle.tolerance.value:g}" if obstacle.tolerance else ""
    return f"{corners}{slack} mm"


def _words(state: str) -> str:
    return state.replace("-", " ")


@check(
    "tyre-edges", ("tyre", "wheel"), modifier="spacer", informs=True,
    formula="inboard = width / 2 + offset - spacer; outboard = width / 2 - offset + spacer",
    source="geometry; sign of the offset from a terminology note (secondary)",
)
def edges(sheet: Sheet) -> Verdict | None:
    """Information: how far rim and tyre reach from the hub face, and the change against stock."""
    if not go_together(sheet):
        return None
    mounted = mounted_on(sheet)
    if mounted is None:
        return None
    spacer = behind(sheet)
    rim, tyre = _edges(mounted, spacer.nominal if spacer else 0.0)
    sheet.note("rim with flanges", _reach(rim))
    sheet.note("tyre", _reach(tyre))
    says = f"the tyre reaches {_reach(tyre)}"
    return sheet.verdict("fits", says + _beside_stock(sheet, tyre))


def _beside_stock(sheet: Sheet, tyre: Edges) -> str:
    """The change against the stock tyre on the stock wheel, in words; nothing when unknown."""
    try:
        stock = on_its_rim(stock_parts(sheet))
    except ValueError:
        return ""
    if stock is None:
        return ""
    change = edge_change(_edges(stock, 0.0)[1], tyre)
    return f": {change.inboard:+.1f} and {change.outboard:+.1f} mm against stock"


def _edges(mounted: WheelAndTyre, spacer: float) -> tuple[Edges, Edges]:
    code, offset = mounted.rim_width / MM_PER_INCH, mounted.offset.nominal
    return (
        wheel_edges(code, offset, spacer, BOTH_FLANGES),
        tyre_edges(mounted.section_width.nominal, offset, spacer),
    )


def _reach(edges: Edges) -> str:
    return f"{edges.inboard:.1f} mm inboard, {edges.outboard:.1f} mm outboard of the hub face"
