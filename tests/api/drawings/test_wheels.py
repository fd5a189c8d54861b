"""Caliper in wheel and wheel in its room: what is drawn is what was judged."""

from __future__ import annotations

import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from api.drawings.all import drawings_of
from api.drawings.drawing import Drawing
from rules import answers as a
from rules import resolve
from tests.support.demo_kits import answered, demo, drawn
from tests.support.drawn import Drawn

HUNDREDTH = 0.02
"""Corners are written to a hundredth of a unit, which is about as much of a millimetre."""


def lines(kit: str, check: str, axle: str) -> dict[str, tuple[float | None, str]]:
    """Margin and verdict of a check in the answer, by aspect."""
    _, package = answered(kit)
    return {
        line.aspect: (line.margin, line.verdict) for line in package.checks
        if line.check == check and line.axle == axle
    }


@pytest.mark.parametrize(("kit", "axle"), [
    ("brakes and wheels", "front"), ("brakes and wheels", "rear"), ("early car", "front"),
    ("early car", "rear"), ("van", "front"),
])
def test_the_gaps_measured_on_paper_are_the_margins_of_the_check(kit: str, axle: str) -> None:
    judged = lines(kit, "caliper-in-wheel", axle)
    seen = Drawn(drawn(kit)[f"caliper-{axle}"])
    caliper, barrel, spokes = (seen.shape(n) for n in ("caliper", "barrel", "spokes"))
    # Straight up from each corner to the barrel, straight out to the spokes.
    assert _least(caliper, barrel, 1) == pytest.approx(judged["radial"][0], abs=HUNDREDTH)
    assert _least(caliper, spokes, 0) == pytest.approx(judged["axial"][0], abs=HUNDREDTH)


def _least(caliper: BaseGeometry, surface: BaseGeometry, across: int) -> float:
    """The least way from the caliper to a surface along y (upwards on paper) or along x."""
    corners = shapely.get_coordinates([caliper, surface])
    ends = surface.bounds[1 - across], surface.bounds[3 - across]
    places = [c for c in corners[:, 1 - across] if ends[0] <= c <= ends[1]]
    gaps = []
    for place in places:
        line = [(place, -1e4), (place, 1e4)] if across else [(-1e4, place), (1e4, place)]
        ray = shapely.LineString(line)
        body, wheel = caliper.intersection(ray), surface.intersection(ray)
        if not body.is_empty and not wheel.is_empty:
            gaps.append(body.bounds[1] - wheel.bounds[3] if across
                        else wheel.bounds[0] - body.bounds[2])
    return min(gaps)


@pytest.mark.parametrize("kit", ["brakes and wheels", "early car", "van"])
def test_the_distance_between_tyre_and_obstacle_on_paper_is_the_margin(kit: str) -> None:
    for axle in ("front", "rear"):
        found: dict[str, list[float]] = {}
        for drawing in _rooms(kit, axle):
            seen = Drawn(drawing)
            for key in lines(kit, "tyre-room", axle):
                obstacle = seen.shape(key)
                if not obstacle.is_empty:
                    found.setdefault(key, []).append(seen.shape("tyre").distance(obstacle))
        assert found
        for key, (margin, verdict) in lines(kit, "tyre-room", axle).items():
            if verdict == "not_known":
                continue
            assert min(found[key]) == pytest.approx(margin, abs=HUNDREDTH), key


def test_what_was_not_measured_is_said_and_not_drawn() -> None:
    assert lines("van", "tyre-room", "rear")["rear-pipe"][1] == "not_known"
    drawings = _rooms("van", "rear")
    assert all(Drawn(drawing).shape("rear-pipe").is_empty for drawing in drawings)
    words = " ".join(" ".join(Drawn(drawing).texts()) for drawing in drawings)
    assert "not measured: outline of the brake pipe clip on the rear axle" in words


def _rooms(kit: str, axle: str) -> list[Drawing]:
    return [d for name, d in drawn(kit).items() if name.startswith(f"room-{axle}")]


