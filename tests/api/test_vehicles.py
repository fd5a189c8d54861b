"""A shop asks which cars there are."""

from __future__ import annotations


def test_a_vehicle_is_shown_with_all_there_is_to_choose_from(client):
    answer = client.get("/v1/vehicles").json
    assert [v["vehicle"] for v in answer["items"]] == ["gannet", "tern"]
    tern = answer["items"][1]
    assert (tern["name"], tern["years"], tern["engines"]) == ("Tern", "2012-2019", ["a12", "a16"])
    assert tern["variants"][1] == {
        "variant": "p16", "name": "1.6 petrol", "engine": "a16", "market": "home",
        "years": "2014-2019", "equipment": [],
    }
    assert {"place": "front-nuts", "name": "front nuts", "count": 8, "axle": "front"} in (
        tern["places"])


def test_the_baselines_of_a_vehicle_are_its_variants_in_their_years(client):
    tern = client.get("/v1/vehicles").json["items"][1]
    ids = [b["id"] for b in tern["baselines"]]
    assert ids == [f"tern/p12/{y}" for y in range(2012, 2016)] + [
        f"tern/p16/{y}" for y in range(2014, 2020)]


def test_equipment_says_on_which_cars_it_is_and_each_baseline_whether_it_has_it(client):
    tern = client.get("/v1/vehicles").json["items"][1]
    assert tern["equipment"] == [{"equipment": "pressure-sensors", "on": "years 2016-"}]
    having = {b["id"] for b in tern["baselines"] if b["equipment"]}
    assert having == {f"tern/p16/{year}" for year in range(2016, 2020)}


def test_many_vehicles_come_page_by_page(client):
    first = client.get("/v1/vehicles?limit=1").json
    assert ([v["vehicle"] for v in first["items"]], first["total"], first["next"]) == (
        ["gannet"], 2, "gannet")
    second = client.get(f"/v1/vehicles?limit=1&after={first['next']}").json
    assert ([v["vehicle"] for v in second["items"]], second["next"]) == (["tern"], None)
