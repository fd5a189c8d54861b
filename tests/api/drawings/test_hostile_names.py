"""Names from a catalogue are shown harmless, however they are made."""

from __future__ import annotations

import pytest

from api.drawings.all import drawings_of
from api.drawings.letters import clean, shortened, width, wrapped
from rules import answers as a
from rules.resolve import package
from tests.support.combinations import small_car
from tests.support.drawn import SVG, Drawn

NAMES = [
    "</text><script>alert(1)</script>", 'a" onload="alert(1)', "<![CDATA[ & ]]> &amp; &lt;",
    "left \u202eright\u202c and \u200fback", "W" * 300, "sixty words " * 25, "轮毂" * 40,
    "e\u0301" * 80,
]


@pytest.mark.parametrize("name", NAMES)
def test_a_hostile_name_stays_a_name(name: str) -> None:
    car = small_car(
        {
            "c": {"kind": "caliper", "name": name, "fits": [{"vehicles": ["tern"]}],
                  "dimensions": {"outline": ["-80, 100 mm", "0, 100 mm", "0, 150 mm"]}},
            "w": {"kind": "wheel", "name": name, "fits": [{"vehicles": ["tern"]}], "dimensions": {
                "rim": "7 J x 16", "offset": "40 mm",
                "barrel": ["-100, 190 mm", "40, 180 mm"], "spokes": ["30, 50 mm", "30, 185 mm"]}},
        },
    )
    question = a.Question(vehicle="tern", picks=(a.Item(part="c"), a.Item(part="w")))
    drawings = drawings_of(car, question, package(car, question))
    assert "caliper-front" in {d.name for d in drawings}
    for drawing in drawings:
        seen = Drawn(drawing)
        tags = {element.tag.removeprefix(SVG) for element in seen.root.iter()}
        assert tags <= {"svg", "title", "desc", "rect", "g", "path", "text"}
        assert not {n for e in seen.root.iter() for n in e.attrib if n.startswith("on")}
        assert not seen.overlaps()
        assert not seen.outside()
        assert not set("\u202e\u202c\u200f") & set(drawing.svg)


def test_marks_that_turn_the_direction_of_writing_are_left_out() -> None:
    assert clean("a\u202eb\u2066c\u2069 \n d\x00") == "abc d"


def test_a_text_is_cut_to_its_room_and_says_so() -> None:
    cut = shortened("a very long name of a part", 10, 60)
    assert cut.endswith("…")
    assert width(cut, 10) <= 60
    assert shortened("short", 10, 60) == "short"


def test_a_text_is_wrapped_between_words_and_ends_in_time() -> None:
    lines = wrapped("one two three four five six seven eight nine ten", 10, 60, most=3)
    assert len(lines) == 3
    assert all(width(line, 10) <= 60 for line in lines)
    assert lines[-1].endswith("…")
    assert wrapped("one two", 10, 60) == ["one two"]
