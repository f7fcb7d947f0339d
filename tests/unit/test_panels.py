"""Control panels: their wires are in the feed, in the list and in what is bought; their rows are as written."""

from __future__ import annotations

from itertools import product

import pytest
from tests.unit.test_selectors import YARD

import blockcheck
from blockcheck.circuit.parts import Kind
from blockcheck.core.errors import InputError

COPPER = 1 / 58
"""Ohm mm2/m at 20 degC (IEC 60028)."""
PANEL = '[panels.fascia]\nat = "before the dock"\nwire = "0.5 mm2"\nfrom_board = "4 m"\nto_bus = "3 m"\n'
PLAIN = YARD[: YARD.index("[selectors.R]")] + YARD[YARD.index("[[joints]]") : YARD.index("[scenarios.night]")]
PLAIN += YARD[YARD.index("[trains.coal]") :]
PLAIN = PLAIN.replace('kind = "storage"', 'kind = "storage"\nisolator = "I1-I3"').replace(
    'gap = "detected"', 'gap = "both"'
)
KINDS = {
    "after the detector": ("[isolators.I1-I3]\n", 0.5, 7.0),
    "in the return": ('[isolators.I1-I3]\nside = "common-rail"\n', 0.5, 7.0),
    # the wire goes there and comes back to the board, as long as it went
    "in the bank's feed": ('[isolators.I1]\nside = "before-detector"\n', 0.5, 8.0),
}


def with_panel(isolators: str, panel: str = PANEL) -> str:
    text = PLAIN.replace('"I1-I3"', '"I1"') if "before" in isolators else PLAIN
    return text + isolators + 'panel = "fascia"\n' + panel


def volts(text: str) -> float:
    (row,) = (row for row in blockcheck.power(blockcheck.loads(text)).rows if row.block == "S1")
    assert row.voltage_v is not None
    return row.voltage_v


@pytest.mark.parametrize("kind", KINDS)
def test_its_wires_take_the_volts_of_their_length(kind: str) -> None:
    """By hand: at one ampere, rho l / A."""
    isolators, mm2, metres = KINDS[kind]
    bare = PANEL.replace('from_board = "4 m"\nto_bus = "3 m"\n', "")
    lost = volts(with_panel(isolators, bare)) - volts(with_panel(isolators))
    assert lost == pytest.approx(COPPER * metres / mm2, abs=1e-6)


def test_two_switches_side_by_side_share_its_wires() -> None:
    """There and back once, whether one switch stands there or two in series."""
    text = with_panel("[isolators.I1-I3]\n")
    two = text.replace('isolator = "I1-I3"', 'isolator = ["I1-I3", "P1-P3"]') + '[isolators.P1-P3]\npanel = "fascia"\n'
    assert volts(two) == pytest.approx(volts(text), abs=1e-9)
    other = two.replace('[isolators.P1-P3]\npanel = "fascia"', '[isolators.P1-P3]\npanel = "box"')
    other += '[panels.box]\nwire = "1 mm2"\nto_bus = "2 m"\n'
    assert volts(text) - volts(other) == pytest.approx(COPPER * 2, abs=1e-6)  # from the one to the other, and on


def test_one_wire_to_a_switch_carries_what_all_its_tracks_draw() -> None:
    """Two tracks without detection behind one switch: the wire there is one, the wires back are two."""
    text = with_panel('[isolators.I1]\nusually = "closed"\n').replace('"I1-I3"', '"I1"')
    text = text.replace('channel = "D1.1-3"', 'undetected = "a tramway"')
    case = blockcheck.loads(text)
    assert [edge.panel_m for edge in case.circuit.edges if edge.kind is Kind.LEAD] == [4.0]
    ends = [(one.from_, one.to) for one in blockcheck.wires(case).pieces]
    assert ends.count(("dock:feed", "I1:in")) == 1
    assert {("I1:out", f"S{number}:start") for number in (1, 2, 3)} <= {*ends}


def test_they_are_in_the_list_and_in_what_to_buy() -> None:
    answer = blockcheck.wires(blockcheck.loads(with_panel("[isolators.I1-I3]\n")))
    found = {f"{one.from_} > {one.to}": (one.conductor, one.length_m) for one in answer.pieces}
    assert found["D1:1 > I1:in"] == ("0.5 mm2", 4.0)
    assert found["I1:out > S1:start"] == ("0.5 mm2", 3.0)
    assert found["S1:start > S1:end"] == ("1.5 mm2", 5.0)
    bare = blockcheck.wires(blockcheck.loads(PLAIN + "[isolators.I1-I3]\n"))
    bought, before = ({one.conductor: one.length_m for one in made.totals} for made in (answer, bare))
    assert bought["0.5 mm2"] - before["0.5 mm2"] == pytest.approx(3 * 7.0)
    strips = {strip.name: strip for strip in answer.strips}
    assert strips["isolators of panel fascia"].where == "before the dock"
    assert [clamp.terminal for clamp in strips["harness dock, beginning"].clamps] == [
        "S1:start",
        "S2:start",
        "S3:start",
    ]


