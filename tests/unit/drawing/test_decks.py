"""A line that climbs from one deck to another is folded between them, and the higher deck lies above."""

from __future__ import annotations

import re

import pytest

import blockcheck
from blockcheck import api

LINE = """
format = 1
layout = { name = "Sorrel Down", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "3 A" }
districts.all = { booster = "B1" }
board_types.four = { channels = 4, threshold = "1 mA" }
boards.D1 = { type = "four" }
blocks.A1-A2 = { channel = "D1.1-2", group = "quay" }
blocks.B1-B2 = { channel = "D1.3-4", group = "hill" }
groups.quay.deck = QUAY
groups.hill.deck = HILL
joints = [
  { blocks = ["A1", "A2"], gap = "detected" },
  { blocks = ["A2", "B1"], gap = "detected" },
  { blocks = ["B1", "B2"], gap = "detected" },
]
"""


def heights(quay: int, hill: int) -> dict[str, float]:
    """Block -> how far below the top it is drawn, in mm."""
    study = blockcheck.loads(LINE.replace("QUAY", str(quay)).replace("HILL", str(hill)))
    svg = str(blockcheck.render(api.draw(study), "svg"))
    found = re.findall(
        r'data-name="(\w\w)"><title>block .*?<polyline class="bc-track[^"]*" points="[\d.]+,([\d.]+)', svg
    )
    return {name: float(y) for name, y in found}


@pytest.mark.parametrize(("quay", "hill"), [(1, 2), (2, 1), (3, 7)])
def test_the_higher_deck_lies_above(quay: int, hill: int) -> None:
    at = heights(quay, hill)
    assert at["A1"] == at["A2"]
    assert at["B1"] == at["B2"]
    assert (at["A1"] > at["B1"]) == (quay < hill)


def test_one_deck_is_a_straight_line() -> None:
    assert len({*heights(1, 1).values()}) == 1
