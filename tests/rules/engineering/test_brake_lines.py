"""Brake fluid, flares, threads and hose strength."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering import brake_lines as lines
from rules.engineering.brake_lines import Flare, LineEnd, Thread

approx = pytest.approx

RULE_116 = "49 CFR 571.116 S5.1.1, S5.1.2 (verified secondary)"
COLOURS = "49 CFR 571.116 S5.1.14 quoted in an NHTSA interpretation (verified primary)"
ISO_4925 = "ISO 4925:2020 Table 1 (from memory)"
SAE_J514 = "SAE J514 37 degree tables (verified secondary)"
RULE_106 = "FMVSS 106 Table I (from memory)"
PSI_1000, PSI_1500 = 68.9475729, 103.42135935


def boiling(name: str) -> tuple[float, float]:
    grade = lines.fluid_grade(name)
    return grade.dry_boiling, grade.wet_boiling


def cc_per_foot(bore: float, pressure: float) -> float:
    return lines.hose_swelling(bore, 304.8, pressure) / 1000


# row, quantity, source and status, computed by us, expected
CHECKS = [
    ("6-01", "DOT 3", RULE_116, lambda: boiling("DOT 3"), (205, 140)),
    ("6-02", "DOT 4", RULE_116, lambda: boiling("DOT 4"), (230, 155)),
    ("6-03", "DOT 5", RULE_116, lambda: boiling("DOT 5"), (260, 180)),
    ("6-03", "DOT 5.1", RULE_116, lambda: boiling("DOT 5.1"), (260, 180)),
    ("6-11", "class 3", ISO_4925, lambda: boiling("ISO 4925 class 3"), (205, 140)),
    ("6-11", "class 4", ISO_4925, lambda: boiling("ISO 4925 class 4"), (230, 155)),
    ("6-11", "class 5-1", ISO_4925, lambda: boiling("ISO 4925 class 5-1"), (260, 180)),
    ("6-11", "class 6", ISO_4925, lambda: boiling("ISO 4925 class 6"), (250, 165)),
    ("6-11", "class 7", ISO_4925, lambda: boiling("ISO 4925 class 7"), (260, 180)),
    ("6-06", "glycol", COLOURS, lambda: lines.fluid_grade("DOT 4").colour, "colourless to amber"),
    ("6-06", "silicone", COLOURS, lambda: lines.fluid_grade("DOT 5").colour, "purple"),
    ("6-13", "burst of 3/16 in bore", "FMVSS 106 S5.3.2, 5,000 psi (verified secondary)",
     lambda: lines.hose_burst_pressure(4.8), approx(344.7, abs=0.1)),
    ("6-15", "burst of 1/8 in bore", "FMVSS 106, 7,000 psi (from memory)",
     lambda: lines.hose_burst_pressure(3.175), approx(482.6, abs=0.1)),
    ("6-16", "1/8 in at 1,000 psi", RULE_106, lambda: cc_per_foot(3.1, PSI_1000), approx(0.66)),
    ("6-16", "1/8 in at 1,500 psi", RULE_106, lambda: cc_per_foot(3.1, PSI_1500), approx(0.79)),
    ("6-16", "3/16 in at 1,000 psi", RULE_106, lambda: cc_per_foot(4.8, PSI_1000), approx(0.86)),
    ("6-16", "3/16 in at 1,500 psi", RULE_106, lambda: cc_per_foot(4.8, PSI_1500), approx(1.02)),
    ("6-23", "double flare nut", "flare-identification page (verified secondary)",
     lambda: lines.usual_nut(4.75, Flare.DOUBLE), approx((9.525, 25.4 / 24))),
    ("6-23", "bubble flare nut", "flare-identification page (verified secondary)",
     lambda: lines.usual_nut(4.763, Flare.BUBBLE), (10.0, 1.0)),
    ("6-25", "1/4 in tube", "SAE J512 (from memory)",
     lambda: lines.usual_nut(6.35, Flare.DOUBLE), approx((11.1125, 25.4 / 24))),
    ("6-25", "5/16 in tube", "SAE J512 (from memory)",
     lambda: lines.usual_nut(7.938, Flare.DOUBLE), approx((12.7, 25.4 / 20))),
    ("6-24", "tube diameters", "dash number in sixteenths of an inch (computed)",
     lambda: [lines.dash_tube_diameter(dash) for dash in (3, 4, 5, 6)],
     approx([4.763, 6.350, 7.938, 9.525], abs=1e-3)),
    ("6-27", "pitches", SAE_J514,
     lambda: [25.4 / lines.dash_thread(dash).pitch for dash in (4, 6, 8, 10, 12)],
     approx([20, 18, 16, 14, 12])),
    ("6-27b", "dash 3 and 5", "straight-thread port table (verified secondary)",
     lambda: [25.4 / lines.dash_thread(dash).pitch for dash in (3, 5)], approx([24, 20])),
    ("6-27", "diameters of dash 3, 5 and 10", "3/8, 1/2 and 7/8 in (verified secondary)",
     lambda: [lines.dash_thread(dash).diameter for dash in (3, 5, 10)],
     approx([9.525, 12.7, 22.225])),
    ("6-29", "major diameters", SAE_J514,
     lambda: [lines.dash_thread(dash).diameter for dash in (4, 6, 8, 12)],
     approx([11.11, 14.29, 19.05, 26.99], abs=0.01)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("source", "got", "expected"),
    [check[2:] for check in CHECKS],
    ids=[f"{row} {quantity}" for row, quantity, *_ in CHECKS],
)
def test_check_value(source, got, expected):
    assert got() == expected, source


def test_glycol_fluids_mix_down_to_the_lower_class():
    """Rows 6-09 (common practice, no source)."""
    mixed = lines.mixed_grade(lines.fluid_grade("DOT 5.1"), lines.fluid_grade("DOT 3"))
    assert mixed.name == "DOT 3"


def test_silicone_never_mixes_with_glycol():
    """Row 6-10: 49 CFR 571.116, colours keep incompatible fluids apart (verified primary)."""
    dot_4, dot_5 = lines.fluid_grade("DOT 4"), lines.fluid_grade("DOT 5")
    assert not lines.fluids_mix(dot_4, dot_5)
    with pytest.raises(ValueError, match="must not mix"):
        lines.mixed_grade(dot_4, dot_5)
    assert lines.fluid_faults(dot_5, dot_4) == ("silicone where glycol is asked for",)


def test_a_higher_class_stands_in_for_a_lower_one_but_not_the_reverse():
    dot_3, dot_4 = lines.fluid_grade("DOT 3"), lines.fluid_grade("DOT 4")
    assert lines.fluid_faults(dot_4, dot_3) == ()
    assert lines.fluid_faults(dot_3, dot_4) == (
        "dry boiling point 205 °C where 230 °C is asked for",
        "wet boiling point 140 °C where 155 °C is asked for",
    )


def test_aged_fluid_is_judged_by_its_wet_boiling_point():
    dot_4 = lines.fluid_grade("DOT 4")
    assert lines.boiling_reserve(dot_4, 170) == -15
    assert lines.boiling_reserve(dot_4, 170, wet=False) == 60


METRIC, UNIFIED = Thread(10, 1), Thread(9.525, 25.4 / 24)
# Joints: rows 6-21, 6-22, 6-26, 6-30 (verified secondary).
JOINTS = [
    ("sound bubble", LineEnd(METRIC, Flare.BUBBLE), LineEnd(METRIC, Flare.BUBBLE), []),
    ("6-21 thread fits, flare does not", LineEnd(METRIC, Flare.DOUBLE),
     LineEnd(METRIC, Flare.BUBBLE), ["double flare, 45 degree in a seat for a bubble flare"]),
    ("6-22 flare fits, thread does not", LineEnd(METRIC, Flare.DOUBLE),
     LineEnd(UNIFIED, Flare.DOUBLE), ["thread 10 x 1 mm in a port of 9.525 x 1.058 mm"]),
    ("6-26 single flare", LineEnd(METRIC, Flare.SINGLE), LineEnd(METRIC, Flare.SINGLE),
     ["a single flare is not allowed on a brake line"]),
    ("6-30 37 in 45 degree seat", LineEnd(UNIFIED, Flare.CONE_37), LineEnd(UNIFIED, Flare.DOUBLE),
     ["37 degree flare in a seat for a double flare, 45 degree"]),
]  # fmt: skip


@pytest.mark.parametrize(
    ("tube", "port", "faults"), [joint[1:] for joint in JOINTS], ids=[joint[0] for joint in JOINTS]
)
def test_joint(tube, port, faults):
    assert list(lines.joint_faults(tube, port)) == faults


def test_an_unusual_tube_and_flare_give_no_hint():
    assert lines.usual_nut(6.35, Flare.BUBBLE) is None


fluids = st.sampled_from(sorted(lines.FLUIDS)).map(lines.fluid_grade)


@given(fluids, fluids)
def test_a_mixture_never_boils_later_than_either_fluid(one, other):
    if lines.fluids_mix(one, other):
        mixed = lines.mixed_grade(one, other)
        assert mixed.wet_boiling == min(one.wet_boiling, other.wet_boiling)
        assert mixed.dry_boiling == min(one.dry_boiling, other.dry_boiling)


@given(st.floats(0, PSI_1500), st.floats(0, PSI_1500), st.sampled_from([3.0, 4.8]))
def test_a_hose_swells_more_at_more_pressure(one, other, bore):
    low, high = sorted((one, other))
    assert lines.hose_swelling(bore, 400, low) <= lines.hose_swelling(bore, 400, high)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: lines.fluid_grade("DOT 6"), "no fluid class 'DOT 6'; known are DOT 3"),
        (lambda: lines.dash_thread(7), "no thread for dash size 7; known are 3, 4"),
        (lambda: lines.hose_swelling(3, 400, 150), "pressure must be from 0 to 103"),
        (lambda: lines.hose_swelling(6, 400, 50), "hose bore must be from 0 to 6"),
        (lambda: lines.hose_burst_pressure(48), "hose bore must be from 0 to 10"),
        (lambda: lines.boiling_reserve(lines.fluid_grade("DOT 4"), 900), "peak temperature"),
    ],
)
def test_arguments_outside_the_range_are_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()
