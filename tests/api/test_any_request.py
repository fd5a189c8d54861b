"""Whatever is sent, right or wrong, the answer keeps the contract (requests by schemathesis)."""

from __future__ import annotations

import pytest
import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis import GenerationMode
from schemathesis.checks import positive_data_acceptance

from api.app import create_app
from kb.catalogue import load_texts
from tests.api.conftest import CATALOGUE

APP = create_app(load_texts({"mini.yaml": CATALOGUE}))
CONTRACT = schemathesis.openapi.from_wsgi("/openapi.json", APP)
CONTRACT.config.generation.update(modes=[GenerationMode.POSITIVE, GenerationMode.NEGATIVE])
QUIET = [HealthCheck.filter_too_much, HealthCheck.too_slow, HealthCheck.data_too_large]


@schemathesis.check
def what_the_schema_allows_is_never_refused_for_its_form(ctx, response, case):
    """Ids of the right form may name nothing (`wrong_question`); no schema can say which do."""
    if case.meta.generation.mode == GenerationMode.POSITIVE and response.status_code >= 400:
        code = response.json()["code"]
        assert code in ("wrong_question", "unchanged") or code.startswith("unknown_")


def keeps_the_contract(case):
    case.call_and_validate(
        headers={"Accept-Encoding": "identity"}, excluded_checks=[positive_data_acceptance])


@CONTRACT.parametrize()
@settings(max_examples=10, deadline=None, suppress_health_check=QUIET)
def test_a_few_requests_to_each_route_keep_the_contract(case):
    keeps_the_contract(case)


@pytest.mark.slow
@CONTRACT.parametrize()
@settings(max_examples=60, deadline=None, suppress_health_check=QUIET)
def test_many_requests_to_each_route_keep_the_contract(case):
    keeps_the_contract(case)
