"""Tyre loads, speeds and pressures; the source of each block stands above it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering import tyre_loads as loads

# UN R30 Annex 4 / ISO 4000-1 Annex B, as printed alike in the secondary lists seen. Where two
# of them err (62, 61, 83) the value of the others stands.
LOAD_ROWS = {
    60: (250, 257, 265, 272, 280, 290, 300, 307, 315, 325),
    70: (335, 345, 355, 365, 375, 387, 400, 412, 425, 437),
    80: (450, 462, 475, 487, 500, 515, 530, 545, 560, 580),
    90: (600, 615, 630, 650, 670, 690, 710, 730, 750, 775),
    100: (800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030),
    110: (1060, 1090, 1120, 1150, 1180, 1215, 1250, 1285, 1320, 1360),
    120: (1400,),
}


@pytest.mark.parametrize(
    ("index", "load"),
    [
        pytest.param(first + i, kg, id=f"LI-table {first + i}")
        for first, row in LOAD_ROWS.items()
        for i, kg in enumerate(row)
    ],
)
def test_load_index_and_back(index: int, load: int) -> None:
    assert loads.load_for_index(index) == load
    assert loads.index_for_load(load) == index


@pytest.mark.parametrize("index", range(60, 121))
def test_load_table_has_no_transposed_digits(index: int) -> None:
    # Row 2-01: preferred-number spacing, computed; independent of any printed table.
    assert loads.load_for_index(index) == pytest.approx(45 * 10 ** (index / 80), rel=0.018)


# N to Y: row 2-02, "Load Index & Speed Symbols" (secondary). F to M: row 2-03, UN R30 2.29,
# from memory.
SYMBOLS = {
    "F": 80, "G": 90, "J": 100, "K": 110, "L": 120, "M": 130, "N": 140, "P": 150, "Q": 160,
    "R": 170, "S": 180, "T": 190, "U": 200, "H": 210, "V": 240, "W": 270, "Y": 300,
}  # fmt: skip


@pytest.mark.parametrize(
    ("symbol", "speed"), [pytest.param(s, v, id=f"2-02/03 {s}") for s, v in SYMBOLS.items()]
)
def test_speed_symbol_and_back(symbol: str, speed: int) -> None:
    assert loads.speed_for_symbol(symbol) == speed
    assert loads.symbol_for_speed(speed) == symbol


@pytest.mark.parametrize(
    ("symbol", "speed", "share"),
    [
        # Chassis textbook, "Tyre load capacity" (secondary).
        pytest.param("V", 240, 0.91, id="2-05 V at 240"),
        pytest.param("W", 270, 0.85, id="2-06 W at 270"),
        # The straight line between, computed from the rule of the same text.
        pytest.param("V", 225, 0.955, id="2-07 V at 225"),
        pytest.param("W", 255, 0.925, id="2-08 W at 255"),
        pytest.param("V", 210, 1.0, id="2-07 V at 210"),
        pytest.param("H", 210, 1.0, id="2-02 H at its own speed"),
        # UN R30, from memory.
        pytest.param("Y", 300, 0.85, id="from memory Y at 300"),
    ],
)
def test_load_share_at_speed(symbol: str, speed: float, share: float) -> None:
    assert loads.load_share_at_speed(symbol, speed) == pytest.approx(share, abs=1e-4)


def test_no_load_is_allowed_above_the_symbol() -> None:
    with pytest.raises(ValueError, match="symbol H must be from 0 to 210, not 211"):
        loads.load_share_at_speed("H", 211)


# Rows 2-09 and 2-10: ETRTO and US relations (secondary); results 2-12, 2-13 computed.
@pytest.mark.parametrize(
    ("pressure", "exponent", "load"),
    [
        pytest.param(2.2, 0.8, 555.2, id="2-12 220 kPa"),
        pytest.param(2.0, 0.8, 514.5, id="2-12 200 kPa"),
        pytest.param(1.8, 0.8, 472.9, id="2-12 180 kPa"),
        pytest.param(2.2, 0.5, 576.9, id="2-13 220 kPa"),
        pytest.param(2.0, 0.5, 550.1, id="2-13 200 kPa"),
        pytest.param(1.8, 0.5, 521.8, id="2-13 180 kPa"),
    ],
)
def test_load_falls_with_pressure(pressure: float, exponent: float, load: float) -> None:
    reference = loads.METRIC_PRESSURES["standard"]
    found = loads.load_at_pressure(loads.load_for_index(91), reference, pressure, exponent)
    assert found == pytest.approx(load, abs=0.1)


def test_more_pressure_than_the_reference_carries_no_more() -> None:
    assert loads.load_at_pressure(615, 2.5, 3.2) == 615


def test_pressure_for_a_load() -> None:
    # Row 2-14: computed from the ETRTO relation.
    assert loads.pressure_for_load(500, 615, 2.5) == pytest.approx(1.930, abs=0.001)


def test_no_pressure_carries_more_than_the_rated_load() -> None:
    with pytest.raises(ValueError, match="tyre load must be from 0 to 615"):
        loads.pressure_for_load(616, 615, 2.5)


@pytest.mark.parametrize(
    ("index", "load"),
    [pytest.param(100, 727.3, id="2-17 LI 100"), pytest.param(91, 559.1, id="2-18 LI 91")],
)
def test_passenger_tyre_on_a_light_truck(index: int, load: float) -> None:
    # Row 2-15: FMVSS 120 S5.1.2 as quoted in NHTSA interpretation nht76-1.47 (verified).
    usable = loads.usable_load(index, "T", 160, loads.LIGHT_TRUCK_DIVISOR)
    assert usable == pytest.approx(load, abs=0.1)


def test_speed_and_divisor_both_reduce_the_load() -> None:
    # By hand: 615 x 0.91 / 1.1.
    assert loads.usable_load(91, "V", 240, 1.1) == pytest.approx(508.77, abs=0.01)


@pytest.mark.parametrize(
    ("grade", "life", "use"),
    [
        # Row 4-11 for the life (secondary); 200 as street and track is common practice, no source.
        pytest.param(100, 1.0, "track", id="4-11 reference tyre"),
        pytest.param(200, 2.0, "street and track", id="common practice 200"),
        pytest.param(500, 5.0, "street, long life", id="4-11 five times"),
    ],
)
def test_treadwear_grade(grade: int, life: float, use: str) -> None:
    assert loads.treadwear(grade) == (life, use)


@pytest.mark.parametrize("index", [59, 121, 91.5, float("nan")])
def test_unknown_load_index_is_refused(index: float) -> None:
    with pytest.raises(ValueError, match="whole number from 60 to 120"):
        loads.load_for_index(index)  # type: ignore[arg-type]


@pytest.mark.parametrize("symbol", ["I", "O", "X", "Z", "h", ""])
def test_unknown_speed_symbol_is_refused(symbol: str) -> None:
    with pytest.raises(ValueError, match="speed symbol must be one of"):
        loads.speed_for_symbol(symbol)


@given(share=st.floats(0.05, 1.0), rated=st.floats(250, 1400), exponent=st.sampled_from([0.5, 0.8]))
def test_pressure_and_load_are_inverses(share: float, rated: float, exponent: float) -> None:
    pressure = loads.pressure_for_load(share * rated, rated, 2.5, exponent)
    assert loads.load_at_pressure(rated, 2.5, pressure, exponent) == pytest.approx(share * rated)


@given(pressure=st.floats(0.5, 2.5))
def test_the_cautious_relation_never_allows_more(pressure: float) -> None:
    cautious = loads.load_at_pressure(615, 2.5, pressure, loads.LOAD_EXPONENT_CAUTIOUS)
    generous = loads.load_at_pressure(615, 2.5, pressure, loads.LOAD_EXPONENT_GENEROUS)
    assert cautious <= generous


@given(load=st.floats(1, 1400))
def test_the_index_for_a_load_is_the_lowest_that_carries_it(load: float) -> None:
    index = loads.index_for_load(load)
    assert loads.load_for_index(index) >= load
    assert index == loads.FIRST_LOAD_INDEX or loads.load_for_index(index - 1) < load
