"""Verdicts on parts beside a question, against every package of random small catalogues."""

from __future__ import annotations

import pytest

from api.asking import demo_folder
from kb.catalogue import Catalogue, load
from kb.errors import QuestionError
from rules import answers as a
from rules.hits import hits
from rules.resolve import package
from tests.support.oracle import TooLarge, World
from tests.support.wishful import Wishful, wishful

ROW = (0, 100)


def compare(first: int, last: int) -> dict[str, int]:
    """Hold every verdict against the packages; how often each was seen."""
    seen = dict.fromkeys(
        ("fits", "fits_with_work", "does_not_fit", "ways out", "nothing helps", "without picks"), 0
    )
    for seed in range(first, last):
        made = wishful(seed)
        picks = [f"pick:{part}" for part in made.oracle.picks]
        try:
            worlds = made.findings([*picks, *made.wishes]).worlds
            if not worlds and picks:
                worlds, seen["without picks"] = made.findings(made.wishes).worlds, \
                    seen["without picks"] + 1
            _compare(made, worlds, seen)
        except TooLarge:
            continue
    return seen


def _compare(made: Wishful, worlds: list[World], seen: dict[str, int]) -> None:
    parts = [
        part for part in made.scenario.sections["parts"]
        if made.oracle.for_sale(part) or part not in made.oracle.car.fitted.values()
    ]
    answer = hits(made.catalogue, made.question(budget=None), parts)
    for hit in answer.items:
        part, about = hit.ref.part, (made.seed, hit.ref.part, hit.verdict)
        with_it = [world for world in worlds if part in world.new]
        assert (hit.verdict != "does_not_fit") == bool(with_it), about
        seen[hit.verdict] += 1
        if with_it and min(len(world.steps) for world in worlds) == 0:
            assert len(hit.work) == min(len(world.steps) for world in with_it), about
        if not with_it and worlds and hit.clash is not None and not answer.without_picks:
            _check_way_out(made, hit, seen)


def _check_way_out(made: Wishful, hit: a.Hit, seen: dict[str, int]) -> None:
    """It leads to a package with the part; nothing is given up that helps one by one."""
    keys = {key for key in made.keys if key not in ("budget", f"pick:{hit.ref.part}")}
    part = hit.ref.part

    def possible(without: set[str]) -> bool:
        return any(part in w.new for w in made.findings(keys - without).worlds)

    given = {
        f"pick:{c.part}" if c.type == "leave_out" else f"wish:{c.wish}:{c.by or ''}"
        for c in hit.way_out
    }
    about = (made.seed, part, given)
    assert given <= keys, about
    assert possible(given) if given else not possible(keys), about
    if len(given) > 1:
        assert not any(possible({key}) for key in given), about
    seen["ways out" if given else "nothing helps"] += 1


def test_every_verdict_is_what_trying_every_package_says() -> None:
    seen = compare(*ROW)
    assert min(seen.values()) >= 5, seen


@pytest.mark.slow
@pytest.mark.parametrize("start", range(100, 1300, 300))
def test_a_long_row_of_verdicts_agrees(start: int) -> None:
    compare(start, start + 300)


# -- the demo ---------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def demo() -> Catalogue:
    return load(demo_folder())


def question(*picks: str, **more: object) -> a.Question:
    return a.Question.model_validate({
        "vehicle": "quernby", "year": 2017, "variant": "q16",
        "picks": [{"part": part} for part in picks], "alternatives": False, **more,
    })


def test_a_hit_that_goes_makes_a_package_and_one_that_does_not_makes_none(demo: Catalogue) -> None:
    parts = [key for key, part in demo.parts.items() if part.kind in ("wheel", "caliper")]
    found = hits(demo, question("caliper-tor"), [p for p in parts if demo.parts[p].orderable])
    assert {hit.verdict for hit in found.items} >= {"fits", "fits_with_work", "does_not_fit"}
    for hit in found.items:
        answer = package(demo, question("caliper-tor", hit.ref.part))
        assert (answer.outcome == "impossible") == (hit.verdict == "does_not_fit"), hit.ref.part
        if hit.verdict == "not_known":
            assert answer.measure_first, hit.ref.part


def test_what_has_to_be_measured_is_said(demo: Catalogue) -> None:
    van = a.Question(vehicle="haulwick", year=2013, variant="h12")
    hit, = hits(demo, van, ["caliper-cairn"]).items
    assert hit.verdict == "not_known"
    assert "outline of the brake pipe clip" in hit.measure[0]
    certain = van.model_copy(update={"certain_only": True})
    hit, = hits(demo, certain, ["caliper-cairn"]).items
    assert hit.verdict == "does_not_fit"
    assert [change.wish for change in hit.way_out] == ["certain_only"]


def test_a_part_of_another_car_says_so_and_nothing_helps(demo: Catalogue) -> None:
    hit, = hits(demo, question(), ["kit-front-cairn-early"]).items
    assert hit.verdict == "does_not_fit"
    assert "not listed for Quernby estate 1.6 petrol, 2017" in hit.because
    assert hit.way_out == ()


def test_a_successor_stands_in_for_what_it_replaced(demo: Catalogue) -> None:
    new = next(key for key, part in demo.parts.items() if part.supersedes)
    old = demo.parts[new].supersedes[0]
    assert [hit.ref.part for hit in hits(demo, question(), [old, new]).items] == [new]


def test_an_unknown_part_is_told_with_the_nearest(demo: Catalogue) -> None:
    with pytest.raises(QuestionError) as error:
        hits(demo, question(), ["caliper-carn"])
    assert (error.value.field, error.value.nearest) == ("parts.0", "caliper-cairn")
