"""A shop's programmer generates a client from the OpenAPI document, and it works as it stands."""

from __future__ import annotations

import importlib
import json
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

from api.asking import demo_folder
from api.batch import SORTS
from tests.support.running import Running

pytestmark = pytest.mark.slow

CAR = {"vehicle": "quernby", "year": 2017, "variant": "q16"}
PICK = {"picks": [{"part": "wheel-corrie-16"}], **CAR}


@pytest.fixture(scope="module")
def running(tmp_path_factory):
    room = tmp_path_factory.mktemp("served")
    with Running(demo_folder(), "--workers", "1", log=room / "log") as server:
        yield server.wait()


@pytest.fixture(scope="module")
def generated(running, tmp_path_factory) -> ModuleType:
    """The package that openapi-python-client writes, as a programmer would import it."""
    room: Path = tmp_path_factory.mktemp("client")
    (room / "openapi.json").write_text(json.dumps(running.ask("/openapi.json")[1]))
    (room / "config.yml").write_text("post_hooks: []\n")
    subprocess.run(
        [sys.executable, "-m", "openapi_python_client", "generate", "--path", "openapi.json",
         "--config", "config.yml", "--meta", "none", "--output-path", "shop_client"],
        cwd=room, check=True, capture_output=True, timeout=120,
    )
    sys.path.insert(0, str(room))
    try:
        yield importlib.import_module("shop_client")
    finally:
        sys.path.remove(str(room))


@pytest.fixture(scope="module")
def client(generated, running):
    with generated.Client(base_url=f"http://127.0.0.1:{running.port}", timeout=60) as made:
        yield made


def call(generated, client, group: str, name: str, *given, **more):
    operation = importlib.import_module(f"shop_client.api.{group}.{name}")
    return operation.sync_detailed(*given, client=client, **more)


def model(generated, name: str, value: dict):
    return getattr(generated.models, name).from_dict(value)


def operations(document):
    for path, item in document["paths"].items():
        for operation in item.values():
            ok = operation["responses"]["200"]["content"]
            if "application/json" in ok:
                yield path, operation


def test_every_operation_can_be_called_and_nothing_of_its_answer_is_lost(
    generated, client, running
):
    called = 0
    for path, operation in operations(running.ask("/openapi.json")[1]):
        examples = {p["name"]: p["example"] for p in operation.get("parameters", ())
                    if "example" in p}
        in_path = [examples.pop(p["name"]) for p in operation.get("parameters", ())
                   if p["in"] == "path"]
        if "requestBody" in operation:
            content = operation["requestBody"]["content"]["application/json"]
            name = content["schema"]["$ref"].rpartition("/")[2]
            examples["body"] = model(generated, name, content["example"])
        answer = call(generated, client, operation["tags"][0], operation["operationId"], *in_path,
                      **examples)
        assert answer.status_code == 200, path
        ref = operation["responses"]["200"]["content"]["application/json"]["schema"]["$ref"]
        assert type(answer.parsed).__name__ == ref.rpartition("/")[2], path
        assert answer.parsed.to_dict() == json.loads(answer.content), path
        called += 1
    assert called >= 15


def test_a_problem_is_an_object_with_its_code_and_the_nearest_id(generated, client):
    question = model(generated, "Question", {**CAR, "picks": [{"part": "wheel-corie-16"}]})
    answer = call(generated, client, "answers", "package_by_body", body=question)
    assert answer.status_code == 422
    assert answer.parsed.code == "wrong_question"
    assert answer.parsed.errors[0].field == "picks.0.part"
    assert answer.parsed.errors[0].nearest == "wheel-corrie-16"


def test_each_outcome_of_a_batch_is_of_the_type_of_its_question(generated, client):
    asked = {
        "needed": {"part": "wheel-corrie-16", **CAR}, "fit": {"parts": ["wheel-corrie-16"], **CAR},
        "gaps": {"have": [{"text": "wheel-corrie-16", "qty": 4}], **PICK},
    }
    questions = [{"ask": sort, **asked.get(sort, PICK)} for sort in SORTS]
    questions.append({"ask": "package", "vehicle": "quernbee"})
    batch = model(generated, "Batch", {"questions": questions, "deadline": 30})
    answer = call(generated, client, "answers", "batch_by_body", body=batch)
    outcomes = answer.parsed.outcomes
    assert [type(each.body).__name__ for each in outcomes] == [
        "Needed", "Package", "FitSheet", "Options", "Front", "Plan", "Gaps", "SetupSheet",
        "NoneType"]
    assert outcomes[-1].problem.errors[0].nearest == "quernby"


def test_an_answer_the_caller_has_is_not_sent_again(generated, client):
    first = call(generated, client, "catalogue", "list_vehicles")
    again = call(generated, client, "catalogue", "list_vehicles",
                 if_none_match=first.headers["ETag"])
    assert (again.status_code, again.content) == (304, b"")
