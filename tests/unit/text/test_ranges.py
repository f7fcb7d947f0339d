"""What reads as a range is one, or is refused with the range to write; what does not is a plain name."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from blockcheck.text.ranges import RangeError, names_of

DASHES = ("-", "\u2010", "\u2011", "\u2012", "\u2013", "\u2014", "\u2212")


def meant_by(text: str) -> list[tuple[str, ...] | None]:
    """What the advice for a text that is refused stands for."""
    with pytest.raises(RangeError) as caught:
        names_of(text)
    assert caught.value.message.endswith("reads as a range")
    return [names_of(one) for one in re.findall('"([^"]*)"', caught.value.help)]


@given(
    prefix=st.sampled_from(["", "S", "west-S", "Yard ", "D1.", "\u00e9"]),
    low=st.integers(0, 40),
    many=st.integers(0, 9),
    again=st.booleans(),
    dash=st.sampled_from(DASHES),
    blanks=st.sampled_from(["", " ", "\u00a0"]),
)
def test_another_dash_or_blanks(prefix: str, low: int, many: int, again: bool, dash: str, blanks: str) -> None:
    names = tuple(f"{prefix}{number}" for number in range(low, low + many + 1))
    text = f"{prefix}{low}{blanks}{dash}{blanks}{prefix if again else ''}{low + many}"
    if (dash, blanks) == ("-", ""):
        assert names_of(text) == names
    else:
        assert meant_by(text) == [names]


def test_two_short_prefixes() -> None:
    assert meant_by("Q1-T3") == [("Q1", "Q2", "Q3"), ("T1", "T2", "T3")]
    assert meant_by("Q3-T1") == meant_by("Q1-T3")
    assert meant_by("1-T3") == [("1", "2", "3"), ("T1", "T2", "T3")]


@pytest.mark.parametrize(
    "name",
    ["west-throat", "west\u2013throat", "S-1", "S1-a", "x \u2212 3", "deck1-track3", "yard-1-track-2", "A-1-B-2"],
)
def test_a_plain_name_stays_plain(name: str) -> None:
    assert names_of(name) is None
