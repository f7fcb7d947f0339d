"""A district's own breaker is a part without resistance, and nothing is measured through it without power."""

from __future__ import annotations

import copy

import numpy as np
import pytest
from attrs import evolve
from hypothesis import assume, given

from blockcheck import api
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.predict import predict
from blockcheck.analysis.bench.wired import OHMS
from blockcheck.circuit.wires import lines
from tests.outside.yards import Values, case_of, yards


def with_breakers(values: Values) -> Values:
    """A layout whose districts have breakers of their own, of which nothing else is known."""
    found = copy.deepcopy(values)
    for district in found["districts"].values():
        district["breaker"] = "electronic"
    return found


@given(yards())
def test_a_breaker_adds_no_resistance(values: Values) -> None:
    plain, broken = case_of(values), case_of(with_breakers(values))
    assert api.power(broken).rows == api.power(plain).rows
    assert api.budget(broken).scenarios == api.budget(plain).scenarios


LONG = """
format = 1
[layout]
name = "Sloe Sidings"
control = "dcc"
[boosters.B1]
voltage = "15 V"
current = "5 A"
[districts.long]
booster = "B1"
feed = {{ wire = "2.5 mm2", length = "4 m" }}
{breaker}
[board_types.many]
channels = 100
threshold = "0.5 mA"
drop = "0.7 V"
[boards.D1]
type = "many"
[harnesses.long]
bus = "1.5 mm2"
common = "2.5 mm2"
lead = "2 m"
feeder = "0.5 mm2"
feeder_length = "0.2 m"
feeder_spacing = "1.5 m"
rail = "code83"
[blocks.S1-S{count}]
channel = "D1.1-{count}"
length = "3 m"
harness = "long"
[loads.pug]
locomotive = true
running = "0.3 A"
"""


@pytest.mark.parametrize("count", [80, 81])
def test_it_adds_none_on_either_side_of_the_switch_to_arrays(count: int) -> None:
    texts = [LONG.format(count=count, breaker=one) for one in ("", 'breaker = "electronic"')]
    rows, others = (api.power(api.loads(one, "yard.toml")).rows for one in texts)
    assert len(rows) == count
    assert all(row.voltage_v and row.short_a for row in rows)
    assert [(row.voltage_v, row.short_a) for row in others] == [(row.voltage_v, row.short_a) for row in rows]


@given(yards())
def test_no_dead_test_reads_through_a_breaker(values: Values) -> None:
    """The dead readings are the same whether breakers conduct without power or not, unless track joins districts."""
    assume(not any(one.rule == "districts-joined" for one in api.check(case_of(with_breakers(values))).findings))
    readings = []
    for conducts in (False, True):
        bench = Bench(case_of(with_breakers(values)))
        dead = [test for test in bench.tests if test.kind == OHMS]
        if conducts:
            pieces = tuple(piece._replace(powered=False) for piece in bench.built.pieces)
            vars(bench)["built"] = evolve(bench.built, pieces=pieces)
        told = predict(bench, dead, [])
        readings.append([told.numbers[number][0] for number in range(len(dead))])
    assert np.allclose(readings[0], readings[1], rtol=1e-3, atol=1e-6)


@given(yards())
def test_a_district_with_a_breaker_has_both_its_sides_in_the_list_of_wires(values: Values) -> None:
    case = case_of(with_breakers(values))
    names = [(line.start.name, line.end.name) for line in lines(case.wiring, case.circuit).wires]
    for name, district in case.layout.districts.items():
        assert (f"{district.booster}:feed", f"{name}.breaker:in") in names
        assert (f"{name}.breaker:out", f"{name}:feed") in names
    assert [one.name for one in api.wires(case).breakers] == [
        f"{name}.breaker" for name in sorted(case.layout.districts)
    ]
