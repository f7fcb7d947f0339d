"""Layouts that say less: a few seeds in each run of the tests, as many as one likes by the program beside this."""

from __future__ import annotations

import os

import pytest

from tests.fuzz.less import examine, unknown

COUNT = int(os.environ.get("FUZZ_COUNT", "600"))


@pytest.mark.parametrize("first", range(0, COUNT, 100))
def test_less_is_answered_or_refused(first: int) -> None:
    wrong = [what for _, what in map(examine, range(first, min(first + 100, COUNT))) if what]
    assert not wrong, "\n".join(wrong)


def test_what_may_be_unknown() -> None:
    assert {"length", "bus", "idle", "delay", "rating"} <= unknown()
    assert not {"name", "side", "hold", "gap"} & unknown()
