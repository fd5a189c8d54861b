"""Gaps: what a builder has beside what the build takes."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, assume, given, settings

from kb.catalogue import Catalogue, load, load_texts
from kb.errors import QuestionError
from rules.answers import Item, Package, Question
from rules.gaps import gaps
from rules.gaps_models import Gaps, GapsQuestion, Have
from rules.resolve import package
from tests.kb.helpers import ROOT
from tests.support.small_catalogues import Scenario, scenarios

some_of_them = settings(
    deadline=None, max_examples=60, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)


def ask(catalogue: Catalogue, *have: Have, picks: tuple[str, ...] = (), **car: object) -> Gaps:
    return gaps(catalogue, GapsQuestion.model_validate({
        "vehicle": "quernby", "year": 2016, "variant": "q10t", **car,
        "have": have, "picks": tuple(Item(part=part) for part in picks),
    }))


def lacking(found: Gaps) -> dict[str, float]:
    """Everything that is missing or short, with by how many."""
    return {
        lack.part: lack.short for stage in found.stages for lack in (*stage.missing, *stage.short)
    }


def as_ordered(catalogue: Catalogue, answer: Package) -> list[Have]:
    """What is on the bench once a package was delivered: what was there, and whole packs."""
    found = [
        Have(text=line.part, qty=line.packs * line.pack) for line in answer.lines if line.packs
    ]
    return found + [
        Have(text=line.part, qty=line.on_hand) for line in answer.lines if line.on_hand
    ]


# -- laws -------------------------------------------------------------------------------------


@some_of_them
@given(scenarios())
def test_once_everything_is_delivered_nothing_is_missing(scenario: Scenario) -> None:
    catalogue = scenario.catalogue()
    question = scenario.question()
    answer = package(catalogue, question)
    assume(answer.outcome != "impossible")
    found = gaps(catalogue, GapsQuestion(
        vehicle="tern", year=2015, variant="p", picks=question.picks,
        have=tuple(as_ordered(catalogue, answer)),
    ))
    assert lacking(found) == {}
    assert (found.wrong, found.conflicts, found.unread) == ((), (), ())
    assert found.outcome in ("ready", "ready_once_measured")
    if not any(catalogue.parts[line.part].contents for line in answer.lines):
        spare = {line.part for line in answer.lines if line.spare}
        assert {left.part for left in found.surplus} <= spare


@some_of_them
@given(scenarios())
def test_with_nothing_there_everything_is_missing_and_costs_what_the_package_costs(
    scenario: Scenario,
) -> None:
    catalogue = scenario.catalogue()
    question = scenario.question().model_copy(update={"on_hand": ()})
    answer = package(catalogue, question)
    assume(answer.outcome != "impossible")
    found = gaps(catalogue, GapsQuestion(
        vehicle="tern", year=2015, variant="p", picks=question.picks, have=(),
    ))
    assert answer.totals is not None
    assert found.parts_price == answer.totals.parts
    assert lacking(found) == {
        line.part: line.qty for line in answer.lines
        if line.status != "kept" and not catalogue.parts[line.part].contents
    }
    assert found.surplus == ()


def test_a_decimal_comma_is_read_and_said() -> None:
    texts = {"all.yaml": """
vehicles:
  tern: {name: Tern, years: "2015", variants: {p: {name: p, engine: e}}, places: {seat: {}}}
parts:
  shell: {kind: item, name: Shell, takes: [seat], price: 9.00 EUR, fits: [{vehicles: [tern]}],
          requires: [{part: fluid, once: 0.5 L}]}
  fluid: {kind: oil, name: Fluid, price: 4.00 EUR, pack: 0.5 L}
