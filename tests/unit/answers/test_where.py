"""Where a label leads, held against the layouts' own words and the wire list."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.benchmarks.generate import layout

import blockcheck
from blockcheck import types
from blockcheck.answers.workshop.pieces import end_labels

ROOT = Path(__file__).resolve().parents[3]
SMALL, CLUB, DC = (
    ROOT / "examples" / one for one in ("small-yard/yard.toml", "club-yard/club.toml", "dc-yard/yard.toml")
)


def at(path: Path, label: str) -> types.WhereAnswer:
    return blockcheck.where(blockcheck.load(path), label)


def test_a_label_leads_to_both_ends_and_along_the_way_of_the_current() -> None:
    found = at(SMALL, "I3:in > D1:3")
    (wire,) = found.wires
    assert (wire.here, wire.leads_to, wire.label_there) == ("I3:in", "D1:3", "D1:3 > I3:in")
    assert (wire.colour, wire.size) == ("green", "1.5 mm2")
    assert (found.blocks, found.district) == (("R3",), "ropewalk")
    assert found.comes == ("B1:feed", "ropewalk:feed", "D1:feed", "D1:3", "I3:in", "I3:out", "R3")
    assert found.returns == ("R3", "common of ropewalk", "ropewalk:return", "B1:return")
    assert [one.terminal for one in found.beside] == ["I2:out", "I3:out"]
    assert found.test is not None
    assert "the bus plug of D1:3" in (found.test.red, found.test.black)


@pytest.mark.parametrize("word", ["D1:3", "D1.3", "103", "d1:3", " D1:3 "])
def test_a_channel_is_found_by_its_terminal_by_the_layouts_name_and_by_what_it_reports_as(word: str) -> None:
    found = at(SMALL, word)  # channel 1 reports as 101
    assert (found.asked, found.blocks) == ("D1:3", ("R3",))


def test_a_channel_without_a_wire_says_so() -> None:
    found = at(SMALL, "D1:8")
    assert "nothing here" in found.what
    assert (found.wires, found.blocks, found.test) == ((), (), None)


def test_a_changeover_leads_by_the_district_that_it_usually_is_on() -> None:
    found = at(DC, "X1")
    assert {one.leads_to for one in found.wires} == {"east:feed", "west:feed", "K1:j1"}
    assert found.comes == ("cab-a:feed", "west:feed", "X1:west", "X1:out", "K1")


def test_a_common_bus_serves_every_block_of_its_harness() -> None:
    found = at(SMALL, "ropewalk:j2")
    assert found.blocks == ("R1", "R2", "R3", "R4", "R5", "R6", "neck")


@pytest.mark.parametrize("path", [SMALL, DC])
def test_every_label_of_the_wire_list_leads_to_its_terminal(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("blockcheck.answers.workshop.leads.Leads.test", lambda *_: None)  # a sheet each
    study = blockcheck.load(path)
    ends = list(end_labels(study))
    for label, terminal in ends[:: max(len(ends) // 40, 1)]:
        found = blockcheck.where(study, label)
        assert [(one.here, one.label) for one in found.wires] == [(terminal, label)]
        assert found.blocks, label
        assert found.comes[0].endswith(":feed")
        assert found.returns[-1].endswith(":return")


@pytest.mark.parametrize(("word", "near"), [("ropewlk", '"ropewalk"'), ("D1:33", '"D1:3"'), ("I3:inn", '"I3:in"')])
def test_what_is_not_known_is_answered_with_the_nearest(word: str, near: str) -> None:
    with pytest.raises(blockcheck.CallError) as caught:
        at(SMALL, word)
    assert str(caught.value).startswith(f'there is no label, terminal or part "{word}"')
    assert near in (caught.value.help or "")


def test_on_a_large_layout_the_sheet_of_its_unit_is_asked() -> None:
    found = blockcheck.where(blockcheck.loads(layout(32, True)), "S32")
    assert found.blocks == ("S32",)
    assert found.test is not None
    assert found.test.step is None  # numbers are those of the whole sheet
