"""The size strings of the trade are read into numbers, so that two spellings are one size.

Designations: ISO 4000-1 (tyres), ISO 4000-2 (rims), ISO 261 and ISO 965 (metric threads),
ASME B1.1 (unified threads). Bolt circles have no standard; the spellings are common practice.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.sizes import (
    BoltCircle,
    RimSize,
    Thread,
    TyreSize,
    parse_circle,
    parse_rim,
    parse_thread,
    parse_tyre,
)

GOOD = [
    (parse_tyre, "205/45 R17 88W XL", TyreSize(205, 45, 17, 88, "W", True)),
    (parse_tyre, "205/45R17", TyreSize(205, 45, 17)),
    (parse_tyre, "P205/45 ZR17 88W", TyreSize(205, 45, 17, 88, "W")),
    (parse_tyre, "255/35 ZR20 (97Y)", TyreSize(255, 35, 20, 97, "Y")),
    (parse_tyre, "175/65 r14 82t", TyreSize(175, 65, 14, 82, "T")),
    (parse_tyre, "145/80 R10 69A8 EXTRA LOAD", TyreSize(145, 80, 10, 69, "A8", True)),
    (parse_rim, "7.5 J x 17", RimSize(7.5, 17)),
    (parse_rim, "7.5Jx17", RimSize(7.5, 17)),
    (parse_rim, "7.5 X 17", RimSize(7.5, 17)),
    (parse_rim, "5 JK × 13", RimSize(5, 13, "JK")),
    (parse_rim, "6.00 B x 15", RimSize(6, 15, "B")),
    (parse_thread, "M12 x 1.5", Thread(12, 1.5, "M12 x 1.5")),
    (parse_thread, "M12x1.50", Thread(12, 1.5, "M12 x 1.5")),
    (parse_thread, "M4.5 × 0.75", Thread(4.5, 0.75, "M4.5 x 0.75")),
    # ASME B1.1: 3/8-24 UNF has a basic major diameter of 0.3750 in and 24 threads per inch.
    (parse_thread, "3/8-24 UNF", Thread(9.525, 25.4 / 24, "3/8-24")),
    (parse_thread, "7/16 - 20", Thread(11.1125, 1.27, "7/16-20")),
    (parse_circle, "5 x 112", BoltCircle(5, 112)),
    (parse_circle, "4x100 mm", BoltCircle(4, 100)),
    (parse_circle, "5 × 4.5 in", BoltCircle(5, 114.3)),
    (parse_circle, "5 x 114.3", BoltCircle(5, 114.3)),
    (parse_circle, "5 x 4.123 in", BoltCircle(5, 104.724)),
]

BAD = [
    (parse_tyre, ["205/45/17", "205 45 R17", "205/45 R", "20/45 R17", "205/45 R17 88O",
                  "٢٠٥/45 R17", "205/45 R17 (88W", "205/45 R99", "999/45 R17", "205/45 R17 88",
                  "205/45 R17 08W", "205/45 R17 00W"]),
    (parse_rim, ["7.5", "7.5 J", "7.5 Q x 17", "2 J x 17", "7.5 J x 30", "J x 17", "7,5 J x 17"]),
    (parse_thread, ["M12", "12 x 1.5", "M12 x 0", "M0 x 0.5", "M1 x 1.5", "3/0-24", "3/8-0", "3/8",
                    "0/8-24", "1/64-16", "m12 x 1.5"]),
    (parse_circle, ["112", "5 x 4.5", "5 x 112 in", "2 x 112", "11 x 112", "5 x 400", "5 x 69"]),
]


@pytest.mark.parametrize(("parse", "text", "size"), GOOD)
def test_a_size_is_read_into_its_numbers(
    parse: Callable[[str], Any], text: str, size: object
) -> None:
    assert parse(text) == size


@pytest.mark.parametrize(("parse", "text", "size"), GOOD)
def test_a_printed_size_reads_back(parse: Callable[[str], Any], text: str, size: object) -> None:
    assert parse(str(parse(text))) == size


@pytest.mark.parametrize(
    ("parse", "text"), [(parse, text) for parse, texts in BAD for text in texts]
)
def test_what_is_no_such_size(parse: Callable[[str], Any], text: str) -> None:
    with pytest.raises(ValueError, match=r"is not a|is outside the range of"):
        parse(text)


NEARLY = st.text(st.sampled_from("0123456789./-xX× JKBRMPZWYT()inmUNFC"), max_size=20) | st.text()


@given(NEARLY, st.sampled_from([parse_tyre, parse_rim, parse_thread, parse_circle]))
def test_any_other_text_is_refused_in_words(text: str, parse: Callable[[str], Any]) -> None:
    said = ""
    try:
        size = parse(text)
    except ValueError as error:
        said = str(error)
    else:
        assert parse(str(size)) == size
    assert said.isprintable()
