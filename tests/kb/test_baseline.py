"""A baseline is one car as it left the factory; a question has to name exactly one."""

from __future__ import annotations

import pytest

from kb.baseline import baselines, find_baseline
from kb.catalogue import Catalogue, load
from kb.errors import QuestionError
from tests.kb.helpers import EXAMPLE, PLOVER, catalogue, problems


@pytest.fixture(scope="module")
def example() -> Catalogue:
    return load(EXAMPLE)


def test_every_year_of_every_variant_is_a_baseline(example: Catalogue) -> None:
    found = [car.id for car in baselines(example) if car.vehicle_id == "plover"]
    assert found == [f"plover/p12/{y}" for y in range(2012, 2016)] + [
        f"plover/p16/{y}" for y in range(2014, 2020)
    ]


def test_the_year_settles_the_variant_when_only_one_was_made_then(example: Catalogue) -> None:
    assert find_baseline(example, "plover", 2019).id == "plover/p16/2019"
    assert find_baseline(example, "2048").id == "2048/d20/2016"
    assert find_baseline(example, "plover", 2019).name == "Plover estate 1.6 petrol, 2019"


@pytest.mark.parametrize(
    ("question", "field", "message", "nearest"),
    [
        (("plovr",), "vehicle", "there is no vehicle 'plovr'", "plover"),
        (("plover", 2014), "variant", "which variant? p12, p16", ""),
        (("plover",), "variant", "which variant? p12, p16", ""),
        (("plover", None, "p12"), "year", "which year? 2012, 2013, 2014, 2015", ""),
        (("plover", 2014, "p61"), "variant",
         "'plover' has no variant 'p61'; it has p12, p16", "p16"),
        (("plover", 2016, "p12"), "year",
         "that car was not made in 2016; it was in 2012, 2013, 2014, 2015", ""),
        (("plover", 1999), "year", "that car was not made in 1999; it was in "
         "2012, 2013, 2014, 2015, 2016, 2017, 2018, 2019", ""),
    ],
)
def test_a_question_that_names_no_car_or_several_is_asked_back(
    example: Catalogue, question: tuple[str], field: str, message: str, nearest: str
) -> None:
    with pytest.raises(QuestionError) as caught:
        find_baseline(example, *question)
    error = caught.value
    assert (error.field, error.message, error.nearest) == (field, message, nearest)


def test_the_same_car_is_the_same_object(example: Catalogue) -> None:
    assert find_baseline(example, "plover", 2019) is find_baseline(example, "plover", 2019, "p16")


def test_stock_parts_follow_the_year(example: Catalogue) -> None:
    assert find_baseline(example, "plover", 2015, "p16").fitted["front-hose"] == "hose-f-early"
    late = find_baseline(example, "plover", 2016, "p16").fitted
    assert late["front-hose"] == "hose-f-late"
    assert late["front-wheel"] == late["rear-wheel"] == "wheel-steel-14"
    assert "engine" not in late, "a place without a stock part"


def test_stock_parts_follow_variant_and_equipment() -> None:
    known = catalogue(PLOVER.replace(
        "places:", """equipment: {sport: {years: 2015-}}
    fitted:
      front-wheel:
        - {part: small, without: [sport], variants: [p12]}
        - {part: middle, without: [sport], engines: [kb16]}
        - {part: large, equipment: [sport]}
    places:"""), "parts:\n" + "".join(
        f"  {name}: {{kind: wheel, name: W, takes: [front-wheel]}}\n"
        for name in ("small", "middle", "large")
    ))
    assert find_baseline(known, "plover", 2014, "p12").fitted == {"front-wheel": "small"}
    assert find_baseline(known, "plover", 2014, "p16").fitted == {"front-wheel": "middle"}
    assert find_baseline(known, "plover", 2015, "p12").fitted == {"front-wheel": "large"}


def test_equipment_comes_with_the_variant_or_by_its_condition(example: Catalogue) -> None:
    assert find_baseline(example, "plover", 2015, "p12").equipment == {"spare-wheel"}
    assert find_baseline(example, "plover", 2015, "p16").equipment == {"vented-front"}
    assert find_baseline(example, "plover", 2016, "p16").equipment == {
        "vented-front", "pressure-sensors"
    }


def test_equipment_may_depend_on_equipment_whatever_their_order() -> None:
    known = catalogue(PLOVER + """
    equipment:
      a-display: {equipment: [z-receiver]}
      m-spare: {without: [a-display]}
      z-receiver: {years: 2016-}
""")
    assert find_baseline(known, "plover", 2015, "p12").equipment == {"m-spare"}
    assert find_baseline(known, "plover", 2016).equipment == {"a-display", "z-receiver"}


def test_facts_are_read_per_axle_and_unknown_where_not_stated(example: Catalogue) -> None:
    car = find_baseline(example, "plover", 2016)
    front = car.fact("hub.spigot", "front")
    assert front is not None
    assert (str(front.value), front.basis, front.source) == ("56.1 ± 0.05 mm", "maker", "")
    assert car.fact("hub.spigot", "rear") is None, "not measured at the rear: not known"
    assert car.fact("hub.spigot") is None, "no axle was named and the axles differ"
    rear = car.fact("hub.bolt_circle", "rear")
    assert rear is not None
    assert (rear.basis, rear.source) == ("measured", "shop car 3")


def test_a_fact_of_the_whole_car_holds_on_either_axle(example: Catalogue) -> None:
    car = find_baseline(example, "plover", 2016)
    for axle in (None, "front", "rear"):
        grades = car.fact("hydraulics.fluid_grades", axle)
        assert grades is not None
        assert grades.value == ("DOT 4", "DOT 5.1")


def test_facts_have_conditions_of_their_own(example: Catalogue) -> None:
    assert find_baseline(example, "plover", 2015, "p16").fact("receiver.sensor_frequency") is None
    assert find_baseline(example, "plover", 2016).fact("receiver.sensor_frequency") is not None
    assert find_baseline(example, "plover", 2015, "p12").fact("hydraulics.fluid_grades") is None


def test_a_variant_may_not_outlast_its_vehicle_silently() -> None:
    cut = catalogue(PLOVER.replace("2014-2019}", "2018-2030}"))
    assert [c.year for c in baselines(cut) if c.variant_id == "p16"] == [2018, 2019]
    assert problems(PLOVER.replace("2014-2019}", "2025-2030}")) == [
        "0.yaml:8: vehicles 'plover': variant 'p16' was made in no year of the vehicle; "
        "expected 2012-2019"
    ]