def test_each_state_of_the_suspension_is_drawn() -> None:
    names = [name for name in drawn("brakes and wheels") if name.startswith("room-front")]
    states = ("ride-height", "full-compression", "full-lock")
    assert names == [f"room-front-{state}" for state in states]


def test_work_that_gives_room_is_shown_before_and_after() -> None:
    drawing = drawn("brakes and wheels")["room-front-full-lock"]
    words = " ".join(Drawn(drawing).texts())
    assert "Work: Move the front hose bracket, moves it 9 mm inboard" in words
    assert "Effect: the front brake hose stands 9 mm further inboard" in words
    assert "Before: 4.0 mm, worst case 3.0. After: 13.0 mm, worst case 12.0." in words
    assert "Fits with work." in words
    # Where there is room enough in a state, no work is shown in it.
    other = " ".join(Drawn(drawn("brakes and wheels")["room-front-ride-height"]).texts())
    assert "Before" not in other
    seen = Drawn(drawing)
    gaps = [seen.shape(f"tyre-{at}").distance(seen.shape(f"front-hose-{at}"))
            for at in ("before", "after")]
    assert gaps == pytest.approx([4.0, 13.0], abs=0.05)


def test_the_obstacle_is_drawn_where_the_work_puts_it() -> None:
    # Up and inboard: a move that is not straight along the gap. The numbers are the check's.
    question = a.Question(
        vehicle="quernby", year=2017, variant="q16", deadline=60, alternatives=False,
        picks=(a.Item(part="tyre-wide-16"), a.Item(part="wheel-corrie-16")),
    )
    package = resolve.package(demo(), question)
    drawings = {drawing.name: drawing for drawing in drawings_of(demo(), question, package)}
    seen = Drawn(drawings["room-front-full-compression"])
    words = " ".join(seen.texts())
    assert "moves it 5 mm inboard and 5 mm away from the axis" in words.replace("  ", " ")
    before, after = (
        seen.shape(f"tyre-{at}").distance(seen.shape(f"tower-lip-{at}"))
        for at in ("before", "after")
    )
    (line,) = (line for line in package.checks if line.aspect == "tower-lip")
    assert before == pytest.approx(line.margin, abs=0.05)
    assert f"after 'Dress the lip of the front towers' {after:.1f} mm" in line.says


def test_what_cannot_be_is_drawn_as_asked_for() -> None:
    drawing = drawn("what cannot be")["caliper-front"]
    words = " ".join(Drawn(drawing).texts())
    assert "radial: strikes by 9.8 mm" in words
    assert "Does not fit." in words
    seen = Drawn(drawing)
    assert seen.shape("caliper").bounds[1] < seen.shape("barrel").bounds[1]


def test_what_is_in_a_kit_that_cannot_be_is_drawn_too() -> None:
    question = a.Question(
        vehicle="quernby", year=2017, variant="q16", deadline=60,
        picks=(a.Item(part="kit-front-tor-late"), a.Item(part="wheel-corrie-15")),
    )
    package = resolve.package(demo(), question)
    assert package.outcome == "impossible"
    drawings = {drawing.name: drawing for drawing in drawings_of(demo(), question, package)}
    words = " ".join(Drawn(drawings["caliper-front"]).texts())
    assert "radial: strikes by 9.8 mm" in words


def test_the_numbers_beside_a_drawing_are_those_of_the_check() -> None:
    values = {v.name: (v.value, v.unit) for v in drawn("brakes and wheels")["caliper-front"].values}
    judged = lines("brakes and wheels", "caliper-in-wheel", "front")
    assert values["radial gap"] == (pytest.approx(judged["radial"][0]), "mm")
    assert values["axial gap"] == (pytest.approx(judged["axial"][0]), "mm")
    assert values["radial gap, required"] == (3.0, "mm")


def test_there_is_nothing_to_draw_of_a_bleed_cap() -> None:
    assert not [n for n in drawn("nothing to see") if n.startswith(("caliper", "room"))]
