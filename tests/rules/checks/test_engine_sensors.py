"""Control unit, harness and sensors: what lacks is named."""

from __future__ import annotations

from typing import Any

from rules.checking import Verdict
from tests.support.engine_bay import engine_bay, part, says, verdict

WANTED = {"crank-speed": "a-3", "knock": "a-2"}


def plugs(plugs: dict[str, str] | None, lead: Any = None) -> Verdict:
    parts = {
        "u": part("control-unit", sensors=WANTED),
        "h": part("harness", **({"sensor_plugs": plugs} if plugs else {})),
    }
    if lead:
        parts["l"] = part("sensor-lead", **lead)
    return verdict(engine_bay(parts), "sensor-plugs", "u", "h", *(["l"] if lead else []))


def test_a_harness_may_have_more_plugs_than_the_unit_wants() -> None:
    assert plugs({**WANTED, "road-speed": "b-3"}).verdict == "fits"


def test_a_missing_plug_is_named() -> None:
    found = plugs({"crank-speed": "a-3"})
    assert (found.verdict, found.says) == ("does_not_fit", "harness has no plug for knock")


def test_another_form_of_plug_is_named_with_both() -> None:
    found = plugs({"crank-speed": "b-3", "knock": "a-2"})
    assert found.says == "harness has another plug for crank speed (b-3, not a-3)"


def test_a_lead_adds_its_plug_if_it_is_the_right_one() -> None:
    assert plugs({"crank-speed": "a-3"}, {"measures": "knock", "plug": "a-2"}).verdict == "fits"
    wrong = plugs({"crank-speed": "a-3"}, {"measures": "knock", "plug": "b-2"})
    assert wrong.says == "harness has another plug for knock (b-2, not a-2)"


def test_a_harness_that_lists_no_plugs_is_asked_about() -> None:
    assert plugs(None).measure == ("sensor plugs of harness",)


def sensor(measures: str, plug: str) -> Verdict | None:
    catalogue = engine_bay({
        "u": part("control-unit", sensors=WANTED),
        "h": part("harness", sensor_plugs={**WANTED, "road-speed": "b-3"}),
        "s": part("sensor", measures=measures, plug=plug),
    })
    return says(catalogue, "sensor-on-harness", "u", "h", "s")


def test_a_sensor_goes_into_the_plug_for_what_it_measures() -> None:
    right, wrong = sensor("knock", "a-2"), sensor("knock", "a-3")
    assert right is not None
    assert wrong is not None
    assert (right.verdict, wrong.verdict) == ("fits", "does_not_fit")
    assert wrong.says == "sensor has the plug a-3, the harness has a-2 for knock"


def test_a_sensor_that_the_unit_does_not_read_is_none_of_its_business() -> None:
    assert sensor("road-speed", "c-9") is None


def test_unit_and_harness_have_one_plug() -> None:
    def joined(loom: str) -> str:
        unit = part("control-unit", harness_plug="a-88")
        parts = {"u": unit, "h": part("harness", unit_plug=loom)}
        return verdict(engine_bay(parts), "unit-plug", "u", "h").verdict

    assert (joined("a-88"), joined("b-64")) == ("fits", "does_not_fit")
