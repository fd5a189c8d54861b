"""Stories about the catalogue itself: finding ids, its health, its schema, serving it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

import api.serve
from api.asking import demo_folder
from api.cli import main
from api.settings import Settings
from rules.audit import Audit
from tests.support.cli_catalogue import CAR, TEXT, write
from tests.support.command_line import CommandLine, flat
from tests.support.running import free_port


@pytest.fixture
def run(tmp_path: Path) -> CommandLine:
    return CommandLine(write(tmp_path / "shop"))


def test_a_newcomer_finds_the_car(run: CommandLine) -> None:
    found = run("vehicles")
    page = flat(found.stdout)
    assert found.exit_code == 0
    assert "tern Tern 2012-2019" in page
    assert "t12 1.2 petrol p12 2012-2015" in page
    assert "t16 1.6 petrol p16 2012-2019" in page


def test_a_newcomer_finds_a_part_by_any_of_its_words(run: CommandLine) -> None:
    page = flat(run("parts", "BIG kit").stdout)
    assert "kit-big Big brake kit 460.00 EUR" in page
    assert page.endswith("1 part.")
    assert "pack of 6" in run("parts", "nut-ball").stdout
    assert "not sold" in run("parts", "stock", "--kind", "tyre").stdout


def test_parts_of_one_kind_only(run: CommandLine) -> None:
    page = flat(run("parts", "--kind", "brake-disc").stdout)
    assert "disc-280" in page
    assert page.endswith("2 parts.")


def test_no_such_part_is_a_no(run: CommandLine) -> None:
    found = run("parts", "gearbox")
    assert (found.exit_code, found.stdout) == (1, "No such part.\n")


def test_an_audit_without_errors_is_a_yes(run: CommandLine) -> None:
    found = run("audit")
    page = flat(found.stdout)
    assert found.exit_code == 0
    assert page.startswith("The catalogue has 1 warning.")
    assert "no-price: 'gift' is for sale without a price. To mend: " in page
    answer = Audit.model_validate_json(run("audit", "--json").stdout)
    assert [finding.code for finding in answer.findings] == ["no-price"]


def test_an_audit_with_errors_is_a_no_and_says_where(tmp_path: Path) -> None:
    dead = """
  useless:
    kind: item
    name: Useless
    price: "1.00 EUR"
    requires: [{part: nut-stock, fitted: false}]
work:"""
    run = CommandLine(write(tmp_path, TEXT.replace("\nwork:", dead)))
    found = run("audit")
    assert found.exit_code == 1
    assert "ERRORS" in found.stdout
    assert "counter.yaml:" in found.stdout
    assert "dead-part: 'useless' can be in no package" in flat(found.stdout)


def test_the_schema_is_json_that_knows_the_sections(run: CommandLine) -> None:
    found = run("schema")
    assert found.exit_code == 0
    assert {"vehicles", "parts", "rules"} <= set(json.loads(found.stdout)["properties"])


def test_serve_hands_over_folder_and_settings(
    run: CommandLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[Any] = []
    monkeypatch.setattr(api.serve, "serve", lambda *words: asked.append(words))
    assert run("serve", "--port", "9000", "--workers", "2").exit_code == 0
    assert asked == [(run.folder, Settings(port=9000, workers=2))]


def test_a_wrong_catalogue_is_never_served(tmp_path: Path) -> None:
    run = CommandLine(write(tmp_path, "parts: {a: {}}"))
    assert run("serve", "--port", str(free_port())).exit_code == 2


def test_the_demo_is_the_catalogue_when_none_is_named() -> None:
    assert list(demo_folder().glob("*.yaml"))
    found = CliRunner().invoke(main, ["vehicles"])
    assert found.exit_code == 0
    assert "Ask with --vehicle" in found.stdout


def test_alone_it_says_what_it_can_do(run: CommandLine) -> None:
    found = CliRunner().invoke(main, [])
    assert found.exit_code == 2
    for command in ("audit", "needed", "package", "parts", "schema", "serve", "vehicles"):
        assert f"\n  {command} " in found.stdout
    assert CliRunner().invoke(main, ["package", "--help"]).exit_code == 0
    assert CAR[0] in CliRunner().invoke(main, ["package", "--help"]).stdout


def test_the_environment_may_name_the_catalogue_and_an_option_goes_first(tmp_path: Path) -> None:
    named, other = write(tmp_path / "shop"), tmp_path / "nowhere"
    environment = {"KITWRIGHT_CATALOG": str(named)}
    assert "tern" in CliRunner().invoke(main, ["vehicles"], env=environment).stdout
    words = ["vehicles", "--catalog", str(other)]
    assert CliRunner().invoke(main, words, env=environment).exit_code == 2
