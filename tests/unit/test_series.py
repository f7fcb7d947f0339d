"""Isolators in series: each of them open puts its block to sleep, and each contact takes its share of the volts."""

from __future__ import annotations

from itertools import product

import pytest

import blockcheck
from blockcheck.core.errors import InputError

YARD = """\
format = 1
[layout]
name = "Osier Dock"
control = "dcc"
[boosters.B1]
voltage = "14 V"
current = "3 A"
trip = "4 A"
delay = "30 ms"
[districts.dock]
booster = "B1"
feed = { wire = "2.5 mm2", length = "3 m" }
[districts.quay]
booster = "B1"
[loads.shunter]
locomotive = true
running = "1 A"
[board_types.eight]
channels = 8
threshold = "1.5 mA"
[boards.D1]
type = "eight"
banks = "dock"
[harnesses.dock]
bus = "1.5 mm2"
common = "1.5 mm2"
lead = "2 m"
feeder = "0.5 mm2"
feeder_length = "20 cm"
feeder_spacing = "2 m"
rail = "code83"
[blocks.S1-S3]
channel = "D1.1-3"
isolator = ["I1-I3", "P1-P3"]
length = "3 m"
harness = "dock"
kind = "storage"
[isolators.I1-I3]
contact_resistance = "30 mohm"
rating = "2 A"
[isolators.P1-P3]
contact_resistance = "20 mohm"
[trains.coal]
vehicles = { shunter = 1 }
at = "S1"
state = "running"
"""


def test_each_item_of_a_list_is_dealt_out_over_a_range_of_blocks() -> None:
    blocks = blockcheck.loads(YARD).layout.blocks
    assert [[str(pole) for pole in blocks[f"S{n}"].isolated_by] for n in (1, 2, 3)] == [
        ["I1", "P1"],
        ["I2", "P2"],
        ["I3", "P3"],
    ]


def test_a_range_in_a_list_is_as_long_as_its_header() -> None:
    with pytest.raises(InputError) as caught:
        blockcheck.loads(YARD.replace('"P1-P3"]', '"P1-P2"]'))
    (finding,) = caught.value.findings
    assert '"P1-P2" is 2 names, but [blocks.S1-S3] is 3' in finding.message


MASTER = (
    YARD.replace('["I1-I3", "P1-P3"]', '["I1-I3", "M"]')
    .replace("[isolators.P1-P3]", "[isolators.M]")
    .replace("[isolators.M]", '[isolators.M]\nside = "before-detector"')
)


@pytest.mark.parametrize(
    ("tracks", "opened"),
    [
        ("S2", ("I2",)),
        ("S1,S3", ("I1", "I3")),
        ("S1-S3", ("I1", "I2", "I3", "M")),
        ("M", ("M",)),
        ("S2,M", ("I2", "M")),
    ],
)
def test_a_track_is_put_to_sleep_by_its_own_switch_and_not_by_the_master(tracks: str, opened: tuple[str, ...]) -> None:
    case = blockcheck.loads(MASTER)
    answer = blockcheck.isolate(case, tracks)
    assert answer.opened == opened
    asleep = {
        name
        for name in ("S1", "S2", "S3")
        if case.now({**case.circuit.usual, **dict.fromkeys(opened, "open")}).power(name) == "off"
    }
    assert {row.block for row in answer.blocks if row.power == "off"} == asleep
    assert ("S1" in asleep) == ("S1" in tracks or "M" in tracks)


def test_where_the_own_switch_cannot_cut_the_master_does() -> None:
    cannot = '[isolators.I1-I3]\ncontact = "changeover"\nbetween = ["dock", "quay"]\ncentre_off = false\n'
    text = MASTER.replace("[isolators.I1-I3]\n", cannot)
    text = text.replace('["I1-I3", "M"]', '["I1", "M"]').replace("[isolators.I1-I3]", "[isolators.I1]")
    assert blockcheck.isolate(blockcheck.loads(text), "S2").opened == ("M",)


@pytest.mark.parametrize(("first", "second"), list(product(("closed", "open"), repeat=2)), ids=lambda place: f"{place}")
def test_a_block_has_power_where_all_of_its_isolators_are_closed(first: str, second: str) -> None:
    case = blockcheck.loads(YARD)
    now = case.now({"I1": first, "P1": second})
    assert now.power("S1") == ("on" if (first, second) == ("closed", "closed") else "off")
    assert now.power("S2") == "on"


def test_their_contacts_take_volts_one_after_the_other() -> None:
    """By hand: at one ampere, 20 mohm more in the feed are 20 mV less at the wheel."""
    more = blockcheck.power(blockcheck.loads(YARD))
    none = blockcheck.power(blockcheck.loads(YARD.replace("20 mohm", "0 ohm")))
    volts, others = ({row.block: row.voltage_v or 0.0 for row in one.rows} for one in (more, none))
    assert others["S1"] - volts["S1"] == pytest.approx(0.020, abs=1e-6)


def test_every_contact_in_the_feed_carries_it() -> None:
    rows = {row.name: row for row in blockcheck.budget(blockcheck.loads(YARD)).scenarios[0].loads}
    assert rows["I1"].current_a == rows["P1"].current_a == pytest.approx(1.0)


def test_either_of_them_alone_puts_the_block_to_sleep() -> None:
    rows = blockcheck.isolate_each(blockcheck.loads(YARD)).rows
    assert {row.isolator: row.off for row in rows} == {f"{one}{n}": (f"S{n}",) for one in "IP" for n in (1, 2, 3)}


def test_wires_go_from_one_to_the_next() -> None:
    ends = {(piece.from_, piece.to) for piece in blockcheck.wires(blockcheck.loads(YARD)).pieces}
    assert {("D1:1", "I1:in"), ("I1:out", "P1:in"), ("P1:out", "S1:end")} <= ends


def test_the_sheet_tests_both_contacts() -> None:
    steps = blockcheck.bench(blockcheck.loads(YARD), every=True).steps
    ids = {step.id for step in steps}
    assert {"switch.I1.S1.open", "switch.P1.S1.open"} <= ids


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ('["I1-I3", "I1-I3"]', "S1 is behind I1 twice"),
        ('["X", "Y"]', "S1 is fed through two changeovers, one behind the other"),
    ],
)
def test_what_cannot_be_in_series_is_refused(wrong: str, message: str) -> None:
    two = "".join(f'[isolators.{name}]\ncontact = "changeover"\nbetween = ["dock", "quay"]\n' for name in "XY")
    with pytest.raises(InputError) as caught:
        blockcheck.loads(YARD.replace('["I1-I3", "P1-P3"]', wrong) + two)
    assert caught.value.findings[0].message == message


def test_one_of_several_that_does_not_exist_is_told_by_its_own_place() -> None:
    answer = blockcheck.check(blockcheck.loads(YARD.replace('"P1-P3"]', '"P7"]')))
    found = [one for one in answer.findings if one.rule == "unknown-name"]
    assert {one.subject for one in found} >= {"P7"}
