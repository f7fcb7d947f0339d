"""A vehicle's axles one by one, or all of it at once: two ways to say one thing."""

from __future__ import annotations

import pytest

import blockcheck

YARD = """
format = 1
layout = {{ name = "Yarrow Siding", control = "dcc" }}
boosters.B1 = {{ voltage = "15 V", current = "3 A", trip = "4 A", delay = "50 ms" }}
districts.yard = {{ booster = "B1", feed = {{ wire = "2.5 mm2", length = "1 m" }}, expects = [{{ load = "van", \
count = 10 }}] }}
board_types.two = {{ channels = 2, threshold = "1 mA", drop = "0.7 V" }}
boards.D1 = {{ type = "two" }}
harnesses.main = {{ bus = "1.5 mm2", common = "2.5 mm2", lead = "2 m", feeder = "1 mm2", feeder_length = "0.2 m", \
rail = "code83", feeder_spacing = "1 m" }}
blocks.Q1 = {{ channel = "D1.1", length = "2 m", harness = "main" }}
loads.van = {{ {} }}
"""


def read(axles: str) -> blockcheck.types.Study:
    return blockcheck.loads(YARD.format(axles), "yard.toml")


def test_axles_lie_side_by_side() -> None:
    """Two of 30 kohm are 15 kohm (resistors in parallel): one vehicle draws a milliampere of 15 V, ten draw ten."""
    ways = ['axle = "15 kohm"', 'axles = 2, axle_resistance = "30 kohm"']
    for way in (*ways, ", ".join(ways)):
        study = read(way)
        (draw,) = [one for one in blockcheck.budget(study).scenarios[0].loads if one.kind == "district"]
        assert draw.current_a == pytest.approx(10 * 15 / 15_000, rel=1e-9)
        (row,) = blockcheck.power(study).rows
        assert row.detection_a == pytest.approx((15 - 0.7) / 15_000, rel=1e-3)
        assert row.detection_vehicle == "van"


def test_the_line_of_the_smallest_vehicle_is_the_one_that_tells_it() -> None:
    found = blockcheck.check(read('axles = 1, axle_resistance = "30 kohm"')).findings
    (finding,) = [one for one in found if one.rule == "vehicle-unseen"]
    places = [label.at for label in finding.related if isinstance(label.at, blockcheck.types.Place)]
    assert any(one.source[one.column - 1 : one.end_column - 1] == '"30 kohm"' for one in places)


@pytest.mark.parametrize(
    ("axles", "message"),
    [
        ('axles = 2, axle_resistance = "30 kohm", axle = "30 kohm"', "2 axles of van have 15 kohm together"),
        ('axle_resistance = "30 kohm"', "nothing says how many axles of van have that"),
        ('axles = 0, axle_resistance = "30 kohm"', "axles"),
    ],
)
def test_what_contradicts_itself_is_refused(axles: str, message: str) -> None:
    with pytest.raises(blockcheck.InputError, match=message):
        read(axles)


def test_a_count_alone_says_nothing_of_what_they_draw() -> None:
    assert "vehicle-unseen" in {one.rule for one in blockcheck.check(read("axles = 2")).unchecked}
