"""A part matches, does not, or it is not known; nothing missing ever counts as a match."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.dimensions import kinds
from kb.matching import comparable, matches, read_operand, same
from kb.sizes import parse_circle, parse_thread
from kb.statements import Comparison
from kb.units import parse_quantity

DISC = kinds()["brake-disc"]
CALIPER = kinds()["caliper"]


def match(
    comparison: dict[str, Any], own: Any = None, fact: Any = None, **dimensions: str
) -> tuple[bool | None, tuple[str, ...]]:
    """Whether a disc with these dimensions meets one comparison of its thickness."""
    asked = {"thickness": Comparison.model_validate(comparison)}
    return matches(asked, "brake-disc", DISC.model_validate(dimensions), own, fact)


@pytest.mark.parametrize(
    ("comparison", "thickness", "verdict"),
    [
        ({"equals": "22 mm"}, "22 mm", True),
        ({"equals": "22 mm"}, "2.2 cm", True),
        ({"equals": "22 mm"}, "22.1 mm", False),
        ({"one_of": ["20 mm", "22 mm"]}, "22 mm", True),
        ({"one_of": ["20 mm", "22 mm"]}, "21 mm", False),
        ({"at_least": "22 mm"}, "22 mm", True),
        ({"at_least": "22 mm"}, "23 mm", True),
        ({"at_least": "22 mm"}, "21.9 mm", False),
        ({"at_most": "22 mm"}, "22 mm", True),
        ({"at_most": "22 mm"}, "21 mm", True),
        ({"at_most": "22 mm"}, "22.1 mm", False),
        ({"within": ["20 mm", "24 mm"]}, "20 mm", True),
        ({"within": ["20 mm", "24 mm"]}, "24 mm", True),
        ({"within": ["20 mm", "24 mm"]}, "24.1 mm", False),
        ({"within": ["20 mm", "24 mm"]}, "19.9 mm", False),
    ],
)
def test_the_five_relations(comparison: dict[str, Any], thickness: str, verdict: bool) -> None:
    assert match(comparison, thickness=thickness) == (verdict, ())


@pytest.mark.parametrize("comparison", [
    {"equals": "22 mm"}, {"one_of": ["22 mm"]}, {"at_least": "22 mm"}, {"at_most": "22 mm"},
    {"within": ["20 mm", "24 mm"]},
])
def test_a_missing_dimension_is_not_known_and_named(comparison: dict[str, Any]) -> None:
    assert match(comparison) == (None, ("thickness",))


@pytest.mark.parametrize("relation", ["equals", "at_least", "at_most"])
def test_what_the_asking_part_has_decides(relation: str) -> None:
    ask = {relation: {"own": "disc_thickness"}}
    known = CALIPER.model_validate({"disc_thickness": "22 mm"})
    assert match(ask, own=known, thickness="22 mm") == (True, ())
    assert match(ask, own=CALIPER(), thickness="22 mm") == (None, ("disc_thickness",))
    assert match(ask, own=None, thickness="22 mm") == (None, ("disc_thickness",))


def test_what_is_known_of_the_car_decides() -> None:
    ask = {"equals": {"fact": "some.fact"}}
    facts = {"some.fact": parse_quantity("22 mm", "length")}
    assert match(ask, fact=facts.get, thickness="22 mm") == (True, ())
    assert match(ask, fact=facts.get, thickness="20 mm") == (False, ())
    assert match(ask, fact={}.get, thickness="20 mm") == (None, ("some.fact",))
    assert match(ask, thickness="20 mm") == (None, ("some.fact",))


def test_a_range_with_one_end_unknown_can_still_be_failed() -> None:
    ask = {"within": ["20 mm", {"own": "disc_thickness"}]}
    assert match(ask, own=CALIPER(), thickness="19 mm") == (False, ())
    assert match(ask, own=CALIPER(), thickness="21 mm") == (None, ("disc_thickness",))
    ask = {"within": [{"own": "disc_thickness"}, "20 mm"]}
    assert match(ask, own=CALIPER(), thickness="21 mm") == (False, ())
    ask = {"within": [{"fact": "a.low"}, {"own": "disc_thickness"}]}
    assert match(ask, own=CALIPER(), thickness="21 mm") == (None, ("a.low", "disc_thickness"))


def test_one_failure_outweighs_any_number_of_unknowns() -> None:
    asked = {
        "height": Comparison(equals="40 mm"),
        "diameter": Comparison(equals="258 mm"),
        "thickness": Comparison(equals={"own": "disc_thickness"}),
    }
    disc = DISC.model_validate({"diameter": "280 mm", "thickness": "22 mm"})
    assert matches(asked, "brake-disc", disc, CALIPER()) == (False, ())
    disc = DISC.model_validate({"diameter": "258 mm", "thickness": "22 mm"})
    assert matches(asked, "brake-disc", disc, CALIPER()) == (None, ("height", "disc_thickness"))


def test_nothing_asked_is_met_by_anything() -> None:
    assert matches({}, "brake-disc", DISC()) == (True, ())


def test_two_spellings_of_one_size_are_the_same() -> None:
    assert same(parse_circle("5 x 4.5 in"), parse_circle("5 x 114.3"))
    assert not same(parse_circle("4 x 100"), parse_circle("5 x 100"))
    assert same(parse_thread("M12 x 1.5"), parse_thread("M12x1.50"))
    assert same(parse_thread("1/2-20"), parse_thread("8/16-20"))
    assert not same(parse_thread("M12 x 1.5"), parse_thread("M12 x 1.25"))


def test_quantities_of_two_dimensions_are_never_the_same() -> None:
    assert not same(parse_quantity("10 mm", "length"), parse_quantity("10 kg", "mass"))


def test_a_size_has_no_order() -> None:
    assert comparable(parse_thread("M12 x 1.5")) is None
    assert comparable(True) is None
    assert comparable(4) == 4.0


@pytest.mark.parametrize(("kind", "dimension", "text", "said"), [
    ("brake-disc", "diameter", "258", "'258' has no unit"),
    ("brake-fluid", "grade", "DOT 6", "'DOT 6' is not one of DOT 3"),
    ("brake-pad", "shape", "a b", "'a b' is not an id"),
    ("wheel", "bolt_circle", "4", "'4' is not a bolt circle"),
])
def test_an_operand_is_read_as_the_dimension_it_is_compared_with(
    kind: str, dimension: str, text: str, said: str
) -> None:
    with pytest.raises(ValueError, match=said):
        read_operand(kind, dimension, text)


@given(st.floats(1, 400), st.floats(1, 400))
def test_the_relations_agree_with_each_other(asked: float, there: float) -> None:
    low, high = f"{asked:.3f} mm", f"{there:.3f} mm"
    least, _ = match({"at_least": low}, thickness=high)
    most, _ = match({"at_most": low}, thickness=high)
    equal, _ = match({"equals": low}, thickness=high)
    within, _ = match({"within": [low, low]}, thickness=high)
    assert equal == within == (least and most)
    assert least or most