"""}
    found = gaps(load_texts(texts), GapsQuestion(
        vehicle="tern", year=2015, variant="p", picks=(Item(part="shell"),),
        have=(Have(text="shell"), Have(text="fluid", amount="0,5 L")),
    ))
    assert found.outcome == "ready"
    assert "row 2: '0,5 L' was read as 0.5 L" in found.notes


# -- stories from the demo --------------------------------------------------------------------


@pytest.fixture(scope="module")
def demo() -> Catalogue:
    return load(ROOT / "demo_catalog")


@pytest.fixture(scope="module")
def bench(demo: Catalogue) -> list[Have]:
    """Everything for the brakes and wheels, as delivered, kits unpacked."""
    answer = package(demo, Question(
        vehicle="quernby", year=2016, variant="q10t", alternatives=False,
        picks=(Item(part="caliper-cairn"), Item(part="wheel-corrie-16")),
    ))
    return [
        Have(text=line.part, qty=line.qty) for line in answer.lines
        if line.status != "kept" and not demo.parts[line.part].contents
    ]


def without(bench: list[Have], *parts: str) -> list[Have]:
    return [have for have in bench if have.text not in parts]


def test_a_complete_bench_has_no_gaps_whoever_says_what_to_build(
    demo: Catalogue, bench: list[Have]
) -> None:
    asked = ask(demo, *bench, picks=("caliper-cairn", "wheel-corrie-16"))
    taken = ask(demo, *bench)
    for found in (asked, taken):
        assert (found.outcome, lacking(found), found.surplus) == ("ready", {}, ())
        assert all(stage.ready for stage in found.stages)
    assert not asked.from_list
    assert taken.from_list
    assert {"caliper-cairn", "wheel-corrie-16"} <= {part.part for part in taken.building}


def test_two_washers_and_half_a_litre_hold_up_their_stages(
    demo: Catalogue, bench: list[Have]
) -> None:
    found = ask(
        demo, *without(bench, "washer-copper-10", "fluid-dot4-1", "nut-lock-8"),
        Have(text="washer-copper-10", qty=2), Have(text="fluid-dot4-1", amount="0.5 L"),
        picks=("caliper-cairn", "wheel-corrie-16"),
    )
    assert found.outcome == "gaps"
    stages = {stage.stage: stage for stage in found.stages}
    assert [(x.part, x.have, x.short) for x in stages["brakes"].short] == [
        ("washer-copper-10", 2, 2)]
    assert [(x.part, x.short, x.unit) for x in stages["fluids"].short] == [
        ("fluid-dot4-1", 0.5, "L")]
    assert [x.part for x in stages["modify"].missing] == ["nut-lock-8"]
    assert stages["wheels-and-tyres"].ready


def test_a_loose_description_is_offered_never_taken(demo: Catalogue) -> None:
    found = ask(demo, Have(text="copper washers 10 mm", qty=4), picks=("caliper-cairn",))
    [unread] = found.unread
    assert unread.nearest[0].part == "washer-copper-10"
    assert lacking(found)["washer-copper-10"] == 4


def test_a_name_in_capitals_is_the_part_and_that_is_said(demo: Catalogue) -> None:
    found = ask(demo, Have(text="COPPER sealing  washer 10 mm", qty=4), picks=("caliper-cairn",))
    assert "washer-copper-10" not in lacking(found)
    assert found.notes[0].endswith("is the name of washer-copper-10")


def test_parts_of_another_car_do_not_count(demo: Catalogue, bench: list[Have]) -> None:
    """An early bracket is listed for other years; a five-hole wheel meets a four-stud hub."""
    found = ask(
        demo, *bench, Have(text="bracket-cairn-early", qty=2), Have(text="wheel-scarp-17-five"),
    )
    wrong = {one.part: one for one in found.wrong}
    assert "not listed for" in wrong["bracket-cairn-early"].because
    clash = wrong["wheel-scarp-17-five"].clash
    assert clash is not None
    assert any("5 holes" in member.text for member in clash.members)
    assert found.outcome == "gaps"
    assert lacking(found) == {}


def test_two_sets_of_wheels_are_in_conflict_and_the_first_is_built(
    demo: Catalogue, bench: list[Have]
) -> None:
    found = ask(demo, *bench, Have(text="wheel-spar-15", qty=4))
    [conflict] = found.conflicts
    assert conflict.part == "wheel-spar-15"
    assert any("only one part goes in the place" in m.text for m in conflict.clash.members)
    assert "wheel-spar-15" not in {part.part for part in found.building}


def test_what_is_asked_for_beats_what_lies_about(demo: Catalogue, bench: list[Have]) -> None:
    found = ask(demo, *bench, Have(text="wheel-spar-15", qty=4), picks=("caliper-cairn",))
    assert {part.part for part in found.building} == {"caliper-cairn"}
    assert found.outcome in ("ready", "gaps")
    assert lacking(found) == {}


def test_more_than_enough_is_left_over(demo: Catalogue, bench: list[Have]) -> None:
    found = ask(demo, *bench, Have(text="bolt-8-20", qty=7))
    assert [(left.part, left.qty) for left in found.surplus] == [("bolt-8-20", 7)]
    assert found.outcome == "ready"


@pytest.mark.parametrize(("line", "says"), [
    (Have(text="fluid-dot4-1", amount="2"), "has 'fluid-dot4-1' in L"),
    (Have(text="bolt-8-20", amount="0.5 L"), "by the piece"),
    (Have(text="bolt-8-20", amount="1,000"), "not an amount"),
    (Have(text="bolt-8-20", amount="1.000,5"), "not an amount"),
    (Have(text="bolt-8-20", amount="a few"), "is not an amount"),
    (Have(text="bolt-8-20", qty=1.5), "expected a whole number"),
])
def test_an_amount_that_makes_no_sense_is_set_aside(
    demo: Catalogue, line: Have, says: str
) -> None:
    found = ask(demo, line, picks=("caliper-cairn",))
    assert says in found.unread[0].because


def test_none_is_none_and_no_amount_is_one(demo: Catalogue) -> None:
    found = ask(
        demo, Have(text="bolt-caliper-10", amount="0"), Have(text="cap-bleed"),
        picks=("caliper-cairn",),
    )
    short = lacking(found)
    assert (short["bolt-caliper-10"], short["cap-bleed"]) == (4, 3)
    assert any("none of bolt-caliper-10" in note for note in found.notes)
    assert any("counted as 1" in note for note in found.notes)


def test_a_kit_on_the_bench_counts_with_its_contents(demo: Catalogue) -> None:
    found = ask(demo, Have(text="kit-front-cairn-late", qty=1), picks=("caliper-cairn",))
    assert not {"caliper-cairn", "disc-284-slot", "bolt-caliper-10"} & set(lacking(found))
    assert "kit-front-cairn-late" not in {left.part for left in found.surplus}


def test_a_kit_that_is_not_opened_is_left_over_whole(demo: Catalogue, bench: list[Have]) -> None:
    found = ask(demo, *bench, Have(text="kit-strut-hardware", qty=1),
                picks=("caliper-cairn", "wheel-corrie-16"))
    assert {left.part for left in found.surplus} == {"kit-strut-hardware"}


def test_somebody_has_to_say_what_to_build(demo: Catalogue) -> None:
    with pytest.raises(QuestionError, match="say what is to be built"):
        ask(demo, Have(text="bolt-8-20", qty=4))


def test_what_cannot_be_built_says_why(demo: Catalogue, bench: list[Have]) -> None:
    found = ask(demo, *bench, picks=("caliper-cairn", "caliper-tor"))
    assert found.outcome == "impossible"
    assert found.clashes
    assert found.stages == ()
