"""Any text whatever, to everything that reads text: read, or refused in words. No text hangs.

The same laws are fuzzed for longer by `python -m tests.fuzz`.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support import readers

HANG = timedelta(seconds=20)
"""Nobody waits so long for one text: what takes longer does not end."""

PIECES = st.sampled_from([
    "205/45 R17", " 88W", "7.5 J", " x ", "17", "M12", "3/8", "-24", "5", "112", "2014", "-", "±",
    "0.5", "1e9", " mm", " in", " N/mm", " EUR", " L", "/", ".", ",", "(", ")", "+", "٣", "\u00a0",
    "9" * 30, "é", "\U0001f529", "{", "}", "[", "]", ": ", "\n", "\n  ", "- ", "&a ", "*a", "!!t ",
    "'", '"', "\\", "#", "|\n", ">\n", "%", "parts", "kind", "name", "wheel", "---\n", "\t",
])
TEXTS = st.text(max_size=60) | st.lists(PIECES, max_size=12).map("".join) | st.binary(
    max_size=40).map(lambda raw: raw.decode("utf-8", "replace"))

READERS = [readers.read_sizes, readers.read_measures, readers.read_yaml, readers.read_catalogue]


@pytest.mark.parametrize("read", READERS, ids=lambda read: read.__name__)
@given(text=TEXTS)
@settings(max_examples=150, deadline=HANG)
def test_any_text_is_read_or_refused(read: Callable[[str], None], text: str) -> None:
    read(text)
