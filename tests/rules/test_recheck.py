"""Answers that were written down: true ones hold, and whatever is changed in one is found out."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

import pytest

from kb.catalogue import Catalogue, load_texts
from kb.errors import OutOfTime
from rules import answers as a
from rules.front import front
from rules.recheck import recheck
from rules.resolve import package
from tests.support.wishful import wishful

Written = dict[str, Any]
SHOP = """
catalog: {name: Shop, labour_rate: "60.00 EUR"}
vehicles:
  tern:
    name: Tern
    years: 2015
    variants: {p: {name: P, engine: e1}}
    places: {seat: {}, floor: {}}
    fitted: {seat: stock-seat, floor: stock-mat}
parts:
  stock-seat: {kind: item, name: Stock seat, takes: [seat], fits: [{}], orderable: false,
               mass: 9 kg}
  stock-mat: {kind: item, name: Stock mat, takes: [floor], fits: [{}], orderable: false}
  shell: {kind: item, name: Shell seat, takes: [seat], fits: [{}], price: 500.00 EUR, mass: 4 kg,
          requires: [{part: rail, each: 2}, {part: clip, each: 2}, {part: clip, each: 3}],
          work: [{step: cut}]}
  rail: {kind: item, name: Rail, price: 40.00 EUR, pack: 2, conflicts: [{part: mat}]}
  clip: {kind: item, name: Clip, price: 1.00 EUR}
  mat: {kind: item, name: Mat, takes: [floor], fits: [{}], price: 20.00 EUR}
  twin-a: {kind: item, name: Twin, conflicts: [{part: shell}, {part: rail}]}
  twin-b: {kind: item, name: Twin, conflicts: [{part: shell}]}
work:
  cut: {name: Cut the floor, effect: room, minutes: 10 min, reversible: false}
"""


@cache
def shop() -> Catalogue:
    return load_texts({"shop.yaml": SHOP})


def ask(*picks: str, **more: Any) -> a.Question:
    return a.Question(
        vehicle="tern", picks=tuple(a.Item(part=part) for part in picks),
        **{"alternatives": False, **more},
    )


@cache
def written(*picks: str) -> str:
    """The answer to these picks, as a file holds it."""
    return package(shop(), ask(*picks)).model_dump_json()


def again(answer: Written) -> a.Recheck:
    return recheck(shop(), a.Package.model_validate(answer))


# -- true answers -----------------------------------------------------------------------------


def rows() -> Iterator[tuple[int, Catalogue, a.Question]]:
    for seed in range(80):
        made = wishful(seed)
        prefer = ("least_cost", "least_work", "least_mass", "fewest_parts")[seed % 4]
        yield seed, made.catalogue, made.question(prefer=prefer)


def test_true_answers_hold_possible_or_not_whatever_was_preferred() -> None:
    outcomes = set()
    for seed, catalogue, question in rows():
        answer = a.Package.model_validate_json(package(catalogue, question).model_dump_json())
        found = recheck(catalogue, answer)
        assert (found.holds, found.findings) == (True, ()), seed
        outcomes.add((question.prefer, answer.outcome))
    assert len(outcomes) == 8


def test_statements_that_sound_the_same_are_told_apart() -> None:
    """Both twins have the same name, so that their clashes read alike."""
    answer = package(shop(), ask("twin-a", "twin-b", "shell"))
    texts = [[m.text for m in clash.members] for clash in answer.clashes]
    assert texts[0] == texts[1]
    assert recheck(shop(), answer).holds


def test_a_budget_that_is_too_small_holds_as_an_answer() -> None:
    assert recheck(shop(), package(shop(), ask("shell", budget="100"))).holds


def test_the_first_of_several_offers_holds_on_its_own() -> None:
    assert recheck(shop(), front(shop(), ask("shell")).packages[0]).holds


# -- packages that were changed ---------------------------------------------------------------


def line(answer: Written, part: str) -> Written:
    found: Written = next(line for line in answer["lines"] if line["part"] == part)
    return found


def drop(answer: Written, part: str) -> None:
    answer["lines"].remove(line(answer, part))


PACKAGE: dict[str, Callable[[Written], object]] = {
    "price of a line": lambda w: line(w, "rail").update(price="39.00"),
    "total": lambda w: w["totals"].update(price="1.00"),
    "minutes": lambda w: w["totals"].update(minutes=1.0),
    "mass": lambda w: w["totals"].update(mass_change=0.0),
    "quantity": lambda w: line(w, "clip").update(qty=4.0, bought=4.0, packs=4, price="4.00"),
    "packs": lambda w: line(w, "rail").update(packs=2),
    "dropped line": lambda w: drop(w, "clip"),
    "dropped pick": lambda w: drop(w, "shell"),
    "dropped work": lambda w: w["work"].clear(),
    "stock part back on": lambda w: w["comes_off"].clear(),
    "another part": lambda w: line(w, "rail").update(part="mat", name="Mat", pack=1.0),
    "unknown part": lambda w: line(w, "rail").update(part="rial"),
    "outcome": lambda w: w.update(outcome="complete_once_measured"),
    "order of costs": lambda w: w["proof"].update(by=["money"]),
    "no proof": lambda w: w.update(proof=None),
    "no totals": lambda w: w.update(totals=None),
    "no question": lambda w: w.update(asked=None),
    "another digest": lambda w: w["catalog"].update(digest="0" * 16),
    "another car": lambda w: w["baseline"].update(id="tern/q/2015"),
    "claimed impossible": lambda w: w.update(outcome="impossible"),
    "claimed impossible and bare": lambda w: w.update(
        outcome="impossible", lines=[], work=[], comes_off=[], totals=None, proof=None,
    ),
    "wish against it": lambda w: w["asked"].update(reversible_only=True),
    "budget against it": lambda w: w["asked"].update(budget="100"),
    "one more pick": lambda w: w["asked"]["picks"].append({"part": "twin-b"}),
}


@pytest.mark.parametrize("change", PACKAGE)
def test_a_changed_package_does_not_hold(change: str) -> None:
    answer: Written = json.loads(written("shell"))
    PACKAGE[change](answer)
    found = again(answer)
    assert not found.holds
    assert found.findings


CHOICE = """
catalog: {name: Choice, labour_rate: "60.00 EUR"}
vehicles: {tern: {name: Tern, years: 2015, variants: {p: {name: P, engine: e}}}}
parts:
  want: {kind: item, name: Want, requires: [{parts: [slow, quick]}], price: 0.00 EUR}
  slow: {kind: item, name: Slow, price: 10.00 EUR, fitting_time: 5 min}
  quick: {kind: item, name: Quick, price: 20.00 EUR}