def test_a_changeover_on_it() -> None:
    text = with_panel("").replace('panel = "fascia"\n', "", 1) + (
        '[districts.east]\nbooster = "B1"\nfeed = { wire = "2.5 mm2", length = "3 m" }\n'
        '[isolators.X]\ncontact = "changeover"\nbetween = ["dock", "east"]\npanel = "fascia"\n'
    )
    text = text.replace('isolator = "I1-I3"', 'isolator = "X"').replace(
        'type = "eight"', 'type = "eight"\nbanks = "dock"'
    )
    none = PANEL.replace('from_board = "4 m"\nto_bus = "3 m"\n', "")
    assert volts(text.replace(PANEL, none)) - volts(text) == pytest.approx(COPPER * 8 / 0.5, abs=1e-6)
    pieces = blockcheck.wires(blockcheck.loads(text)).pieces
    ends = {(one.from_, one.to): one.length_m for one in pieces}
    assert {ends[name] for name in (("dock:feed", "X:dock"), ("east:feed", "X:east"), ("X:out", "D1:feed"))} == {4.0}


def test_a_thin_wire_is_told_and_a_fuse_before_it_helps() -> None:
    text = with_panel("[isolators.I1-I3]\n", PANEL.replace("0.5 mm2", "0.1 mm2"))
    text = text.replace('current = "3 A"', 'current = "3 A"\ntrip = "4 A"')

    def told(text: str) -> list[str]:
        return [
            one.subject for one in blockcheck.check(blockcheck.loads(text)).findings if one.rule == "wire-over-current"
        ]

    assert told(text) == ["fascia wire"]
    assert told(text.replace("0.1 mm2", "1 mm2")) == []
    assert told(text.replace('kind = "storage"', 'kind = "storage"\nfuse = "1 A"')) == []


ROWS = with_panel("[isolators.I1-I3]\n", PANEL + 'rows = [["I1-I3"]]\n')


@pytest.mark.parametrize(
    ("before", "after", "message"),
    [
        ('[["I1-I3"]]', '[["I1-I3"], ["I2"]]', "I2 stands twice on fascia"),
        ('[["I1-I3"]]', '[["I3-I1"]]', None),
        ('[["I1-I3"]]', '[["I1-I2"]]', "no row of fascia has I3"),
        ('[["I1-I3"]]', '[["I1-I3", "P"]]', "P is not on fascia"),
        ('[["I1-I3"]]', '[["I1-I4"]]', None),
        ('wire = "0.5 mm2"\n', "", "fascia has wires of a length and not of what"),
        ('rows = [["I1-I3"]]', 'pitch = "5 mm"', "pitch of fascia cannot be 5 mm"),
        ('rows = [["I1-I3"]]', 'size = ["20 cm"]', "fascia has a width and a height"),
        ('rows = [["I1-I3"]]', 'size = ["20 cm", "1 cm"]', "fascia is too small or too large"),
    ],
)
def test_what_cannot_be_is_refused_at_its_line(before: str, after: str, message: str | None) -> None:
    text = ROWS.replace(before, after) + '[isolators.P]\nusually = "closed"\n'
    if "I4" in after:
        found = [one.message for one in blockcheck.check(blockcheck.loads(text)).findings if one.rule == "unknown-name"]
        assert found == ['there is no isolator or selector "I4"'] or "I4" in found[0]
        return
    with pytest.raises(InputError) as caught:
        blockcheck.loads(text)
    messages = [one.message for one in caught.value.findings]
    assert message is None or message in messages
    assert all(one.at is not None and one.help for one in caught.value.findings)


def test_a_panel_without_a_control_is_noted() -> None:
    text = PLAIN + "[isolators.I1-I3]\n" + PANEL
    found = [one.message for one in blockcheck.check(blockcheck.loads(text)).findings if one.rule == "name-unused"]
    assert found == ["no control is on panel fascia"]
    assert "name-unused" not in [one.rule for one in blockcheck.check(blockcheck.loads(ROWS)).findings]


def test_words_about_a_place_are_no_panel() -> None:
    text = with_panel("[isolators.I1-I3]\n").replace('panel = "fascia"', 'panel = "left, row 2"')
    assert volts(text) == pytest.approx(volts(PLAIN + "[isolators.I1-I3]\n"))


def test_each_state_has_the_power_that_it_has_without_a_panel() -> None:
    cases = [blockcheck.loads(text) for text in (ROWS, PLAIN + "[isolators.I1-I3]\n")]
    for places in product(("closed", "open"), repeat=3):
        state = dict(zip(("I1", "I2", "I3"), places, strict=True))
        powers = [[case.now(state).power(name) for name in ("S1", "S2", "S3")] for case in cases]
        assert powers[0] == powers[1] == ["on" if place == "closed" else "off" for place in places]


@pytest.mark.parametrize("kind", ["after the detector", "in the return"])
def test_its_wires_are_told_where_layouts_are_compared(kind: str) -> None:
    isolators, start = KINDS[kind][0], "dock:return > I1 > S1.com" if "return" in kind else "D1:1 > I1 > S1"
    bare, panel = (blockcheck.loads(made) for made in (PLAIN + isolators, with_panel(isolators)))
    does = [one.does for one in blockcheck.compare(bare, panel).steps if one.wire == "panel"]
    assert f"{start}:start (0.5 mm2, 3 m)" in does[0]
    shorter = blockcheck.loads(with_panel(isolators, PANEL.replace("3 m", "2.5 m")))
    does = [one.does for one in blockcheck.compare(panel, shorter).steps]
    assert len(does) == 3
    assert does[0].endswith(f"{start}:start; shorten it to 2.5 m, was 3 m")
