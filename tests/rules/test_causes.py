"""One cause gives one finding: what is told of it, and what is no consequence and is told beside it."""

from __future__ import annotations

from datetime import date

import pytest

import blockcheck

TODAY = date(2031, 6, 1)
YARD = """format = 1
layout = { name = "Curlew Sands", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "1 A" }
districts.yard = { booster = "B1" }
board_types.plain = { channels = 8, threshold = "1.5 mA" }
boards.D1 = { type = "plain", spare = [1, 2, 3, 4, 5, 6, 7, 8] }
loads.pug = { locomotive = true, idle = "90 mA", length = "0.2 m" }
"""


def told(text: str) -> list[tuple[str, str, tuple[str, ...]]]:
    """Rule, subject and the other names of each finding; channels kept spare and used are no matter here."""
    answer = blockcheck.check(blockcheck.loads(YARD + text, "case.toml"), TODAY)
    return [(one.rule, one.subject, one.others) for one in answer.findings if one.rule != "channel-unused"]


TRAINS = """
trains.coal = {{ length = "2.5 m", vehicles = {{ pug = 1 }}, at = "S1" }}
trains.lime = {{ length = "{lime} m", vehicles = {{ pug = 1 }}, at = "S1" }}
trains.slate = {{ length = "1.1 m", vehicles = {{ pug = 1 }}, at = "S1" }}
blocks.S1 = {{ channel = "D1.1", length = "2 m" }}
"""


def test_a_train_that_is_too_long_is_not_counted_again() -> None:
    long = ("train-too-long", "coal", ("S1",))
    assert told(TRAINS.format(lime="0.9")) == [long]
    assert told(TRAINS.format(lime="1.0")) == [long, ("trains-do-not-fit", "S1", ("lime", "slate"))]


BOOSTER = """format = 1
layout = {{ name = "Curlew Sands", control = "dcc" }}
boosters.B1 = {{ voltage = "14 V", current = "{amps} A" }}
districts.east = {{ booster = "B1", current = "0.6 A", expects = [{{ load = "pug", count = 8 }}] }}
districts.west = {{ booster = "B1", expects = [{{ load = "pug", count = {west} }}] }}
board_types.plain = {{ channels = 2, bank_size = 1, threshold = "1.5 mA" }}
boards.D1 = {{ type = "plain", banks = ["east", "west"] }}
loads.pug = {{ locomotive = true, idle = "90 mA", length = "0.2 m" }}
blocks.E1 = {{ channel = "D1.1" }}
blocks.W1 = {{ channel = "D1.2" }}
{rules}
"""
EAST = ("district-over-current", "east", ())


@pytest.mark.parametrize(
    ("amps", "west", "rules", "expected"),
    [
        ("1", 4, "", [EAST]),  # 0.72 + 0.36 = 1.08 A, and 0.96 A once east carries 0.6 A
        ("1", 5, "", [("booster-over-current", "B1", ()), EAST]),  # 0.72 + 0.45 = 1.17 A, and 1.05 A
        ("1.1", 4, "", [EAST, ("district-near-limit", "B1", ())]),  # 0.96 A of 1.1 A: 0.88 A leave a fifth free
        ("1.3", 4, "", [EAST]),  # 0.96 A of 1.3 A: 1.04 A do
        ("1", 4, 'rules = { district-over-current = "off" }', [("booster-over-current", "B1", ())]),
    ],
)
def test_a_booster_is_told_of_what_the_mend_of_its_districts_leaves(
    amps: str, west: int, rules: str, expected: list[tuple[str, str, tuple[str, ...]]]
) -> None:
    answer = blockcheck.check(blockcheck.loads(BOOSTER.format(amps=amps, west=west, rules=rules), "case.toml"), TODAY)
    assert [(one.rule, one.subject, one.others) for one in answer.findings] == expected


