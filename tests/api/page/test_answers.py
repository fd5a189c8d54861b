"""What the page sends besides pages, and what it says of itself to browsers and caches."""

from __future__ import annotations

import csv
import io

import pytest

from api.app import create_app
from kb.catalogue import load_texts

CAR = "vehicle=tern&year=2013&variant=p12"


@pytest.fixture
def plain(catalogue):
    return create_app(catalogue).test_client()


@pytest.mark.parametrize("path", ["/", f"/?{CAR}", f"/print?{CAR}", "/page/counter.js", "/?year=x"])
def test_only_its_own_host_is_allowed_and_nothing_inline(plain, path):
    response = plain.get(path)
    policy, text = response.headers["Content-Security-Policy"], response.text
    response.close()
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy
    assert "http" not in policy
    assert " style=" not in text
    assert " onclick=" not in text


def test_the_page_is_not_sent_twice(plain):
    first = plain.get(f"/?{CAR}&pick=wheel-15")
    again = plain.get(f"/?{CAR}&pick=wheel-15", headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")


def test_the_order_as_csv(plain):
    response = plain.get(f"/order.csv?{CAR}&pick=big-caliper&on_hand=bolt:1")
    assert response.mimetype == "text/csv"
    assert response.headers["Content-Disposition"] == (
        'attachment; filename="order-tern-p12-2013.csv"')
    rows = {row["part"]: row for row in csv.DictReader(io.StringIO(response.text))}
    kit = plain.get(f"/v1/package?{CAR}&pick=big-caliper&on_hand=bolt:1").json
    assert set(rows) == {line["part"] for line in kit["lines"] if line["packs"]}
    for line in kit["lines"]:
        if line["packs"]:
            row = rows[line["part"]]
            assert (row["name"], row["packs"], row["price"]) == (
                line["name"], str(line["packs"]), line["price"])


def test_no_cell_of_the_order_is_a_formula():
    client = create_app(load_texts({"a.yaml": """
vehicles: {car: {name: Car, years: 2015, variants: {v: {name: V, engine: e}}}}
parts: {sum: {kind: item, name: "=1+1", maker: "@cmd", price: 3.00 EUR}}
"""})).test_client()
    row = next(csv.DictReader(io.StringIO(client.get("/order.csv?vehicle=car&pick=sum").text)))
    assert (row["name"], row["maker"]) == ("'=1+1", "'@cmd")


def test_what_cannot_be_has_no_order(plain):
    response = plain.get(f"/order.csv?{CAR}&pick=big-caliper&keep=front-disc")
    assert response.status_code == 422
    assert "cannot all go on this car" in response.text


@pytest.mark.parametrize("path", ["/print", "/order.csv"])
def test_paper_and_order_need_to_know_the_car(plain, path):
    response = plain.get(f"{path}?vehicle=tern")
    assert response.status_code == 422
    assert "which car?" in response.text.lower()


def test_the_link_to_json_asks_the_same(plain):
    text = plain.get(f"/?{CAR}&pick=wheel-15&find=tyre&avoid=brush").text
    link = text.partition('<a href="/v1/package?')[2].partition('"')[0].replace("&amp;", "&")
    answer = plain.get(f"/v1/package?{link}")
    assert answer.status_code == 200
    assert answer.json["asked"]["avoid"] == ["brush"]


def test_a_part_whose_id_holds_a_colon_is_picked_and_left_out(plain):
    text = plain.get(f"/?{CAR}&pick=odd:2&of=odd:2&qty=3").text
    assert "pick=odd%3A2%3A3" in text
    assert "A part with a colon in its id" in text


def test_a_part_that_was_replaced_is_found_by_its_old_number(plain):
    text = plain.get(f"/?{CAR}&find=bolt-old").text
    assert 'id="pick-bolt"' in text
