"""A small catalogue, and a client that holds every response against the OpenAPI document."""

from __future__ import annotations

import gzip
import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from flask_openapi3.openapi import OpenAPI
from jsonschema import Draft202012Validator

from api.app import create_app
from api.settings import Settings
from kb.catalogue import Catalogue, load_texts

CATALOGUE = """
catalog: {name: Mini, labour_rate: "60.00 EUR"}
vehicles:
  tern:
    name: Tern
    years: 2012-2019
    variants:
      p12: {name: "1.2 petrol", engine: a12, years: 2012-2015}
      p16: {name: "1.6 petrol", engine: a16, years: 2014-2019, market: home}
    places:
      front-wheel: {count: 2, axle: front}
      front-tyre: {count: 2, axle: front}
      front-caliper: {count: 2, axle: front}
      front-disc: {count: 2, axle: front}
      front-nuts: {count: 8, axle: front}
    equipment:
      pressure-sensors: {years: 2016-}
    fitted:
      front-wheel: w-stock
      front-tyre: t-stock
      front-caliper: c-stock
      front-disc: d-stock
      front-nuts: n-stock
    facts:
      - {about: hub, axle: front, bolt_circle: 4 x 100, spigot: 56.1 mm, stud_thread: M12 x 1.5}
  gannet:
    name: Gannet
    years: 2015
    variants:
      g1: {name: diesel, engine: d20}
parts:
  w-stock:
    kind: wheel
    name: Stock wheel
    orderable: false
    takes: [front-wheel]
    dimensions: {rim: 5.5 J x 14, bolt_circle: 4 x 100, centre_bore: 56.1 mm, nut_seat: cone-60}
  t-stock: {kind: tyre, name: Stock tyre, orderable: false, takes: [front-tyre],
            dimensions: {size: 175/65 R14}}
  c-stock: {kind: caliper, name: Stock caliper, orderable: false, takes: [front-caliper],
            fits: [{vehicles: [tern]}],
            requires: [{kind: brake-disc, at: front-disc, match: {diameter: {equals: 240 mm}}}]}
  d-stock: {kind: brake-disc, name: Stock disc, orderable: false, takes: [front-disc],
            fits: [{vehicles: [tern]}], dimensions: {diameter: 240 mm}}
  n-stock: {kind: wheel-nut, name: Stock nut, orderable: false, takes: [front-nuts],
            dimensions: {thread: M12 x 1.5, seat: cone-60}}
  wheel-15:
    kind: wheel
    name: Wheel fifteen
    maker: Fellrim
    takes: [front-wheel]
    price: 100.00 EUR
    mass: 7.1 kg
    fitting_time: 10 min
    dimensions: {rim: 6.5 J x 15, bolt_circle: 4 x 100, centre_bore: 63.4 mm, nut_seat: ball-R12}
    recommends: [{part: brush, why: the spokes are narrow}]
    cautions: [Not for towing.]
    note: Made to order.
  tyre-15: {kind: tyre, name: Tyre fifteen, takes: [front-tyre], price: 60.00 EUR,
            dimensions: {size: 195/50 R15}}
  ring: {kind: centring-ring, name: Ring, price: 3.00 EUR,
         dimensions: {outer_diameter: 63.4 mm, inner_diameter: 56.1 mm}}
  nut-ball: {kind: wheel-nut, name: Ball nut, takes: [front-nuts], pack: 4, price: 6.00 EUR,
             dimensions: {thread: M12 x 1.5, seat: ball-R12}}
  brush: {kind: item, name: Brush, price: 4.50 EUR}
  big-caliper:
    kind: caliper
    name: Big caliper
    takes: [front-caliper]
    fits: [{vehicles: [tern], years: 2013-2019, basis: trial_fitted, source: shop car 3}]
    price: 200.00 EUR
    requires:
      - {kind: brake-disc, at: front-disc, match: {diameter: {equals: 280 mm}}, why: made for it}
      - {part: bolt, each: 2}
      - {part: fluid, once: 0.7 L, when: {without: [pressure-sensors]}}
    conflicts:
      - {kind: wheel, match: {rim: {equals: 5.5 J x 14}}, why: the wheel is too small inside}
  disc-280: {kind: brake-disc, name: Disc 280, takes: [front-disc], fits: [{vehicles: [tern]}],
             price: 45.00 EUR, dimensions: {diameter: 280 mm}}
  bolt: {kind: bolt, name: Caliper bolt, price: 2.00 EUR, pack: 2, supersedes: [bolt-old]}
  bolt-old: {kind: bolt, name: Old caliper bolt, price: 2.00 EUR}
  "odd:2": {kind: item, name: A part with a colon in its id, price: 1.00 EUR}
  fluid: {kind: brake-fluid, name: Fluid, price: 9.00 EUR, pack: 0.5 L}
  brake-kit: {kind: kit, name: Front brake kit, price: 470.00 EUR,
              contents: {big-caliper: 2, disc-280: 2, bolt: 4}}
"""

