"""POST /v1/plan and POST /v1/gaps: the builder's questions as JSON."""

from __future__ import annotations

CAR = {"vehicle": "tern", "year": 2015, "variant": "p16"}


def test_a_plan_has_stages_times_and_lists(client):
    found = client.post("/v1/plan", json={**CAR, "picks": [{"part": "big-caliper"}]}).json
    assert found["outcome"] != "impossible"
    ids = [o["id"] for stage in found["stages"] for o in stage["operations"]]
    assert ids.index("off:c-stock") < ids.index("fit:disc-280") < ids.index("fit:big-caliper")
    assert found["times"]["two_people"] <= found["times"]["one_person"]
    assert {"Before the road"} <= {todo["name"] for todo in found["lists"]}


def test_a_plan_of_what_cannot_be_says_why(client):
    picks = [{"part": "big-caliper"}, {"part": "w-stock"}]
    found = client.post("/v1/plan", json={**CAR, "picks": picks}).json
    assert found["outcome"] == "impossible"
    assert found["clashes"]


def test_gaps_name_what_is_missing_by_stage(client):
    body = {**CAR, "picks": [{"part": "big-caliper"}],
            "have": [{"text": "Big caliper", "qty": 2}, {"text": "fluid", "amount": "0.2 L"}]}
    found = client.post("/v1/gaps", json=body).json
    short = {
        lack["part"]: lack["short"]
        for stage in found["stages"] for lack in (*stage["missing"], *stage["short"])
    }
    assert found["outcome"] == "gaps"
    assert short["bolt"] == 4
    assert short["fluid"] == 0.5
    assert "big-caliper" not in short


def test_gaps_offer_what_a_text_may_mean(client):
    body = {**CAR, "picks": [{"part": "big-caliper"}], "have": [{"text": "caliper bolts M10"}]}
    [unread] = client.post("/v1/gaps", json=body).json["unread"]
    assert unread["nearest"][0]["part"] == "bolt"


def test_an_unknown_pick_is_named_with_the_nearest(client, refused):
    for path, have in (("/v1/plan", {}), ("/v1/gaps", {"have": []})):
        response = client.post(path, json={**CAR, **have, "picks": [{"part": "big-calipre"}]})
        problem = refused(response, 422, "wrong_question", "picks.0.part")
        assert problem["errors"][0]["nearest"] == "big-caliper"


def test_nothing_to_build_is_a_wrong_question(client, refused):
    response = client.post("/v1/gaps", json={**CAR, "have": [{"text": "bolt", "qty": 4}]})
    assert response.status_code == 422
    assert "say what is to be built" in response.json["detail"]


def test_quantity_is_said_once(client, refused):
    body = {**CAR, "have": [{"text": "bolt", "qty": 4, "amount": "4"}]}
    response = client.post("/v1/gaps", json=body)
    assert "either 'qty' or 'amount'" in refused(
        response, 422, "wrong_request", "have.0")["detail"]


def test_the_same_question_has_the_same_tag(client):
    body = {**CAR, "have": [{"text": "bolt", "qty": 4}], "picks": [{"part": "big-caliper"}]}
    first, second = (client.post("/v1/gaps", json=body) for _ in range(2))
    assert first.headers["ETag"] == second.headers["ETag"]
    assert first.json == second.json


def test_a_set_up_names_what_it_lacks(client):
    found = client.post("/v1/setup", json={**CAR, "picks": [{"part": "wheel-15"}]}).json
    assert {start["setting"] for start in found["starts"]} == {
        "spring_perch", "damper_clicks", "helper_travel", "tyre_pressure", "cross_weight"}
    assert any("damper of the front axle" in m["what"] for m in found["measure_first"])
