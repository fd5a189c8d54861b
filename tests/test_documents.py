"""What the documents show is true: every example is run."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from api.cli import main
from kb.catalogue import Catalogue, load_texts
from rules.answers import Item, Package, Question
from rules.audit import audit
from rules.resolve import package

ROOT = Path(__file__).parent.parent
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(text: str, language: str) -> list[str]:
    """The fenced code blocks of one language."""
    return re.findall(rf"^```{language}\n(.*?)^```", text, re.DOTALL | re.MULTILINE)


@pytest.fixture(scope="module")
def examples() -> Catalogue:
    """The examples of the language page, read as one catalogue."""
    page = DEVELOPERS.split("## The catalogue language")[1]
    return load_texts({f"example-{i}.yaml": text for i, text in enumerate(blocks(page, "yaml"))})


def ask(catalogue: Catalogue, year: int, variant: str, *picks: str) -> Package:
    return package(catalogue, Question(
        vehicle="plover", year=year, variant=variant, picks=tuple(Item(part=p) for p in picks),
    ))


def quantities(answer: Package) -> dict[str, float]:
    return {line.part: line.qty for line in answer.lines}


class TestTheLanguagePage:
    def test_a_caliper_brings_what_it_needs_and_the_kit_is_cheaper(
        self, examples: Catalogue
    ) -> None:
        answer = ask(examples, 2015, "p16", "caliper-heron")
        found = quantities(answer)
        assert found["kit-heron"] == 1
        assert (found["disc-280"], found["pad-heron"], found["bolt-m10"]) == (2, 1, 4)
        assert found["fluid-dot4"] == 0.5
        # The 14 inch wheel is at odds with the caliper, so its place is refilled.
        assert found["wheel-fen-15"] == 2
        assert {work.step for work in answer.work} <= {"trim-shield", "remove-shield"}
        assert len(answer.work) == 1
        assert {"disc-256", "caliper-stock"} <= {gone.part for gone in answer.comes_off}

    def test_a_wheel_needs_rings_a_tyre_and_a_valve_where_there_are_no_sensors(
        self, examples: Catalogue
    ) -> None:
        found = quantities(ask(examples, 2015, "p16", "wheel-fen-15"))
        assert (found["ring-634-561"], found["tyre-15"], found["valve-rubber"]) == (2, 2, 2)
        assert "service-clamped" not in found

    def test_sensors_are_moved_over_from_2016_on(self, examples: Catalogue) -> None:
        answer = ask(examples, 2016, "p16", "wheel-fen-15")
        found = quantities(answer)
        assert found["service-clamped"] == 2
        assert "valve-rubber" not in found
        kept = [line.part for line in answer.lines if line.status == "kept"]
        assert kept == [] or kept == ["sensor-stock"]

    def test_the_trim_comes_off_with_nothing_in_its_place(self, examples: Catalogue) -> None:
        answer = ask(examples, 2015, "p16", "wheel-fen-15")
        assert "trim-14" in {gone.part for gone in answer.comes_off}

    def test_an_old_part_gives_way_to_its_successor(self, examples: Catalogue) -> None:
        answer = ask(examples, 2015, "p16", "wheel-fen-15-old")
        assert "wheel-fen-15" in quantities(answer)
        assert any("was replaced by" in note for note in answer.notes)

    def test_a_stated_fit_is_a_closed_list(self, examples: Catalogue) -> None:
        answer = ask(examples, 2013, "p12", "caliper-heron")
        assert answer.outcome == "impossible"
        texts = [member.text for member in answer.clashes[0].members]
        assert any("it is not listed for Plover estate 1.2 petrol, 2013" in text for text in texts)

    def test_every_example_can_be_used(self, examples: Catalogue) -> None:
        assert [f.text for f in audit(examples).findings if f.severity == "error"] == []


def tour() -> list[tuple[str, str]]:
    """Each command of the README's tour with what is shown of its output."""
    shown = blocks(README, "console")
    return [(text.splitlines()[0].removeprefix("$ "), text.partition("\n")[2]) for text in shown]


@pytest.mark.parametrize(("command", "shown"), tour(), ids=[c for c, _ in tour()])
def test_the_tour_prints_what_the_readme_shows(command: str, shown: str) -> None:
    """Lines in order; `...` stands for any lines left out."""
    result = CliRunner().invoke(main, shlex.split(command)[1:])
    assert result.exit_code in (0, 1), result.output
    printed = iter(result.output.splitlines())
    for line in shown.splitlines():
        if line.strip() != "..." and line.strip():
            assert any(line.rstrip() == other.rstrip() for other in printed), line