PROBLEM = {"$ref": "#/components/schemas/ProblemDetails"}


class Contract:
    """The OpenAPI document as a judge of responses."""

    def __init__(self, document: dict[str, Any]) -> None:
        self.document = document
        self.paths = {
            re.compile(re.sub(r"\{\w+\}", "[^/]+", path)): item
            for path, item in document["paths"].items()
        }

    def check(self, response: Any) -> None:
        """Fail unless status, media type and body are as documented."""
        method, path = response.request.method.lower(), response.request.path
        if path in ("/openapi.json", "/metrics") or method in ("head", "options"):
            return
        if response.status_code == 304:
            assert not response.data
            return
        packed = response.headers.get("Content-Encoding") == "gzip"
        body = gzip.decompress(response.data) if packed else response.data
        found = body.decode() if response.mimetype == "image/svg+xml" else json.loads(body)
        self._validator(self._schema(method, path, response)).validate(found)

    def _schema(self, method: str, path: str, response: Any) -> dict[str, Any]:
        item = next((i for p, i in self.paths.items() if p.fullmatch(path)), {})
        if method not in item:
            assert response.status_code in (404, 405)
            assert response.mimetype == "application/problem+json"
            return PROBLEM
        known = item[method]["responses"]
        content = known.get(str(response.status_code), known["default"])["content"]
        schema: dict[str, Any] = content[response.mimetype]["schema"]
        return schema

    def _validator(self, schema: dict[str, Any]) -> Draft202012Validator:
        return Draft202012Validator({**schema, "components": self.document["components"]})


class ContractClient(FlaskClient):
    """A test client under which every response has to keep the contract."""

    def open(self, *args: Any, **kwargs: Any) -> Any:
        response = super().open(*args, **kwargs)
        self.application.extensions["contract"].check(response)
        return response


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    return load_texts({"mini.yaml": CATALOGUE})


@pytest.fixture(scope="session")
def app(catalogue: Catalogue) -> OpenAPI:
    made = create_app(catalogue, Settings(answer_bytes=0))  # each answer is worked out anew
    made.test_client_class = ContractClient
    made.extensions["contract"] = Contract(made.api_doc)
    return made


@pytest.fixture
def client(app: OpenAPI) -> FlaskClient:
    return app.test_client()


@pytest.fixture
def refused() -> Callable[..., dict[str, Any]]:
    """The one assertion about failures: proper problem details of this status and code."""

    def check(response: Any, status: int, code: str, *fields: str) -> dict[str, Any]:
        body: dict[str, Any] = response.json
        assert response.status_code == status, response.text
        assert response.mimetype == "application/problem+json"
        assert list(body) == ["type", "title", "status", "detail", "code", "errors"]
        assert (body["status"], body["code"]) == (status, code)
        assert body["type"] == f"/problems/{code}"
        assert body["detail"]
        assert [error["field"] for error in body["errors"]] == list(fields)
        assert response.headers["Cache-Control"] == "no-store"
        assert "ETag" not in response.headers or status == 412
        assert "Traceback" not in response.text
        return body

    return check
