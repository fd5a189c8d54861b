"""A hundred reloads under constant load: no request is lost, none is answered by halves."""

from __future__ import annotations

import json
import os
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest

from api.endpoint import answer_tag
from api.routes_parts import PartPath
from api.routes_questions import NeededQuery
from kb.catalogue import Catalogue, load_texts
from rules.answers import Package, Question
from rules.needed import needed
from rules.verify import verify
from tests.api.conftest import CATALOGUE
from tests.support.hammer import Ask, Got, Hammer
from tests.support.running import Running

RELOADS = 100
CAR = {"vehicle": "tern", "year": 2014, "variant": "p16"}
PARTS = ("big-caliper", "wheel-15", "ring")
NEEDED = [
    Ask("GET", f"/v1/parts/{part}/needed?vehicle=tern&year=2014&variant=p16") for part in PARTS
]
PACKAGES = [
    Ask("POST", "/v1/package", json.dumps({**CAR, "picks": [{"part": part} for part in cart]}))
    for cart in (["big-caliper"], ["wheel-15"], ["big-caliper", "wheel-15"])
]


@pytest.fixture
def two(tmp_path: Path) -> dict[str, tuple[Path, Catalogue]]:
    """Two states of a catalogue: in the new one some prices, needs and a name are others."""
    texts = {"old": CATALOGUE, "new": CATALOGUE.replace("price: 2", "price: 3").replace(
        "{part: bolt, each: 2}", "{part: bolt, each: 3}").replace("Big caliper", "Great caliper")}
    found = {}
    for name, text in texts.items():
        (tmp_path / name).mkdir()
        (tmp_path / name / "all.yaml").write_text(text)
        found[name] = (tmp_path / name, load_texts({"all.yaml": text}))
    return found


@pytest.mark.slow
def test_a_hundred_reloads_lose_and_mix_no_request(
    two: dict[str, tuple[Path, Catalogue]], tmp_path: Path
) -> None:
    served = tmp_path / "served"
    served.symlink_to(two["old"][0])
    by_digest = {catalogue.digest: catalogue for _, catalogue in two.values()}
    assert len(by_digest) == 2
    with Running(served, log=tmp_path / "log") as running:
        running.wait()
        with Hammer(running.port, [*NEEDED, *PACKAGES, Ask("GET", "/healthz")]) as hammer:
            for i in range(1, RELOADS + 1):
                _point(served, two["new" if i % 2 else "old"][0])
                running.hang_up()
                running.until(lambda i=i: _reloads(running) == i, f"reload {i}")  # type: ignore[misc]
            assert "refused" not in running.said
        running.stop()
    assert running.process.returncode == 0
    assert hammer.lost == []
    assert {got.status for got in hammer.got} == {200}
    assert hammer.count > 10 * RELOADS
    seen = {digest for got in hammer.got if (digest := _check(got, by_digest))}
    assert seen == set(by_digest)


def _point(link: Path, target: Path) -> None:
    draft = link.with_name("draft")
    draft.symlink_to(target)
    os.replace(draft, link)


def _reloads(running: Running) -> int:
    return running.said.count("reload: ")


def _check(got: Got, by_digest: dict[str, Catalogue]) -> str | None:
    """The digest of an answer, which is wholly that of the catalogue with this digest."""
    if got.ask in PACKAGES:
        question = Question.model_validate_json(got.ask.body or "")
        answer = Package.model_validate_json(got.body)
        catalogue = by_digest[answer.catalog.digest]
        assert verify(catalogue, answer, question) == []
        return catalogue.digest
    if got.ask not in NEEDED:
        return None
    address = urlsplit(got.ask.path)
    part = address.path.split("/")[3]
    query = NeededQuery(**{k: v[0] for k, v in parse_qs(address.query).items()})  # type: ignore[arg-type]
    digest: str = json.loads(got.body)["catalog"]["digest"]
    right = needed(by_digest[digest], part, Question(**CAR))
    assert got.body == right.model_dump_json(by_alias=True).encode()
    tag = answer_tag(digest, address.path, {"path": PartPath(part=part), "query": query})
    assert got.tag == f'W/"{tag}"'
    return digest
