"""Pressure-sensor rules; the source of each block stands above it."""

from datetime import date

import pytest

from rules.engineering import pressure_sensors as sensors


@pytest.mark.parametrize(
    ("market", "built", "answer"),
    [
        # Row 4-17: 70 FR 18136 (verified); 4-18: end of the phase-in, from memory.
        pytest.param("us", date(2005, 10, 4), "no", id="4-17 day before"),
        pytest.param("us", date(2005, 10, 5), "perhaps", id="4-17 first day"),
        pytest.param("us", date(2007, 8, 31), "perhaps", id="4-18 last day of phase-in"),
        pytest.param("us", date(2007, 9, 1), "yes", id="4-18 all cars"),
        # Row 4-19: Regulation (EC) 661/2009, dates on two secondary pages.
        pytest.param("eu", date(2012, 10, 31), "no", id="4-19 day before"),
        pytest.param("eu", date(2012, 11, 1), "perhaps", id="4-19 new types"),
        pytest.param("eu", date(2014, 11, 1), "yes", id="4-19 all new cars"),
    ],
)
def test_which_cars_must_warn(market: str, built: date, answer: str) -> None:
    assert sensors.sensors_required(market, built) == answer


@pytest.mark.parametrize(
    ("placard", "warning"),
    [
        # Row 4-13: 25 per cent (70 FR 18136 summary, verified), product computed.
        pytest.param(2.3, 1.725, id="4-13 230 kPa"),
        # Rows 4-15 and 4-16: floor of 571.138 Table 1, from memory.
        pytest.param(1.8, 1.40, id="4-16 floor decides"),
    ],
)
def test_us_warning_pressure(placard: float, warning: float) -> None:
    assert sensors.us_warning_pressure(placard) == pytest.approx(warning, abs=0.001)


def test_extra_load_floor_and_un_rule() -> None:
    # Row 4-15 (160 kPa) and row 4-22 (20 per cent below), both from memory.
    assert sensors.us_warning_pressure(2.0, "extra") == pytest.approx(1.6)
    assert sensors.eu_warning_pressure(2.5) == pytest.approx(2.0)


def test_a_sensor_speaks_to_its_own_band_only() -> None:
    # Rows 4-23 and 4-24: 433.92 MHz and 315 MHz in radio filings (verified).
    assert sensors.same_band(433.92, 433.92)
    assert sensors.same_band(433.92, 434.0)
    assert not sensors.same_band(315.0, 433.92)


def test_unknown_markets_and_tyres_are_refused() -> None:
    with pytest.raises(ValueError, match="known for us, eu"):
        sensors.sensors_required("moon", date(2020, 1, 1))
    with pytest.raises(ValueError, match="standard or extra"):
        sensors.us_warning_pressure(2.3, "light")
