"""Old beside new at one scale, and the reasons of a kit."""

from __future__ import annotations

import re

import pytest

from api.drawings.because import because
from api.drawings.scene import Scene
from rules import answers as a
from tests.support.demo_kits import KITS, answered, demo, drawn
from tests.support.drawn import SVG, Drawn

HUNDREDTH = 0.05


def extent(seen: Drawn, name: str) -> tuple[float, float]:
    """Width and height of a shape, mm."""
    left, top, right, bottom = seen.shape(name).bounds
    return right - left, bottom - top


def test_old_and_new_are_drawn_at_one_scale_and_in_true_size() -> None:
    """Stock disc 276 x 24, new disc 284 x 24."""
    seen = Drawn(drawn("brakes and wheels")["beside-front-disc"])
    assert extent(seen, "old-0") == pytest.approx((276, 276), abs=HUNDREDTH)
    assert extent(seen, "new-0") == pytest.approx((284, 284), abs=HUNDREDTH)
    assert extent(seen, "new-1") == pytest.approx((24, 284), abs=HUNDREDTH)


def test_every_figure_of_a_drawing_has_one_scale() -> None:
    for kit in KITS:
        for name, drawing in drawn(kit).items():
            if name.startswith("beside"):
                scales = {
                    path.attrib["data-scale"] for path in Drawn(drawing).root.iter(f"{SVG}path")
                    if "data-scale" in path.attrib
                }
                assert len(scales) == 1, name


def test_a_wheel_with_its_tyre_is_as_large_as_the_check_has_it() -> None:
    """By hand for 205/45 R16 on 7 J: 590 mm high, 206.4 mm wide (see the tests of tyre room)."""
    seen = Drawn(drawn("brakes and wheels")["beside-wheels-front-rear"])
    assert extent(seen, "new-0")[1] == pytest.approx(590, abs=HUNDREDTH)
    assert extent(seen, "new-2") == pytest.approx((206.42, 590), abs=HUNDREDTH)


def test_a_spring_is_drawn_with_the_length_of_its_closed_coils() -> None:
    drawing = drawn("dampers")["beside-front-spring"]
    seen = Drawn(drawing)
    assert extent(seen, "new-0") == pytest.approx((60, 240), abs=HUNDREDTH)
    values = {value.name: value.value for value in drawing.values}
    assert values["length with its coils closed, new"] == 88
    words = " ".join(seen.texts())
    assert "26 N/mm 48 N/mm +22 N/mm" in words


def test_every_line_of_a_kit_and_every_step_has_its_reason_drawn() -> None:
    for kit in ("brakes and wheels", "dampers", "van"):
        _, package = answered(kit)
        words = " ".join(Drawn(drawn(kit)["because"]).texts())
        for line in package.lines:
            assert f"{line.qty:g} {line.unit or '×'} {line.name.split()[0]}" in words, line.part
        for work in package.work:
            assert f"Work: {work.name.split()[0]}" in words


def test_what_a_thing_is_there_for_stands_above_it_and_further_left() -> None:
    question, package = answered("brakes and wheels")
    (sketch,) = because(Scene(demo(), question, package))
    lefts: dict[str, tuple[float, float]] = {}
    for text in Drawn(sketch.drawing()).root.iter(f"{SVG}text"):
        lefts.setdefault(text.text or "", (float(text.attrib["x"]), float(text.attrib["y"])))
    for above, below in sketch.tree.edges:
        (one, first), (other, second) = (
            next(spot for text, spot in lefts.items() if name.startswith(text))
            for name in (sketch.things[key].names[0] for key in (above, below))
        )
        assert one < other
        assert first < second


def test_a_long_kit_is_gathered_into_fewer_boxes() -> None:
    question, package = answered("dampers")
    (sketch,) = because(Scene(demo(), question, package))
    assert len(sketch.things) < len(package.lines) + len(package.work)
    names = [name for thing in sketch.things.values() for name in thing.names]
    assert len(names) == len(package.lines) + len(package.work)


def test_a_short_kit_says_why_at_every_line() -> None:
    words = " ".join(Drawn(drawn("nothing to see")["because"]).texts())
    assert re.search(r"1 × Bleed", words)


def test_an_impossible_question_has_no_reasons_to_draw() -> None:
    assert "because" not in drawn("what cannot be")
    assert not [name for name in drawn("what cannot be") if name.startswith("beside")]


def test_what_rests_on_a_stock_part_or_a_rule_stands_under_it() -> None:
    question, package = answered("brakes and wheels")
    last = package.lines[-3]
    chain = (
        a.Link(node="place:front-hose", text="", why="", basis="maker", source=""),
        a.Link(node=f"part:{last.part}", text="it is asked for", why="", basis="maker", source=""),
    )
    lines = (*package.lines[:-3], last.model_copy(update={"because": chain}), *package.lines[-2:])
    changed = package.model_copy(update={"lines": lines})
    (sketch,) = because(Scene(demo(), question, changed))
    words = Drawn(sketch.drawing()).texts()
    assert "On the car: Stock front brake hose, 2016 on" in words
    assert any(word.startswith("This car watches its tyre pressures") for word in words)
    assert any(word.startswith(f"{last.qty:g} × {last.name.split()[0]}") for word in words)
