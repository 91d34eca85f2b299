"""The one way in for words: nothing that deceives comes through, nothing that means something is lost."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.book.plain_text import is_plain, plain


@pytest.mark.parametrize(
    "kept",
    [
        "It buzzes\n\tup the neck\r\n",
        "Größe 7½″ – “fein”",
        "\u0646\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645",  # Persian, with its zero width non-joiner
        "\u05d0\u200f!\u200e",  # Hebrew with marks that hold punctuation in its place
        "\U0001f469\u200d\U0001f527",  # one emoji of two, joined
        "e\u0301",
    ],
)
def test_what_writing_needs_stays(kept: str) -> None:
    assert plain(kept) == kept
    assert is_plain(kept)


@pytest.mark.parametrize(
    "sign",
    ["\0", "\x01", "\x1b", "\x7f", "\x85x", "\u202e", "\u202a", "\u2066", "\u2069", "\ufeff", "\ud800",
     "\ufffe", "\U000e0041"],
)  # fmt: skip
def test_what_deceives_is_left_out(sign: str) -> None:
    assert sign[0] not in plain(f"total {sign}12")
    assert plain(f"total {sign}12").endswith("12")


@given(st.text())
def test_nothing_is_left_to_leave_out(text: str) -> None:
    cleaned = plain(text)

    assert is_plain(cleaned) and plain(cleaned) == cleaned
    assert not [sign for sign in cleaned if unicodedata.category(sign) == "Cc" and sign not in "\t\n\r"]
    assert not [sign for sign in cleaned if unicodedata.bidirectional(sign) in ("RLO", "LRO", "RLI", "LRI")]
