"""Needs counted per unit must not run in a circle, by whatever way they lead back."""

from __future__ import annotations

import pytest

from kb.catalogue import load_texts
from kb.errors import CatalogueError

PARTS = """
parts:
  clip: {kind: item, name: Clip, requires: [{part: bracket, each: 2}]}
  bracket: {kind: item, name: Bracket}
"""


def test_needs_without_a_circle_are_taken() -> None:
    assert set(load_texts({"a.yaml": PARTS}).parts) == {"bracket", "clip"}


@pytest.mark.parametrize("closing", [
    "rules: {r: {when: [{part: bracket}], then_any: [{part: clip}], each: 1}}",
    "rules: {r: {when: [{kind: item}], then_any: [{kind: item}], each: 1}}",
    "rules: {r: {when: [{part: bracket}], then_any: [{kind: bolt}, {parts: [clip]}], each: 3}}",
])
def test_a_general_rule_can_close_a_circle(closing: str) -> None:
    with pytest.raises(CatalogueError, match="counted with 'each' run in a circle"):
        load_texts({"a.yaml": PARTS, "b.yaml": closing})


def test_a_newer_part_can_close_a_circle() -> None:
    newer = """
parts:
  bracket-2: {kind: bolt, name: New, supersedes: [bracket], requires: [{part: clip, each: 1}]}
"""
    with pytest.raises(CatalogueError, match=r"in a circle; .* \(bracket, bracket-2, clip\)"):
        load_texts({"a.yaml": PARTS, "b.yaml": newer})


def test_once_breaks_a_circle() -> None:
    rule = "rules: {r: {when: [{part: bracket}], then_any: [{part: clip}], once: 1}}"
    assert load_texts({"a.yaml": PARTS, "b.yaml": rule}).rules