@pytest.mark.parametrize(
    ("wires", "mend"),
    [
        ("", 'write a size such as "1.5 mm2" or "16 AWG"'),
        ('wires.thick = { size = "4 mm2" }', 'write a size such as "1.5 mm2" or "16 AWG", or thick'),
        ('wires.thick = { size = "4 mm2" }\nwires.a = { size = "1 mm2" }', None),
    ],
)
def test_of_a_wire_that_is_not_there_a_size_is_offered(wires: str, mend: str | None) -> None:
    text = YARD + f'blocks.S1 = {{ channel = "D1.1", harness = "h" }}\nharnesses.h = {{ bus = "#14" }}\n{wires}\n'
    answer = blockcheck.check(blockcheck.loads(text, "case.toml"), TODAY)
    (finding,) = (one for one in answer.findings if one.rule == "unknown-name")
    assert finding.help == (mend or 'write a size such as "1.5 mm2" or "16 AWG", or one of a and thick')


EXPIRED = """
[blocks.S1]
channel = "D1.1"
kind = "{kind}"

[[accept]]
rule = "storage-not-isolatable"
where = "S1"
because = "a shunter's shed"
until = 2031-05-31
"""


def test_an_exception_that_has_expired_asks_for_a_date_only_where_there_is_something_to_accept() -> None:
    def help_of(kind: str) -> list[str | None]:
        case = blockcheck.loads(YARD + EXPIRED.format(kind=kind), "case.toml")
        return [one.help for one in blockcheck.check(case, TODAY).findings if one.rule == "accept-expired"]

    assert help_of("storage") == ["mend what was accepted, or give it a new date"]
    assert help_of("running") == ["take this exception out: there is nothing left to accept"]


RING = """
blocks.S1 = {{ channel = "D1.1" }}
[[joints]]
blocks = ["S1", "S1"]
gap = "{gap}"
ends = ["{ends}"]
"""


def test_a_ring_of_one_block_is_legal_and_no_end_meets_itself() -> None:
    """Its far end meets its near end, rail on the same rail, cut or not; where an end meets itself the rails cross."""
    for gap in ("none", "detected", "common", "both"):
        for ends in ('far", "near', 'near", "far'):
            assert told(RING.format(gap=gap, ends=ends)) == []
        for end in ("far", "near"):
            text = YARD + RING.format(gap=gap, ends=f'{end}", "{end}')
            (finding,) = (
                one for one in blockcheck.check(blockcheck.loads(text), TODAY).findings if one.rule != "channel-unused"
            )
            assert (finding.rule, finding.subject, finding.severity.value) == ("rails-crossed", "S1", "error")
            assert finding.message.startswith(f"the {end} end of S1 would meet itself")


def test_a_ring_of_one_block_is_a_ring_for_volts_too() -> None:
    """One drop at the near end of 8 m: to the middle there are two ways of 4 m side by side, a quarter of the rails'
    resistance that an open end 8 m away has. Code 83 has 0.108 ohm a metre (the tables of rails)."""
    wires = 'lead = "3 m", bus = "1.5 mm2", common = "2.5 mm2", feeder = "0.5 mm2", feeder_length = "0.2 m"'
    text = YARD.replace('booster = "B1"', 'booster = "B1", feed = { wire = "2.5 mm2", length = "2 m" }') + (
        f'harnesses.h = {{ {wires}, feeder_spacing = "2 m", rail = "code83" }}\n'
        'blocks.S1 = { channel = "D1.1", length = "8 m", harness = "h", feeders_at = ["0 m"] }\n'
    )
    (open_end,) = blockcheck.power(blockcheck.loads(text)).rows
    (ring,) = blockcheck.power(blockcheck.loads(text + 'joints = [{ blocks = ["S1", "S1"], gap = "none" }]\n')).rows
    assert open_end.short_a is not None
    assert ring.short_a is not None
    assert open_end.short_at_m == 8.0
    assert ring.short_at_m == pytest.approx(4.0)
    assert 14 / open_end.short_a - 14 / ring.short_a == pytest.approx(2 * 8 * 0.108 * 3 / 4)
