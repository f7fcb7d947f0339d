"""A sample of what ``tests/fuzz/ignored.py`` looks at whole; more by ``FUZZ_PLACES``."""

from __future__ import annotations

import os
from pathlib import Path

from tests.fuzz.ignored import LISTED, every, ignored

YARD = "small-yard/yard.toml"
SMALL = (Path(__file__).resolve().parents[2] / "examples" / YARD).read_text("utf-8")
SILENT = """format = 1
layout = { name = "Sedge Halt", control = "dcc", units = "metric" }
boosters.B1 = { voltage = "15 V", current = "4 A" }
districts.main = { booster = "B1" }
board_types.plain = { channels = 1, threshold = "1 mA" }
boards.D1 = { type = "plain" }
blocks.S1 = { channel = "D1.1" }
"""


def test_nothing_of_an_example_is_ignored() -> None:
    places = every(SMALL)
    step = max(1, len(places) // int(os.environ.get("FUZZ_PLACES", "8")))
    assert [one for one in ignored(SMALL, places[1::step]) if one not in LISTED[YARD]] == []
    assert {*ignored(SMALL, [*LISTED[YARD]])} == {*LISTED[YARD]}


def test_what_says_no_more_than_the_default_is_found() -> None:
    assert list(ignored(SILENT)) == [("layout", "units")]
