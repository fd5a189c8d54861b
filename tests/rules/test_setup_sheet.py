"""The set-up sheet: starting values worked out by hand from the demo's own numbers."""

from __future__ import annotations

from math import sqrt

import pytest

from kb.catalogue import Catalogue, load
from rules.answers import Item
from rules.setup_sheet import setup_sheet
from rules.setup_sheet_models import AxleWish, SetupQuestion, SetupSheet, Start
from tests.kb.helpers import ROOT

MASS, UNSPRUNG, RATIO, HEIGHT = 604.0, 68.0, 0.93, 352.0
"""Front axle of the demo's Quernby with the 1.0 engine: kg, kg, spring and damper, mm."""
MAIN, HELPER, COUPLER = (240.0, 40.0, 84.0), (70.0, 4.0, 14.0), 6.0
"""Free length mm, rate N/mm, block length mm of the springs in the light Grit kit; mm."""
STROKE, STOP, RESERVE = 178.0, 45.0, 30.0


@pytest.fixture(scope="module")
def demo() -> Catalogue:
    return load(ROOT / "demo_catalog")


def ask(demo: Catalogue, *picks: str, **wishes: AxleWish) -> SetupSheet:
    return setup_sheet(demo, SetupQuestion(
        vehicle="quernby", year=2016, variant="q10t",
        picks=tuple(Item(part=pick) for pick in picks), **wishes,
    ))


def start(found: SetupSheet, setting: str, axle: str | None = "front") -> Start:
    return next(s for s in found.starts if (s.setting, s.axle) == (setting, axle))


def shop_start() -> float:
    """Seat gap at full droop that leaves the shop's reserve to the bump stop, worked out again."""
    load = (MASS - UNSPRUNG) / 2 * 9.80665 / RATIO
    together = 1 / (1 / HELPER[1] + 1 / MAIN[1])
    closing = (HELPER[0] - HELPER[2]) * HELPER[1]
    squeezed = closing / together + (load - closing) / MAIN[1]
    return (STROKE - STOP - RESERVE) + (MAIN[0] + HELPER[0] + COUPLER) - squeezed


@pytest.mark.parametrize("wanted", [345.0, 352.0, 356.0])
def test_the_perch_follows_the_wanted_height(demo: Catalogue, wanted: float) -> None:
    """Statics of springs in series and dz = dp / MR (computed here again, by hand)."""
    perch = start(ask(demo, "kit-grit-light", front=AxleWish(ride_height=wanted)), "spring_perch")
    up = (wanted - HEIGHT) * RATIO
    assert perch.value == pytest.approx(shop_start() - up, abs=0.01)
    assert f"({up / 2:+.1f} turns" in perch.says


def test_a_low_car_is_told_what_it_loses(demo: Catalogue) -> None:
    found = ask(demo, "kit-grit-light", front=AxleWish(ride_height=345))
    assert "23 mm of damper travel to the bump stop, less than the shop's 30 mm" in start(
        found, "spring_perch").says


def test_the_thread_ends_somewhere(demo: Catalogue) -> None:
    perch = start(ask(demo, "kit-grit-light", front=AxleWish(ride_height=250)), "spring_perch")
    assert perch.value is None
    assert "the thread reaches ride heights of" in perch.says


def test_clicks_follow_the_wanted_damping_ratio(demo: Catalogue) -> None:
    """c = zeta·2·sqrt(K·m)/MR²: McLean & Nelson, Engineering Mechanics, Ex. 19-19 (textbook)."""
    found = ask(demo, "kit-grit-light", front=AxleWish(damping_ratio=0.4))
    rate, mass = 40.0 * RATIO**2, (MASS - UNSPRUNG) / 2
    needed = 0.4 * 2 * sqrt(rate * 1000 * mass) / RATIO**2
    assert start(found, "damper_clicks").value == round((needed - 1500) / ((4300 - 1500) / 24))


def test_a_ratio_out_of_reach_is_refused_with_what_there_is(demo: Catalogue) -> None:
    clicks = start(ask(demo, "kit-grit-light", front=AxleWish(damping_ratio=1.4)), "damper_clicks")
    assert clicks.value is None
    assert "the adjuster reaches damping ratios of" in clicks.says


def test_the_helper_has_travel_left_and_is_closed_at_ride_height(demo: Catalogue) -> None:
    found = start(ask(demo, "kit-grit-light"), "helper_travel")
    together = 1 / (1 / HELPER[1] + 1 / MAIN[1])
    preload = (MAIN[0] + HELPER[0] + COUPLER - shop_start()) * together
    assert found.value == pytest.approx(56.0 - preload / HELPER[1], abs=0.01)
    assert "at ride height it is closed" in found.says


def test_the_cars_own_pressure_wins_where_higher(demo: Catalogue) -> None:
    """ETRTO relation, exponent 0.8 (secondary); load index 82 carries 475 kg (ETRTO table)."""
    found = start(ask(demo), "tyre_pressure")
    assert found.value == 2.4
    assert f"{2.5 * (MASS / 2 / 475) ** 1.25:.2f} bar cold as it stands" in found.says


def test_nothing_that_was_not_said_is_assumed(demo: Catalogue) -> None:
    found = ask(demo, "kit-grit-light")
    for setting in ("spring_perch", "damper_clicks"):
        assert start(found, setting).value is None
    asked = {measure.what for measure in found.measure_first}
    assert {"wanted ride height of the front axle", "wanted damping ratio of the rear axle",
            "scale reading of each corner"} <= asked


def test_stock_seats_are_fixed(demo: Catalogue) -> None:
    assert "the spring seat is fixed" in start(ask(demo), "spring_perch").says


def test_cross_weight_names_the_front_share(demo: Catalogue) -> None:
    cross = start(ask(demo), "cross_weight", None)
    assert f"{MASS / (MASS + 448):.1%} of it on the front axle" in cross.says


def test_what_cannot_be_is_not_set_up(demo: Catalogue) -> None:
    found = ask(demo, "caliper-cairn", "caliper-tor")
    assert (found.outcome, found.starts) == ("impossible", ())
    assert found.clashes
