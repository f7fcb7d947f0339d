"""What the tests of bad input share: one right layout to spoil, and what every refusal must hold to."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft7Validator

from blockcheck.__main__ import main

SCHEMA = Draft7Validator(
    json.loads((Path(__file__).resolve().parents[2] / "schemas" / "check.schema.json").read_text("utf-8"))
)

GOOD = """\
format = 1
[layout]
name = "Tannery sidings"
control = "dcc"
[boosters.B1]
voltage = "14 V"
current = "3 A"
[districts.sidings]
booster = "B1"
expects = [{ load = "shunter", count = 2 }]
[loads.shunter]
locomotive = true
idle = "90 mA"
[board_types.eight]
channels = 8
threshold = "1.5 mA"
[boards.D1]
type = "eight"
spare = [5, 6, 7]
[blocks.S1-S4]
channel = "D1.1-4"
isolator = "I1-I4"
length = "1.8 m"
[blocks.neck]
channel = "D1.8"
kind = "throat"
[isolators.I1-I4]
[[joints]]
blocks = ["neck", "S1-S4"]
gap = "detected"
"""

Refused = Callable[..., list[dict[str, Any]]]


@pytest.fixture
def good() -> str:
    """A right layout."""
    return GOOD


@pytest.fixture
def refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Refused:
    """Checks ``yard.toml`` with some content beside other files, and holds the refusal to what all must be.

    Status 2; no traceback; the answer in JSON is whole; every fault has its place and says what to write instead; the
    answer for people names the same places. Returns the findings.
    """
    monkeypatch.chdir(tmp_path)

    def run(data: str | bytes, **files: str | bytes) -> list[dict[str, Any]]:
        for name, content in {"yard": data, **files}.items():
            path = tmp_path / f"{name}.toml"
            path.write_bytes(content if isinstance(content, bytes) else content.encode())
        status = main(["check", "yard.toml", "--format", "json"])
        out, err = capsys.readouterr()
        assert (status, err) == (2, "")
        answer = json.loads(out)
        SCHEMA.validate(answer)
        findings: list[dict[str, Any]] = answer["findings"]
        assert main(["check", "yard.toml"]) == 2
        text, err = capsys.readouterr()
        assert "Traceback" not in text + err
        assert "could not be understood" in text
        for finding in findings:
            assert finding["rule"] == "input"
            assert f"{finding['file']}:{finding['line']}:{finding['column']}" in text
            assert finding["help"], "what to write instead"
        assert text.count("  mend  ") == len(findings)
        return findings

    return run
