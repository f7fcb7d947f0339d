"""Names that read alike are found, whatever makes them so; names that people tell apart are left alone."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from blockcheck.core.alike import _LOOK, alike, apart

PAIRS = (  # one name, one that reads alike, what tells them apart
    ("R1", "r1", "only capitals tell them apart"),
    ("P1", "\u04201", "U+0420 (cyrillic capital letter er) tells them apart"),
    ("P1", "\u03a11", "U+03A1 (greek capital letter rho) tells them apart"),
    ("caf\u00e9", "cafe\u0301", "U+0301 (combining acute accent) tells them apart"),
    ("R2", "\uff322", "U+FF32 (fullwidth latin capital letter r) tells them apart"),
    ("fix", "\ufb01x", "U+FB01 (latin small ligature fi) tells them apart"),
    ("S10", "S1O", "U+004F (latin capital letter o) tells them apart"),
    ("I1", "l1", "U+006C (latin small letter l) tells them apart"),
    ("1I", "I1", "their signs stand in another order"),
)


@pytest.mark.parametrize(("one", "other", "told"), PAIRS)
def test_they_read_alike(one: str, other: str, told: str) -> None:
    assert list(alike([one, "between", other])) == [(one, other)]
    assert list(alike([other, "between", one])) == [(other, one)]
    assert apart(one, other) == told


@given(st.lists(st.text("abcdefghjkmn23456789-_ \u00e9\u00fc\u6771\u4eac", min_size=1), unique=True))
def test_plain_names_that_differ_do_not(names: list[str]) -> None:
    assert list(alike(names)) == []


def test_what_looks_like_a_latin_letter_is_one_of_another_script() -> None:
    """By the confusables of UTS #39, looked up when the table was made; and of the same case, if of any."""
    for look, latin in _LOOK.items():
        sign = chr(look)
        assert sign in "0I1|\u0131" or unicodedata.name(sign).split()[0] in ("GREEK", "CYRILLIC")
        assert chr(latin).isascii()
        assert not sign.islower() or chr(latin).islower()
