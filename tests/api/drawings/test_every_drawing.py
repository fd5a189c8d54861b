"""What holds for every drawing, on kits of the demo."""

from __future__ import annotations

import re

import pytest

from api.drawings.all import drawing_of, drawings_of
from tests.support.demo_kits import KITS, answered, demo, drawn
from tests.support.drawn import SVG, Drawn

every_kit = pytest.mark.parametrize("kit", KITS)


@every_kit
def test_no_words_lie_over_others_and_nothing_is_cut_off(kit: str) -> None:
    for name, drawing in drawn(kit).items():
        seen = Drawn(drawing)
        assert not seen.overlaps(), name
        assert not seen.outside(), name
        assert seen.texts()


@every_kit
def test_a_drawing_says_in_words_what_it_shows(kit: str) -> None:
    for drawing in drawn(kit).values():
        root = Drawn(drawing).root
        title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
        assert title is not None
        assert desc is not None
        assert (title.text, desc.text) == (drawing.title, drawing.alt)
        assert root.attrib["role"] == "img"
        assert root.attrib["aria-labelledby"] == f"{title.attrib['id']} {desc.attrib['id']}"
        assert drawing.title in drawing.alt
        assert drawing.caption


@every_kit
def test_nothing_in_a_drawing_needs_leave_or_a_connection(kit: str) -> None:
    """It works under a policy that allows no styles, scripts or other files."""
    for drawing in drawn(kit).values():
        root = Drawn(drawing).root
        tags = {element.tag.removeprefix(SVG) for element in root.iter()}
        assert tags <= {"svg", "title", "desc", "rect", "g", "path", "text"}
        names = {name for element in root.iter() for name in element.attrib}
        assert not {n for n in names if n in ("style", "class", "href") or n.startswith("on")}
        assert "url(" not in drawing.svg


@every_kit
def test_the_ids_of_all_drawings_differ_so_that_they_can_stand_on_one_page(kit: str) -> None:
    ids = re.findall(r' id="([^"]+)"', "".join(d.svg for d in drawn(kit).values()))
    assert len(set(ids)) == len(ids) == 2 * len(drawn(kit))


@every_kit
def test_letters_are_large_enough_on_a_telephone(kit: str) -> None:
    """At 360 px one unit is one pixel."""
    for drawing in drawn(kit).values():
        seen = Drawn(drawing)
        sizes = [float(text.attrib["font-size"]) for text in seen.root.iter(f"{SVG}text")]
        assert min(sizes) >= 10
        assert seen.width == 360 or drawing.name == "because"


@every_kit
def test_the_same_question_gives_the_same_bytes(kit: str) -> None:
    again = drawings_of(demo(), *answered(kit))
    assert [d.svg for d in again] == [d.svg for d in drawn(kit).values()]


def test_one_drawing_can_be_had_by_its_name() -> None:
    asked = answered("brakes and wheels")
    alone = drawing_of(demo(), *asked, "caliper-front")
    assert alone == drawn("brakes and wheels")["caliper-front"]
    assert drawing_of(demo(), *asked, "no-such-drawing") is None


def test_ink_alone_carries_the_meaning() -> None:
    """Every colour is a shade of grey."""
    for drawing in drawn("brakes and wheels").values():
        colours = set(re.findall(r"#[0-9a-fA-F]+", drawing.svg))
        assert all(len(set(colour[1:])) == 1 for colour in colours), colours
