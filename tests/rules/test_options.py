"""What is still open, against every package of random small catalogues."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

import pytest

from kb.catalogue import load_texts
from kb.errors import QuestionError
from rules import answers as a
from rules.options import options
from tests.support.oracle import TooLarge, World
from tests.support.relaxed import Unfit, can_hold
from tests.support.wishful import Wishful, wishful

ROW = (0, 220)


@cache
def row(first: int, last: int) -> tuple[tuple[Wishful, tuple[World, ...]], ...]:
    """Questions, each with the packages it leaves; amounts left aside, as in the options."""
    found = []
    for seed in range(first, last):
        made = wishful(seed)
        try:
            found.append((made, tuple(made.findings(made.keys[:len(made.oracle.picks)]
                                                    + made.wishes).worlds)))
        except TooLarge:
            continue
    return tuple(found)


def state(holds: Iterable[bool]) -> str:
    found = set(holds)
    return "out" if True not in found else "possible" if False in found else "forced"


def compare(first: int, last: int) -> dict[str, int]:
    """Hold every state against the packages; how often each state was seen."""
    seen = dict.fromkeys(("forced", "possible", "out", "stock", "step", "impossible"), 0)
    for made, worlds in row(first, last):
        places = tuple(made.scenario.sections["vehicles"]["tern"]["places"])
        answer = options(made.catalogue, made.question(), places)
        assert answer.possible == bool(worlds), made.seed
        seen["impossible"] += not answer.possible
        for place in answer.places:
            if place.stock is not None:
                there = (any(t.place == place.place for t in w.things) for w in worlds)
                assert place.stock.state == state(there), (made.seed, place.place)
                seen["stock"] += 1
            listed = {option.ref.part for option in place.parts}
            takers = {key for key in made.oracle.addable
                      if place.place in made.oracle.part(key).takes}
            assert takers <= listed, made.seed
        chosen = [o for place in answer.places for o in place.parts]
        chosen += [o for need in answer.needs for o in need.parts]
        for option in chosen:
            part, where = option.ref.part, option.ref.places
            expected = state(
                any(t.part == part and t.place in where for t in w.things) if option.stock
                else part in w.new for w in worlds
            )
            assert option.state == expected, (made.seed, part)
            seen[option.state] += 1
        for need in answer.needs:
            for step in need.steps:
                assert step.state == state(step.step in w.steps for w in worlds), made.seed
                seen["step"] += 1
    return seen


def test_every_state_is_what_trying_every_package_says() -> None:
    seen = compare(*ROW)
    assert min(seen[name] for name in ("forced", "possible", "out", "stock", "impossible")) >= 10


@pytest.mark.slow
@pytest.mark.parametrize("start", range(220, 1720, 300))
def test_a_long_row_of_options_agrees(start: int) -> None:
    assert compare(start, start + 300)["step"] >= 1


def test_a_refusal_is_explained_by_an_irreducible_clash_with_the_part_in_it() -> None:
    explained = 0
    for made, worlds in row(0, 120):
        if not worlds:
            continue
        parts = tuple(made.scenario.sections["parts"])
        for refused in options(made.catalogue, made.question(), why=parts).refused:
            part = refused.part
            if not made.oracle.for_sale(part) and part in made.oracle.car.fitted.values():
                continue  # asking for it means that it stays in all its places
            assert refused.out == (refused.clash is not None)
            assert refused.out != any(part in w.new for w in worlds), (made.seed, part)
            if refused.clash is not None:
                explained += irreducible(made, part, refused.clash)
    assert explained >= 20


def irreducible(made: Wishful, part: str, clash: a.Clash) -> bool:
    """Whether the clash could be judged by striking statements out; it must then pass."""
    keys = {member.statement for member in clash.members}
    assert f"pick:{part}" in keys
    asked = made.also_picking(part)
    try:
        assert not can_hold(asked, keys, all_sold=False), (made.seed, keys)
        for key in keys:
            assert can_hold(asked, keys - {key}, all_sold=True), (made.seed, keys, key)
    except (TooLarge, Unfit):
        return False
    return True


def test_what_is_asked_about_must_be_known_even_where_nothing_is_possible() -> None:
    catalogue = load_texts({"a.yaml": """
catalog: {name: Tiny}
vehicles:
  tern: {name: Tern, years: 2015, variants: {p: {name: P, engine: e}}, places: {seat: {}}}
parts:
  bucket: {kind: item, name: Bucket seat, takes: [seat], fits: [{}], orderable: false}
"""})
    question = a.Question(vehicle="tern", picks=(a.Item(part="bucket"),))
    assert not options(catalogue, question).possible
    with pytest.raises(QuestionError) as error:
        options(catalogue, question, why=("bucked",))
    assert (error.value.field, error.value.nearest) == ("why_not.0", "bucket")
    with pytest.raises(QuestionError) as error:
        options(catalogue, question, places=("seats",))
    assert (error.value.field, error.value.nearest) == ("places.0", "seat")
