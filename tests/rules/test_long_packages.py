"""Packages of more than a thousand lines, deeper than Python calls may go."""

from __future__ import annotations

import json
from fractions import Fraction

from kb.catalogue import Catalogue, load_texts
from rules.answers import Item, Question
from rules.needed import needed
from rules.resolve import package
from rules.verify_amounts import spread_out

LENGTH = 1500


def chain(each: bool) -> Catalogue:
    """Parts of which each needs the next, the last of them one of two."""
    parts = {
        f"p{i}": {"kind": "item", "name": f"P{i}", "price": "1.00 EUR", "requires": [
            {"part": f"p{i + 1}", **({"each": 1} if each and i < 900 else {})}
        ]} for i in range(LENGTH)
    }
    parts[f"p{LENGTH}"] = {"kind": "item", "name": "last", "price": "1.00 EUR"}
    tern = {"name": "Tern", "years": "2015", "variants": {"p": {"name": "P", "engine": "e"}}}
    return load_texts({"all.yaml": json.dumps({"vehicles": {"tern": tern}, "parts": parts})})


def test_a_chain_of_needs_is_followed_to_its_end_and_re_checked() -> None:
    known = chain(each=False)
    question = Question(vehicle="tern", picks=(Item(part="p0"),))
    answer = package(known, question)
    assert len(answer.lines) == LENGTH + 1
    assert float(answer.totals.price or 0) == LENGTH + 1
    must = needed(known, "p0", Question(vehicle="tern")).must
    assert {line.part for line in must} == {f"p{i}" for i in range(1, LENGTH + 1)}


def test_amounts_go_down_a_chain() -> None:
    question = Question(vehicle="tern", picks=(Item(part="p0", qty=2),))
    lines = {line.part: line.qty for line in package(chain(each=True), question).lines}
    assert lines["p900"] == 2
    assert lines["p1500"] == 1


def test_amounts_are_spread_over_parts_by_trying() -> None:
    def spread(*amounts: int) -> bool:
        have = {"a": Fraction(5), "b": Fraction(4)}
        demands = [(Fraction(amount), ["a", "b"]) for amount in amounts]
        return spread_out(demands, have, dict.fromkeys(have, Fraction(0)))

    assert spread(3, 2, 2, 2), "3 and 2 on one, 2 and 2 on the other"
    assert not spread(3, 3, 3)
    assert spread(*[1] * 9)
    assert not spread(*[1] * 10)
    assert spread()
