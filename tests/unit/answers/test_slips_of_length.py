"""A slip in one length, "1.2 mm" for "1.2 m", makes wires of millions of pieces: every command refuses it at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from blockcheck import api
from blockcheck.__main__ import main
from blockcheck.analysis.bench import faults
from blockcheck.analysis.bench.measure import Bench
from blockcheck.core.errors import CallError

EXAMPLE = Path(__file__).resolve().parents[3] / "examples" / "small-yard" / "yard.toml"
CALLS = {
    "wires": ["wires", "slip.toml"],
    "bench": ["bench", "slip.toml"],
    "trace": ["trace", "slip.toml", "readings.toml"],
    "compare": ["compare", "yard.toml", "slip.toml"],
}


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.chdir(tmp_path)
    text = EXAMPLE.read_text("utf-8")
    Path("yard.toml").write_text(text, "utf-8")
    Path("readings.toml").write_text('format = 1\n[[steps]]\nid = "rails.R1"\nreading = "open"\n')
    return text


@pytest.mark.parametrize("call", CALLS)
def test_no_more_pieces_of_wire_than_the_wire_list_has(
    call: str, yard: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("slip.toml").write_text(yard.replace('segment = "1.2 m"', 'segment = "0.01 mm"'), "utf-8")
    assert main(CALLS[call]) == 2
    told = capsys.readouterr().err
    assert "pieces of wire; the most is 100000" in told
    assert "give it a longer segment" in told


@pytest.mark.parametrize("call", ["bench", "trace"])
def test_no_more_faults_than_can_be_told_from_each_other(
    call: str, yard: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("slip.toml").write_text(yard.replace('segment = "1.2 m"', 'segment = "1.2 mm"'), "utf-8")
    assert main(CALLS[call]) == 2
    told = capsys.readouterr().err
    assert "more than 20,000 wiring faults to tell from each other" in told
    assert "give its bus a longer segment" in told


def test_only_the_faults_of_a_group_are_counted_for_its_sheet(yard: str, monkeypatch: pytest.MonkeyPatch) -> None:
    bench = Bench.of(api.load("yard.toml"))
    every = faults.every_fault(bench)
    some = [one for one in every if {"R5", "R6"} & {*one.subjects}]
    monkeypatch.setattr(faults, "MOST_FAULTS", len(some))
    assert [one.id for one in faults.every_fault(bench, names={"R5", "R6"})] == [one.id for one in some]
    with pytest.raises(CallError, match="wiring faults"):
        faults.every_fault(bench)
