"""Coil springs and stacks of two: textbook rates, EN 13906-1 lengths, and laws."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.engineering import springs
from rules.engineering.springs import Spring, SpringStack

approx = pytest.approx

PRINT_OUT = "published sample print-out following DIN EN 13906-1 (verified secondary)"
INCH, LBF_PER_INCH, PSI = 25.4, 0.175126835, 0.00689475729
BHAVIKATTI = "Bhavikatti, Strength of Materials, Ex. 6.6.22 p. 254 (verified textbook)"

# Row 7-14: main 60 N/mm, tender 20 N/mm with 40 mm free stroke.
TENDER = SpringStack(Spring(200, 60, 90), Spring(70, 20, 30))


def print_out_rate() -> float:
    return springs.coil_rate(5.0, 34.6, 9.5, 81500)


# row, quantity, source and status, computed by us, expected
CHECKS = [
    ("7-01", "rate", PRINT_OUT, print_out_rate, approx(16.181, rel=1e-4)),
    ("7-02", "deflection", PRINT_OUT, lambda: 280 / print_out_rate(), approx(17.3, abs=0.05)),
    ("7-03", "least gaps", PRINT_OUT, lambda: springs.least_gap_sum(5.0, 34.6, 9.5),
     approx(12.3, abs=0.1)),
    ("7-03", "least gaps recomputed", "1.5·n·(0.0015·D²/d + 0.1·d) (computed)",
     lambda: springs.least_gap_sum(5.0, 34.6, 9.5), approx(12.24, abs=0.01)),
    ("7-04", "block length", "nt·d (computed)", lambda: springs.block_length(5.0, 11.5),
     approx(57.5, abs=0.01)),
    ("7-05", "rate", BHAVIKATTI, lambda: springs.coil_rate(12, 150, 10, 80000),
     approx(6.14, rel=1e-3)),
    ("7-05", "deflection", BHAVIKATTI, lambda: 450 / springs.coil_rate(12, 150, 10, 80000),
     approx(73.24, rel=1e-3)),
    ("7-06", "rate of 13.95 coils", "Sadhu Singh, Machine Design I, Ex. 8.1 (verified textbook)",
     lambda: springs.coil_rate(4.25, 8 * 4.25, 13.95, 84000), approx(6.25, rel=1e-3)),
    ("7-08", "rate", "Sadhu Singh, Machine Design I, Ex. 8.3 p. 229 (verified textbook)",
     lambda: springs.coil_rate(3, 18, 15, 84000), approx(9.72, rel=1e-3)),
    ("7-09", "rate", "Wentzell, Machine Design, Ex. 8.2 p. 163 (verified textbook)",
     lambda: springs.coil_rate(0.105 * INCH, 0.620 * INCH, 10.79, 11.85e6 * PSI) / LBF_PER_INCH,
     approx(70.0, rel=1e-3)),
    ("7-11", "rate", "Shigley, Example 10-1 (from memory)",
     lambda: springs.coil_rate(0.037 * INCH, (7 / 16 - 0.037) * INCH, 10.5, 11.85e6 * PSI)
     / LBF_PER_INCH, approx(4.12, rel=1e-2)),
    ("7-12", "suspension-size rate", "G·d⁴/(8·D³·n) (computed)",
     lambda: springs.coil_rate(12.5, 110, 6), approx(30.30, rel=1e-3)),
    ("7-13", "series", "computed", lambda: springs.series_rate(60, 20), approx(15.0)),
    ("7-14", "closing load", "computed", lambda: springs.stack_rates(TENDER).closing_load,
     approx(800, abs=0.01)),
    ("7-14", "closing travel", "computed", lambda: springs.stack_rates(TENDER).closing_travel,
     approx(53.33, abs=0.01)),
    ("7-14", "rate before", "computed", lambda: springs.stack_rates(TENDER).before, approx(15)),
    ("7-14", "rate after", "computed", lambda: springs.stack_rates(TENDER).after, approx(60)),
    ("7-15", "preloaded load", "F = k·(pre + x) (computed)",
     lambda: springs.stack_load(SpringStack(Spring(200, 60, 90)), 10 + 25), approx(2100)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("source", "got", "expected"),
    [check[2:] for check in CHECKS],
    ids=[f"{row} {quantity}" for row, quantity, *_ in CHECKS],
)
def test_check_value(source, got, expected):
    assert got() == expected, source


def test_a_weak_helper_only_takes_up_slack_and_the_main_spring_carries_the_car():
    """Common practice, no source: helper springs beside 10 and 12 inch main springs."""
    main = Spring(10 * INCH, 70, 100)
    stack = SpringStack(main, Spring(60, 2, 15), coupler=5)
    corner_load = 3000
    assert springs.stack_rates(stack).closing_load < 0.05 * corner_load
    helper_at_block = 45 + (corner_load / main.rate)
    assert springs.stack_deflection(stack, corner_load) == approx(helper_at_block)
    assert stack.free_length == approx(10 * INCH + 60 + 5)
    assert stack.block_length == approx(100 + 15 + 5)


def test_whichever_spring_is_weaker_at_block_closes_first():
    short_main = SpringStack(Spring(100, 30, 90), Spring(80, 20, 30))
    assert springs.stack_rates(short_main).closing_load == approx(300)
    assert springs.stack_rates(short_main).after == 20


def test_stiff_coils_without_ground_ends_stand_taller_at_block():
    assert springs.block_length(10, 8, ground=False) == springs.block_length(10, 8) + 15


def test_gaps_needed_at_rest_are_two_thirds_of_those_in_motion():
    at_rest = springs.least_gap_sum(12, 110, 6, dynamic=False)
    assert springs.least_gap_sum(12, 110, 6) == approx(1.5 * at_rest)


rates = st.floats(0.5, 500)


@given(st.lists(rates, min_size=2, max_size=4))
def test_series_rate_is_below_each_part(parts):
    assert springs.series_rate(*parts) < min(parts)


def coils(max_rate: float = 300.0) -> st.SearchStrategy[Spring]:
    return st.tuples(st.floats(20, 150), st.floats(10, 200), st.floats(1, max_rate)).map(
        lambda parts: Spring(parts[0] + parts[1], parts[2], parts[0])
    )


stacks = st.builds(SpringStack, coils(), st.one_of(st.none(), coils(60)))


@given(stacks, st.floats(0, 1))
def test_load_and_deflection_are_inverse_over_the_whole_travel(stack, share):
    load = springs.stack_load(stack, share * stack.travel)
    assert springs.stack_deflection(stack, load) == approx(share * stack.travel, abs=1e-6)


@given(stacks)
def test_a_stack_is_at_block_exactly_under_the_load_of_its_strongest_spring(stack):
    strongest = max(spring.block_load for spring in stack.springs)
    assert springs.stack_load(stack, stack.travel) == approx(strongest)


@given(stacks)
def test_a_stack_never_gets_softer_as_it_closes(stack):
    found = springs.stack_rates(stack)
    assert found.before <= found.after


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Spring(100, 20, 100), "block length must be less than free length"),
        (lambda: Spring(100, -20, 50), "rate must be greater than zero"),
        (lambda: SpringStack(Spring(200, 60, 90), coupler=5), "no second spring"),
        (lambda: springs.series_rate(), "at least one rate"),
        (lambda: springs.series_rate(60, 0), "rate must be greater than zero"),
        (lambda: springs.coil_rate(12, 24, 6), "coil diameter over wire must be from 3 to 20"),
        (lambda: springs.stack_load(TENDER, 400), "deflection must be from 0 to 150"),
        (lambda: springs.stack_deflection(TENDER, 9000), "carries 6600 N at block"),
    ],
)
def test_arguments_outside_the_range_are_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()


@given(share=st.floats(0, 1), coupler=st.floats(0, 10))
def test_the_springs_of_a_stack_add_up_to_its_length_and_carry_one_load(
    share: float, coupler: float
) -> None:
    stack = SpringStack(Spring(240, 48, 88), Spring(70, 4, 14), coupler)
    squeezed = share * stack.travel
    lengths = springs.spring_lengths(stack, squeezed)
    assert sum(lengths) + coupler == pytest.approx(stack.free_length - squeezed)
    for spring, length in zip(stack.springs, lengths, strict=True):
        assert spring.block_length - 1e-9 <= length <= spring.free_length
        if length > spring.block_length + 1e-6:
            load = spring.rate * (spring.free_length - length)
            assert load == pytest.approx(springs.stack_load(stack, squeezed), abs=1e-6)