"""


def test_a_package_that_is_sound_but_not_the_least_does_not_hold() -> None:
    """Quick costs 20.00; slow 10.00 and 5 minutes at 1.00: by least cost it is the least."""
    answer: Written = json.loads(package(load_texts({"a.yaml": CHOICE}), ask(
        "want", prefer="least_work")).model_dump_json())
    catalogue = load_texts({"a.yaml": CHOICE})
    assert recheck(catalogue, a.Package.model_validate(answer)).holds
    answer["asked"]["prefer"] = "least_cost"
    assert not recheck(catalogue, a.Package.model_validate(answer)).holds
    levels = ["unpriced", "money", "open", "minutes", "lines", "mass", "amount", "rank"]
    answer["proof"]["by"] = levels
    assert recheck(catalogue, a.Package.model_validate(answer)).findings == (
        "the least package comes to 1500 in money, not 2000",
    )



# -- clashes that were changed ----------------------------------------------------------------


def members(answer: Written) -> list[Written]:
    found: list[Written] = answer["clashes"][0]["members"]
    return found


IMPOSSIBLE: dict[str, Callable[[Written], object]] = {
    "edited text": lambda w: members(w)[0].update(text="you asked for nothing"),
    "edited basis": lambda w: members(w)[-1].update(basis="measured"),
    "unknown statement": lambda w: members(w)[0].update(statement="pick:rial"),
    "dropped member": lambda w: members(w).pop(),
    "member twice": lambda w: members(w).append(members(w)[0]),
    "member too many": lambda w: members(w).append({
        "statement": "contents:x/y", "type": "contents", "text": "", "basis": "", "source": "",
    }),
    "member beside the point": lambda w: members(w).append({
        "statement": "work:shell/work/0", "type": "work", "basis": "common_practice",
        "text": "Shell seat takes the work 'Cut the floor'", "source": "",
    }),
    "no clash": lambda w: w["clashes"].clear(),
    "clash twice": lambda w: w["clashes"].append(w["clashes"][0]),
    "price of a way out": lambda w: w["ways_out"][0].update(price="1.00"),
    "words of a way out": lambda w: w["ways_out"][0]["changes"][0].update(text="do nothing"),
    "swap for what is not known": lambda w: w["ways_out"][0]["changes"][0].update(
        type="swap", by="rial"),
    "budget that is no sum": lambda w: w["ways_out"][0]["changes"][0].update(
        type="raise_budget", by="lots"),
    "wish that is none": lambda w: w["ways_out"][0]["changes"][0].update(
        type="give_up_wish", wish="hope"),
    "way out to nowhere": lambda w: w["ways_out"][0]["changes"][0].update(part="rail"),
    "claimed possible": lambda w: w.update(outcome="complete"),
    "pick taken back": lambda w: w["asked"]["picks"].pop(),
    "lines all the same": lambda w: w.update(lines=json.loads(written("shell"))["lines"]),
}


@pytest.mark.parametrize("change", IMPOSSIBLE)
def test_a_changed_refusal_does_not_hold(change: str) -> None:
    answer: Written = json.loads(written("shell", "mat"))
    assert again(answer).holds
    IMPOSSIBLE[change](answer)
    found = again(answer)
    assert not found.holds
    assert found.findings


@pytest.mark.parametrize("change", ["text", "statement"])
def test_a_changed_budget_clash_does_not_hold(change: str) -> None:
    answer: Written = json.loads(package(shop(), ask("shell", budget="100")).model_dump_json())
    members(answer)[-1][change] = "the budget is far too small"
    assert not again(answer).holds


def test_what_cannot_be_proven_again_in_time_is_neither_true_nor_false(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    answer = a.Package.model_validate_json(written("shell"))
    real = recheck.__globals__["least_package"]

    def unproven(*args: Any) -> Any:
        found = real(*args)
        found.proven = False
        return found

    monkeypatch.setattr("rules.recheck.least_package", unproven)
    with pytest.raises(OutOfTime):
        recheck(shop(), answer)
