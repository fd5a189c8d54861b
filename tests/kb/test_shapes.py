"""Points, profiles and outlines as texts."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter, ValidationError

from kb.shapes import Outline, Profile, parse_point


@pytest.mark.parametrize(("text", "x", "y"), [
    ("-20, 118 mm", -20, 118), ("-20 mm, 11.8 cm", -20, 118), ("-0.8, 4.6 in", -20.32, 116.84),
    (" 1 in ,  30 mm ", 25.4, 30), ("+3,0 mm", 3, 0),
])
def test_one_unit_may_stand_for_both(text: str, x: float, y: float) -> None:
    point = parse_point(text)
    assert (point.x, point.y) == pytest.approx((x, y))
    again = parse_point(str(point))
    assert (again.x, again.y) == pytest.approx((x, y))


@pytest.mark.parametrize("text", [
    "", "20 mm", "20, 30", "1, 2, 3 mm", "a, b mm", "20 kg, 30 mm", "10, -5 mm", "20, 1e9 mm",
    "20, 30 ± 1 mm", "20, nan mm", "9999, 1 mm",
])
def test_what_is_not_a_point_is_refused_in_words(text: str) -> None:
    with pytest.raises(ValueError, match=r"is|has"):
        parse_point(text)


@pytest.mark.parametrize("corners", [
    ["0, 0 mm", "10, 0 mm"], ["0, 0 mm", "10, 0 mm", "20, 0 mm"],
    ["0, 0 mm", "10, 10 mm", "10, 0 mm", "0, 10 mm"],
])
def test_an_outline_encloses_an_area(corners: list[str]) -> None:
    with pytest.raises(ValidationError):
        TypeAdapter(Outline).validate_python(corners)


def test_a_profile_is_a_line() -> None:
    assert len(TypeAdapter(Profile).validate_python(["0, 1 mm", "2, 3 mm"])) == 2
    with pytest.raises(ValidationError, match="two different points or more"):
        TypeAdapter(Profile).validate_python(["0, 1 mm", "0, 1 mm"])
